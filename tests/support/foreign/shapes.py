"""Logs of other shapes: long, by module, registers, meters, channels. All invented."""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

from support.foreign.truth import Case, Cases, cells_of, comma, one, text, truth, whole

CASES = Cases()


@CASES.add
def clock_alone() -> Case:
    t = truth(seed=30)
    rows = [["Uhrzeit", "Spannung", "Strom"]]
    rows += [[f"{m:%H:%M}", comma(v), comma(a)] for m, v, a in zip(t.time, t.volts, t.amps, strict=True)]
    return Case(
        "a clock without a date, over midnight",
        text(rows, ";").encode(),
        {"zone": "UTC", "start": ("2026-03-14",)},
        **whole(t),
        values=one(t),
    )  # type: ignore[arg-type]


@CASES.add
def blanks() -> Case:
    t = truth(seed=31)
    lines = ["date        time      volts   amps"]
    lines += [
        f"{m:%Y-%m-%d}  {m:%H:%M:%S}  {v:6.2f}  {a:6.2f}" for m, v, a in zip(t.time, t.volts, t.amps, strict=True)
    ]
    return Case("columns parted by blanks", "\n".join(lines).encode(), {"zone": "UTC"}, **whole(t), values=one(t))  # type: ignore[arg-type]


@CASES.add
def sheet_days() -> Case:
    t = truth(seed=32)
    rows = [["sep=;"], ["Date", "U_bat (V)", "I_bat (A)"]]
    rows += [[f"{m.timestamp() / 86400 + 25569:.8f}", v, a] for m, v, a in zip(t.time, t.volts, t.amps, strict=True)]
    return Case(
        "days of a spreadsheet, and its first line",
        text(rows, ";").encode(),
        {"zone": "UTC"},
        **whole(t),
        values=one(t),
    )  # type: ignore[arg-type]


@CASES.add
def no_headings_told() -> Case:
    t = truth(seed=33)
    rows = [[f"{m:%Y-%m-%d %H:%M:%S}", v, a] for m, v, a in zip(t.time, t.volts, t.amps, strict=True)]
    return Case(
        "no headings, named by hand",
        text(rows).encode(),
        {"zone": "UTC", "columns": ("time", "voltage V", "current A")},
        **whole(t),
        values=one(t),
    )  # type: ignore[arg-type]


@CASES.add
def lowest_and_highest() -> Case:
    t = truth(seed=34, cells=4)
    rows = [["Date", "Time", "Min", "Max"]]
    rows += [
        [f"{m:%d/%m/%Y}", f"{m:%H:%M}", f"{v - 0.02:.2f}", f"{v + 0.02:.2f}"]
        for m, v in zip(t.time, t.volts, strict=True)
    ]
    return Case(
        "lowest and highest of a 12 V-class bank",
        text(rows, end="\r\n").encode(),
        {"zone": "UTC"},
        **whole(t),
        values={("voltage", "M1"): list(t.volts)},
        says=("4",),
    )  # type: ignore[arg-type]


@CASES.add
def rows_of_three_modules() -> Case:
    t = truth(seed=35)
    rows = [["Timestamp", "Address", "Pack Voltage (V)", "Current (A)", "SOC (%)", "Max Cell (V)", "State"]]
    for k, m in enumerate(t.time):
        for number in (0, 1, 2):
            volts = round(t.volts[k] + number / 10, 2)
            rows.append([f"{m:%Y-%m-%dT%H:%M:%S+00:00}", number, volts, -t.amps[k], t.soc[k] * 100, 3.4, "ok"])
    rows += [["2026-03-15T02:00:00+00:00", 9, 52.4, 1.0, 50, 3.3, "ok"]]
    values: dict[tuple[str, str], list[float | None]] = {
        ("voltage", f"M{n + 1}"): [round(v + n / 10, 2) for v in t.volts] for n in (0, 1, 2)
    }
    values |= {("current", f"M{n + 1}"): list(t.amps) for n in (0, 1, 2)}
    return Case(
        "a row for each module, addresses from 0", text(rows).encode(), {"modules": 4}, kept=3 * len(t.time),
        first=t.time[0], values=values, rejected={"names no module": 1}, says=("0 is M1, 1 is M2, 2 is M3",),
    )  # fmt: skip


@CASES.add
def long_by_module() -> Case:
    t = truth(seed=36)
    lines = ["#datatype,string,dateTime,double,string,string", ",result,_time,_value,_field,module"]
    for k, m in enumerate(t.time):
        for number in (1, 2):
            stamp = f"{m:%Y-%m-%dT%H:%M:%SZ}"
            lines.append(f",,{stamp},{t.volts[k] + number / 10:.2f},voltage,{number}")
            lines.append(f",,{stamp},{t.amps[k]},current,{number}")
    values: dict[tuple[str, str], list[float | None]] = {
        ("voltage", f"M{n}"): [v + n / 10 for v in t.volts] for n in (1, 2)
    }
    values |= {("current", "M2"): list(t.amps)}
    data = "\n".join(lines).encode()
    return Case("long, with a column of modules", data, {"modules": 2}, kept=4 * len(t.time), values=values)


@CASES.add
def a_meter() -> Case:
    t = truth(seed=37)
    rows: list[list[object]] = [["Model", "bench meter"], ["No.", "Date", "Time", "Value", "Unit", "Mode"]]
    for k, m in enumerate(t.time):
        rows.append([k + 1, f"{m:%Y/%m/%d}", f"{m:%H:%M:%S}", "OL" if k == 5 else f"{t.volts[k]:.3f}", "V", "DC"])
    volts: list[float | None] = [None if k == 5 else v for k, v in enumerate(t.volts)]
    return Case(
        "a meter: value and unit in two columns", text(rows).encode(), {"zone": "UTC"}, kept=len(t.time),
        first=t.time[0], values={("voltage", "M1"): volts}, says=("cannot be the decimal mark",),
    )  # fmt: skip


@CASES.add
def channels() -> Case:
    t = truth(seed=38)
    head = '"Name:","rack"\n"Acquisition Date:","3/14/2026 10:40:00 PM"\n'
    head += '"Scan","Time","101 <Cell 1> (VDC)","102 <Cell 2> (VDC)"'
    body = [
        f"{k + 1},{m:%m/%d/%Y %H:%M:%S}:000,{c[0]:.6f},{c[1]:.6f}"
        for k, (m, c) in enumerate(zip(t.time, t.cells, strict=True))
    ]
    values: dict[tuple[str, str], list[float | None]] = {
        ("cell_voltage", f"M1.c{c + 1}"): [row[c] for row in t.cells] for c in (0, 1)
    }
    return Case(
        "a logger's channels",
        "\n".join([head, *body]).encode(),
        {"zone": "UTC"},
        kept=len(t.time),
        first=t.time[0],
        values=values,
    )


@CASES.add
def zone_in_heading() -> Case:
    t = truth(seed=39)
    zone = ZoneInfo("Europe/Berlin")
    rows = [["Europe/Berlin (+01:00)", "Voltage", "Current"], ["", "V", "A"]]
    rows += [
        [f"{m.astimezone(zone):%Y-%m-%d %H:%M:%S}", str(v), str(a)]
        for m, v, a in zip(t.time, t.volts, t.amps, strict=True)
    ]
    return Case(
        "the zone in the heading",
        text(rows).encode(),
        {},
        kept=len(t.time),
        first=t.time[0],
        values=one(t),
        says=("Europe/Berlin",),
    )


@CASES.add
def clock_not_set() -> Case:
    t = truth(seed=41)
    rows = [["time", "voltage [V]", "current [A]"], ["2000-01-01 00:00:07", 51.1, 0], ["1970-01-01 00:01:00", 51.1, 0]]
    rows += [[f"{m:%Y-%m-%d %H:%M:%S}", v, a] for m, v, a in zip(t.time, t.volts, t.amps, strict=True)]
    return Case(
        "rows before the logger's clock was set", text(rows).encode(), {"zone": "UTC"}, kept=len(t.time),
        first=t.time[0], values=one(t), rejected={"was not set": 2},
    )  # fmt: skip


@CASES.add
def lines_in_quotes() -> Case:
    t = truth(seed=42)
    lines = ['"Time,Voltage (V),Current (A)"']
    lines += [f'"{m:%Y-%m-%d %H:%M:%S},{v},{a}"' for m, v, a in zip(t.time, t.volts, t.amps, strict=True)]
    data = "\n".join(lines).encode()
    return Case("every line in quotes", data, {"zone": "UTC"}, kept=len(t.time), first=t.time[0], values=one(t))


@CASES.add
def six_digits() -> Case:
    t = truth(seed=43)
    rows: list[list[object]] = [["DATE", "TIME", "VBAT", "IBAT"]]
    rows += [[f"{m:%d%m%y}", f"{m:%H%M%S}", v, a] for m, v, a in zip(t.time, t.volts, t.amps, strict=True)]
    return Case(
        "six digits of date and clock", text(rows).encode(), {"zone": "UTC"}, kept=len(t.time), first=t.time[0],
        values=one(t), says=("day first",),
    )  # fmt: skip


@CASES.add
def power_names_no_unit() -> Case:
    t = truth(seed=44)
    rows: list[list[object]] = [["Time", "Voltage", "Current", "Power", "Cell Max", "Cell Min", "Delta"]]
    for k, m in enumerate(t.time):
        most, least = max(t.cells[k]), min(t.cells[k])
        watts = f"{t.volts[k] * t.amps[k] / 1000:.4f}"
        rows.append(
            [f"{m:%a %d %b %Y %H:%M:%S}", t.volts[k], t.amps[k], watts, most, least, round(1000 * (most - least))]
        )
    watts_: list[float | None] = [round(v * a / 1000, 4) * 1000 for v, a in zip(t.volts, t.amps, strict=True)]
    values = one(t) | {("power", "M1"): watts_}
    values |= {("cell_spread", "M1"): [max(row) - min(row) for row in t.cells]}
    return Case(
        "power in kW by volts and amperes, names of months, a bare Delta", text(rows).encode(), {"zone": "UTC"},
        kept=len(t.time), first=t.time[0], values=values, says=("volts times amperes",),
    )  # fmt: skip


@CASES.add
def blank_lines_between() -> Case:
    t = truth(seed=45, cells=8)
    names = ["Tcnt", "Time", *(f"V{c}" for c in range(1, 9)), "Iinst", "Vtot", "Temp", "SOC", "Addr", "Tic"]
    lines, kept = [",".join(names)], []
    for k, m in enumerate(t.time):
        cells = [0.02 * c for c in range(8)] if k == 3 else t.cells[k]
        degrees = -273.15 if k == 2 else t.degrees[k][0]
        row = [k, f"{m:%m/%d/%Y %I:%M:%S %p}", *cells, -t.amps[k], t.volts[k], degrees, 62, "0x50", 90000 + k]
        lines += [", ".join(map(str, row)), ""]
        kept += [k] if k != 3 or abs(t.amps[k]) <= 1 else []
    values = {key: [column[k] for k in kept] for key, column in cells_of(t).items()}
    values[("temperature_degc", "M1")] = [None if k == 2 else t.degrees[k][0] for k in kept]
    return Case(
        "a blank line after each row, a blank after each comma", "\n".join(lines).encode(), {"zone": "UTC"},
        kept=len(kept), values=values, rejected={"failed reading": 1},
    )  # fmt: skip


@CASES.add
def raw_registers() -> Case:
    t = truth(seed=46)
    head = [
        "DateTime",
        "PackVolt_10mV",
        "PackCurr_10mA",
        "CellNum",
        "Cell1_mV",
        "Cell2_mV",
        "NTC1_0.1K",
        "NTC2_0.1K",
        "RSOC",
    ]
    rows: list[list[object]] = [list(head)]
    for k, m in enumerate(t.time):
        kelvin = [round(d * 10 + 2731.5) for d in t.degrees[k]]
        cells = [round(c * 1000) for c in t.cells[k][:2]]
        rows.append(
            [f"{m:%Y%m%d%H%M%S}", round(t.volts[k] * 100), round(-t.amps[k] * 100) & 0xFFFF, 16, *cells, *kelvin, 60]
        )
    values = one(t) | {("cell_voltage", "M1.c2"): [row[1] for row in t.cells]}
    return Case(
        "raw registers of a BMS", text(rows, ";").encode(), {"zone": "UTC"}, kept=len(t.time), first=t.time[0],
        values=values, says=("16 bits with sign", "CellNum not taken"),
    )  # fmt: skip


@CASES.add
def lowest_highest_and_mean() -> Case:
    t = truth(seed=47)
    rows: list[list[object]] = [
        ["Interval start", "tz", "Voltage min (V)", "Voltage max (V)", "Voltage avg (V)", "Current avg (A)"]
    ]
    for m, v, a in zip(t.time, t.volts, t.amps, strict=True):
        rows.append(
            [f"{m + timedelta(hours=1):%Y-%m-%d %H:%M:%S}", "+0100", round(v - 0.1, 2), round(v + 0.1, 2), v, a]
        )
    values = one(t) | {("voltage", "M1.min"): [round(v - 0.1, 2) for v in t.volts]}
    return Case(
        "lowest, highest and mean; a column of the zone",
        text(rows).encode(),
        {},
        kept=len(t.time),
        first=t.time[0],
        values=values,
    )
