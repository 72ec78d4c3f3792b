"""Logs with something odd: sentinels, taps, torn lines, clocks that change. All invented."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from support.foreign.truth import Case, Cases, cells_of, comma, one, text, truth, whole

CASES = Cases()


@CASES.add
def missing_in_all_spellings() -> Case:
    t = truth(seed=17)
    ways = ["", "-", "n/a", "NaN", "null", "--", "unavailable", "#N/A", "OL", "65535", "?"]
    rows = [["time", "voltage [mV]", "current [A]", "temperature [°C]"]]
    volts: list[float | None] = []
    for k, m in enumerate(t.time):
        lost = 5 <= k < 5 + len(ways)
        volts.append(None if lost else t.volts[k])
        rows.append(
            [
                f"{m:%Y-%m-%d %H:%M:%S}",
                ways[k - 5] if lost else round(t.volts[k] * 1000),
                t.amps[k],
                -40 if k == 9 else t.degrees[k][0],
            ]
        )
    degrees = [None if k == 9 else d[0] for k, d in enumerate(t.degrees)]
    values = {("voltage", "M1"): volts, ("current", "M1"): list(t.amps), ("temperature_degc", "M1"): degrees}
    return Case(
        "every way of saying none, sentinels",
        text(rows).encode(),
        {"zone": "UTC"},
        **whole(t),
        values=values,
        says=("65535 is no value", "-40 is no value"),
    )  # type: ignore[arg-type]


@CASES.add
def taps() -> Case:
    t = truth(seed=18, cells=8)
    rows = [["time", *[f"V{c}" for c in range(1, 9)], "I (A)"]]
    for k, m in enumerate(t.time):
        rows.append([f"{m:%Y-%m-%d %H:%M:%S}", *[f"{sum(t.cells[k][: c + 1]):.3f}" for c in range(8)], t.amps[k]])
    return Case(
        "cumulative taps of eight cells",
        text(rows).encode(),
        {"zone": "UTC"},
        **whole(t),
        values=cells_of(t),
        says=("less the tap below",),
    )  # type: ignore[arg-type]


@CASES.add
def failed_readings() -> Case:
    t = truth(seed=19)
    rows = [["time", *[f"Cell{c:02d} [V]" for c in range(1, 17)], "Current [A]", "Temp [°C]"]]
    for k, m in enumerate(t.time):
        cells: list[float] = [0.02 * (c % 5) for c in range(16)] if k in (3, 4) else t.cells[k]
        rows.append([f"{m:%Y-%m-%d %H:%M:%S}", *cells, t.amps[k], -273.15 if k == 7 else t.degrees[k][0]])
    keep = [k for k in range(len(t.time)) if k not in (3, 4)]
    values = {key: [column[k] for k in keep] for key, column in cells_of(t).items()}
    return Case(
        "failed readings while current flows",
        text(rows).encode(),
        {"zone": "UTC"},
        kept=len(keep),
        values=values,
        rejected={"failed reading": 2},
    )


@CASES.add
def two_packs_grouped() -> Case:
    a, b = truth(seed=20), truth(seed=21)
    rows = [
        ["", "Pack 0", "", "", "Pack 1", "", ""],
        ["Time", "Voltage (V)", "Current (A)", "SOC (%)", "Voltage (V)", "Current (A)", "SOC (%)"],
    ]
    for k, m in enumerate(a.time):
        rows.append(
            [
                f"{m:%Y-%m-%d %H:%M:%S}",
                a.volts[k],
                a.amps[k],
                round(a.soc[k] * 100, 1),
                b.volts[k],
                -b.amps[k],
                round(b.soc[k] * 100, 1),
            ]
        )
    values = one(a) | {("voltage", "M2"): list(b.volts), ("current", "M2"): list(b.amps)}
    return Case(
        "two packs in groups, counted from 0, signs that differ",
        text(rows).encode(),
        {"zone": "UTC", "modules": 4},
        **whole(a),
        values=values,
    )  # type: ignore[arg-type]


@CASES.add
def long_form() -> Case:
    t = truth(seed=22)
    lines = ["entity,value,unit,last_changed"]
    for k, m in enumerate(t.time):
        stamp = f"{m:%Y-%m-%dT%H:%M:%S}.{k:03d}+00:00"
        lines.append(f"pack voltage,{t.volts[k]},V,{stamp}")
        if k % 3 == 0:
            lines.append(f"pack current,{'unavailable' if k == 9 else t.amps[k]},A,{stamp}")
        lines.append(f"kitchen lamp,on,,{stamp}")
    amps = [None if k == 9 else t.amps[k] for k in range(0, len(t.time), 3)]
    values = {("voltage", "M1"): list(t.volts), ("current", "M1"): amps}
    return Case(
        "long: one quantity a row, with units",
        "\n".join(lines).encode(),
        {"positive": "discharging"},
        kept=len(t.time) + len(amps),
        values=values,
    )


@CASES.add
def split_decimals() -> Case:
    t = truth(seed=23)
    rows = [["zeit", "spannung", "strom", "temperatur"]]
    rows += [
        [f"{m:%Y-%m-%d %H:%M}", comma(v), comma(a), comma(d[0], 1)]
        for m, v, a, d in zip(t.time, t.volts, t.amps, t.degrees, strict=True)
    ]
    return Case(
        "decimal comma in a file parted by commas",
        text(rows).encode(),
        {"zone": "UTC"},
        **whole(t),
        values=one(t),
        says=("rejoined",),
    )  # type: ignore[arg-type]


@CASES.add
def thousands() -> Case:
    t = truth(seed=24)
    rows = [["Zeitpunkt", "Spannung in mV", "Leistung in W"]]
    for k, m in enumerate(t.time):
        volts, watts = f"{t.volts[k] * 1000:,.2f}", f"{t.volts[k] * t.amps[k]:,.2f}"
        rows.append([f"{m:%d.%m.%y %H:%M}", *(w.translate(str.maketrans(",.", ".,")) for w in (volts, watts))])
    values = {
        ("voltage", "M1"): list(t.volts),
        ("power", "M1"): [round(v * a, 2) for v, a in zip(t.volts, t.amps, strict=True)],
    }
    return Case(
        "thousands points and decimal commas",
        text(rows, ";").encode(),
        {"zone": "UTC", "positive": "discharging", "takes": {"Zeitpunkt": "time"}},
        **whole(t),
        values=values,
        says=("comma",),
    )  # type: ignore[arg-type]


@CASES.add
def two_flows() -> Case:
    t = truth(seed=25)
    rows = [
        ["Time (UTC)", "Voltage (V)", "Charge current (A)", "Discharge current (A)", "Grid voltage (V)", "PV power (W)"]
    ]
    for k, m in enumerate(t.time):
        rows.append([f"{m:%Y-%m-%d %H:%M:%S}", t.volts[k], max(-t.amps[k], 0), max(t.amps[k], 0), 230.1, 1500])
    return Case(
        "charge and discharge in two columns, other things of the house",
        text(rows).encode(),
        **whole(t),
        values=one(t),
        says=("grid", "pv"),
    )  # type: ignore[arg-type]


@CASES.add
def autumn_night() -> Case:
    zone = ZoneInfo("Europe/Berlin")
    t = truth(rows=300, seed=26, start=datetime(2026, 10, 24, 22, 0, tzinfo=UTC))
    rows = [["time", "voltage [V]", "current [A]"]]
    rows += [[f"{m.astimezone(zone):%Y-%m-%d %H:%M:%S}", v, a] for m, v, a in zip(t.time, t.volts, t.amps, strict=True)]
    return Case(
        "the hour that comes twice",
        text(rows).encode(),
        {"zone": "Europe/Berlin"},
        **whole(t),
        values=one(t),
        says=("passed through twice",),
    )  # type: ignore[arg-type]


@CASES.add
def spring_night_unfollowed() -> Case:
    t = truth(rows=300, seed=27, start=datetime(2026, 3, 28, 23, 0, tzinfo=UTC))
    rows = [["time", "voltage [V]", "current [A]"]]
    rows += [
        [f"{m + timedelta(hours=1):%Y-%m-%d %H:%M:%S}", v, a] for m, v, a in zip(t.time, t.volts, t.amps, strict=True)
    ]
    return Case(
        "a logger that does not follow the clock change",
        text(rows).encode(),
        {"zone": "Europe/Berlin"},
        **whole(t),
        values=one(t),
        says=("not followed",),
    )  # type: ignore[arg-type]


@CASES.add
def elapsed_wraps() -> Case:
    t = truth(seed=28)
    rows = [["millis", "voltage [V]", "current [A]"]]
    begin = 2**32 - 30 * 60_000
    rows += [[(begin + k * 60_000) % 2**32, v, a] for k, (v, a) in enumerate(zip(t.volts, t.amps, strict=True))]
    start = t.time[0] - timedelta(milliseconds=begin)
    return Case(
        "ms since a start, which wrap round",
        text(rows).encode(),
        {"zone": "UTC", "start": (start.isoformat(sep=" ")[:23].replace("+00:00", ""),)},
        kept=120,
        values=one(t),
        says=("wrapped round",),
    )


@CASES.add
def elapsed_begins_anew() -> Case:
    t = truth(seed=29)
    rows = [["Elapsed (s)", "Voltage (V)", "Current (A)"]]
    rows += [[(k if k < 70 else k - 70) * 60, v, a] for k, (v, a) in enumerate(zip(t.volts, t.amps, strict=True))]
    told = {"zone": "UTC", "start": ("2026-03-14 22:40", "2026-03-16 08:00")}
    last = datetime(2026, 3, 16, 8, 49, tzinfo=UTC)
    return Case(
        "elapsed time that begins anew, with both starts",
        text(rows).encode(),
        told,
        kept=120,
        first=t.time[0],
        last=last,
        values=one(t),
    )
