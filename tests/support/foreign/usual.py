"""Logs as their programs usually write them: languages, dates, units. All invented."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from support.foreign.truth import Case, Cases, cells_of, comma, one, text, truth, whole

CASES = Cases()


@CASES.add
def iso_with_z() -> Case:
    t = truth()
    rows = [["Timestamp", "Pack Voltage (V)", "Pack Current (A)", "SOC (%)"]]
    rows += [
        [f"{m:%Y-%m-%dT%H:%M:%SZ}", v, a, round(s * 100, 1)]
        for m, v, a, s in zip(t.time, t.volts, t.amps, t.soc, strict=True)
    ]
    values = one(t) | {("soc", "M1"): list(t.soc)}
    return Case("iso with Z, units in brackets", text(rows).encode(), **whole(t), values=values)  # type: ignore[arg-type]


@CASES.add
def german_semicolons() -> Case:
    t = truth(seed=6)
    zone = ZoneInfo("Europe/Berlin")
    rows = [
        ["Datum", "Uhrzeit", "Spannung [V]", "Strom [A]", "Temperatur 1 [°C]", "Temperatur 2 [°C]", "Ladezustand [%]"]
    ]
    for m, v, a, d, s in zip(t.time, t.volts, t.amps, t.degrees, t.soc, strict=True):
        local = m.astimezone(zone)
        rows.append(
            [
                f"{local:%d.%m.%Y}",
                f"{local:%H:%M:%S}",
                comma(v),
                comma(-a),
                comma(d[0], 1),
                comma(d[1], 1),
                comma(s * 100, 1),
            ]
        )
    values = one(t) | {("temperature_degc", f"M1.t{k + 1}"): [d[k] for d in t.degrees] for k in (0, 1)}
    data = ("\ufeff" + text(rows, ";", "\r\n")).encode()
    return Case(
        "German, decimal commas, date and clock apart, charging positive, mark of UTF-8",
        data,
        {"zone": "Europe/Berlin"},
        **whole(t),
        values=values,
        says=("turned round", "day first"),
    )  # type: ignore[arg-type]


@CASES.add
def french_latin() -> Case:
    t = truth(seed=7)
    rows = [["Horodatage", "Tension (V)", "Courant (A)", "Température 1 (°C)", "Température 2 (°C)"]]
    rows += [
        [f"{m:%d/%m/%Y %H:%M:%S}", comma(v), comma(a), comma(d[0], 1), comma(d[1], 1)]
        for m, v, a, d in zip(t.time, t.volts, t.amps, t.degrees, strict=True)
    ]
    return Case(
        "French in Latin-1, day first by 14/03",
        text(rows, ";").encode("cp1252"),
        {"zone": "UTC"},
        **whole(t),
        values=one(t),
    )  # type: ignore[arg-type]


@CASES.add
def spanish_tabs_sixteen() -> Case:
    t = truth(seed=8)
    rows = [["Fecha", "Hora", *[f"Voltaje celda {c}" for c in range(1, 17)], "Corriente (A)"]]
    rows += [
        [f"{m:%Y/%m/%d}", f"{m:%H:%M}", *[round(c * 1000) for c in row], a]
        for m, row, a in zip(t.time, t.cells, t.amps, strict=True)
    ]
    return Case(
        "Spanish, tabs, UTF-16, cells in mV without unit",
        text(rows, "\t", "\r\n").encode("utf-16"),
        {"zone": "UTC"},
        **whole(t),
        values=cells_of(t) | {("current", "M1"): list(t.amps)},
        says=("by size",),
    )  # type: ignore[arg-type]


@CASES.add
def dutch() -> Case:
    t = truth(seed=9)
    rows = [["Tijdstip", "Accuspanning (V)", "Stroom (A)", "Laadtoestand (%)"]]
    rows += [
        [f"{m:%d-%m-%Y %H:%M}", comma(v), comma(a), round(s * 100)]
        for m, v, a, s in zip(t.time, t.volts, t.amps, t.soc, strict=True)
    ]
    return Case("Dutch, dashes, day first", text(rows, ";").encode(), {"zone": "UTC"}, **whole(t), values=one(t))  # type: ignore[arg-type]


@CASES.add
def chinese() -> Case:
    t = truth(seed=10)
    rows = [
        ["时间", "总电压(V)", "电流(A)", *[f"单体电压{c}(mV)" for c in range(1, 17)], "温度1(℃)", "温度2(℃)", "电量(%)"]
    ]
    for k, m in enumerate(t.time):
        rows.append(
            [
                f"{m:%Y年%m月%d日 %H:%M:%S}",
                t.volts[k],
                t.amps[k],
                *[round(c * 1000) for c in t.cells[k]],
                *t.degrees[k],
                round(t.soc[k] * 100, 1),
            ]
        )
    return Case(
        "Chinese in its own coding",
        text(rows).encode("gb18030"),
        {"zone": "Asia/Shanghai"},
        kept=len(t.time),
        first=t.time[0] - timedelta(hours=8),
        values=one(t) | cells_of(t),
    )


@CASES.add
def epoch_ms_scaled() -> Case:
    t = truth(seed=11)
    rows = [["ts", "current (0.1A)", "voltage (10mV)", *[f"cell_{c}_mV" for c in range(16)], "temp_0", "temp_1"]]
    for k, m in enumerate(t.time):
        rows.append(
            [
                round(m.timestamp() * 1000),
                round(t.amps[k] * 10),
                round(t.volts[k] * 100),
                *[round(c * 1000) for c in t.cells[k]],
                *[round(d * 10 + 2731.5) for d in t.degrees[k]],
            ]
        )
    values = cells_of(t) | {("voltage", "M1"): list(t.volts), ("current", "M1"): [round(a * 10) / 10 for a in t.amps]}
    return Case(
        "epoch ms, scaled integers, cells from 0, tenths of kelvin",
        text(rows).encode(),
        {"dates": None},
        **whole(t),
        values=values,
        says=("count from 0",),
    )  # type: ignore[arg-type]


@CASES.add
def unsigned_sixteen_bits() -> Case:
    t = truth(seed=12)
    rows = [["unix time", "voltage [mV]", "current [10mA]"]]
    rows += [
        [round(m.timestamp()), round(v * 1000), round(a * 100) % 65536]
        for m, v, a in zip(t.time, t.volts, t.amps, strict=True)
    ]
    return Case(
        "epoch s, current as 16 bits without sign",
        text(rows).encode(),
        **whole(t),
        values=one(t),
        says=("16 bits with sign",),
    )  # type: ignore[arg-type]


@CASES.add
def american_clock() -> Case:
    t = truth(seed=13)
    rows = [["Date & Time", "Battery Voltage", "Battery Current", "Battery Temp (°F)", "SoC"]]
    for k, m in enumerate(t.time):
        rows.append(
            [
                f'"{m:%m/%d/%Y %I:%M:%S %p}"',
                f'"{t.volts[k]} V"',
                f'"{t.amps[k]} A"',
                round(t.degrees[k][0] * 9 / 5 + 32, 2),
                f"{t.soc[k] * 100:.1f}%",
            ]
        )
    values = one(t) | {("temperature_degc", "M1"): [d[0] for d in t.degrees]}
    return Case(
        "12-hour clock, quotes, units in cells, Fahrenheit",
        text(rows).encode(),
        {"zone": "UTC"},
        **whole(t),
        values=values,
        says=("month first",),
    )  # type: ignore[arg-type]


@CASES.add
def by_steps() -> Case:
    t = truth(seed=14, start=datetime(2026, 5, 3, 23, 30, tzinfo=UTC))
    rows = [["time", "voltage_V", "current_A"]]
    rows += [[f"{m:%d/%m/%Y %H:%M}", v, a] for m, v, a in zip(t.time, t.volts, t.amps, strict=True)]
    return Case(
        "day first by the step over midnight",
        text(rows).encode(),
        {"zone": "UTC"},
        **whole(t),
        values=one(t),
        says=("would jump",),
    )  # type: ignore[arg-type]


@CASES.add
def preamble_and_units_row() -> Case:
    t = truth(seed=15)
    head = ["Logger report", "Serial: 00123", "Interval: 60 s", "", "Time,Voltage,Current,Temperature", ",V,mA,°C"]
    body = [
        f"{m:%Y-%m-%d %H:%M:%S},{v},{round(a * 1000)},{d[0]}"
        for m, v, a, d in zip(t.time, t.volts, t.amps, t.degrees, strict=True)
    ]
    return Case(
        "preamble, a row of units, mA",
        ("\n".join([*head, *body]) + "\n").encode(),
        {"zone": "UTC"},
        **whole(t),
        values=one(t),
        says=("a row of their own",),
    )  # type: ignore[arg-type]


@CASES.add
def comments_and_repeats() -> Case:
    t = truth(seed=16)
    lines = ["# made by a logger", "time;voltage [V];current [A]"]
    for k, (m, v, a) in enumerate(zip(t.time, t.volts, t.amps, strict=True)):
        if k in (40, 80):
            lines += ["# power came back", "time;voltage [V];current [A]"]
        if k == 60:
            lines += ["", "garbage\x00\x00", "2026-03-14 23:1"]
        lines.append(f"{m:%Y-%m-%d %H:%M:%S};{v};{a}")
    rejected = {"headings again": 2, "other than 3 fields": 2}
    return Case(
        "comments, repeated headings, torn lines",
        "\n".join(lines).encode(),
        {"zone": "UTC"},
        **whole(t),
        values=one(t),
        rejected=rejected,
    )  # type: ignore[arg-type]
