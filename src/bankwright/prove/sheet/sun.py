"""Part H of first power-up: strings of solar modules, where the file has them.

Gives: sun_steps(), string_findings().
Limits: one temperature and one sun a string as entered; a string in part shade is told as its like, not by itself.
Sources: volts and current by the plate (physics/solar); +-6 % = maker 3 %, +-5 K, ideality 1.0 to 1.4, meter 0.5 %
[derived]; +3 K from back to cell, +-1.5 % between like strings, 60 V as a lay person's line: common practice, no
source; 5 % between like strings IEC 62446 [read on a secondary page]; insulation: its row of 1 Mohm above 120 V [read],
0.5 Mohm below [from memory].
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from statistics import median

from bankwright.bank.asks import asking
from bankwright.bank.model_house import SunString
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, amount_text, say
from bankwright.physics.solar import short_current, string_voltage
from bankwright.prove.sheet.cards import SHEET_CARDS
from bankwright.prove.sheet.due import Due, Facts, StepOf

__all__ = ["string_findings", "sun_steps"]

BAND, ALIKE, ALIKE_CURRENT, BACK = 0.06, 0.015, 0.05, 3.0  # shares; K from the back to the cell
LAY, SELV, TESTED = 60.0, 120.0, 1.25  # V, V, of the open voltage
LEAST, MOST = 200.0, 1000.0  # W/m2: between them the open volts move 7 %
CURRENT_BAND = 0.10  # of the current: sun guessed by a cell beside it; common practice, no source
PLATE = Source("the solar module's plate; diode law", how_known="derived")
LIKE = Source("IEC 62446, 5 % between strings; +-1.5 % practice", how_known="read on a secondary page")
ROWS = Source("IEC 62446, insulation of an array", how_known="read on a secondary page")


def sun_steps(facts: Facts) -> Iterator[StepOf]:
    """H1 and H2; nothing where the file has no string."""
    strings = facts.bank.strings
    if not strings:
        return
    most = max((_open(each) for each in strings if each.kind.open_voltage), default=LAY + 1.0)
    lay = most <= LAY
    yield StepOf(
        "H1",
        "Strings open: polarity, volts, insulation",
        ("C4",),
        "one person" if lay else "electrician",
        (
            "A string cannot be switched off: never part a connector under current.",
            "The switch of the sun is open; insulation with the string off the inverter and off surge devices.",
        ),
        (
            "Volts count the solar modules, current sees the sun.",
            "Temperature by a probe on the back of one; sun by a reference cell on their plane.",
        ),
        tuple(row for string in strings for row in _open_rows(facts, string)),
    )
    yield StepOf(
        "H2",
        "One string, then the next; the first hour",
        ("H1", "F1" if facts.bank.chargers else "E4"),
        "one person" if lay else "electrician",
        ("The bank below 90 %: a full bank ends the test.",),
        tuple(f"{string.name} feeds {string.input or 'an input that the file does not name'}." for string in strings),
        tuple(row for string in strings for row in _current_rows(facts, string)),
        (("hour", "An hour in the sun; the ceiling of the charge voltage was not passed"),),
    )


def _open(string: SunString) -> float:
    return string.in_series * (string.kind.open_voltage or 0.0)


def _lacking(string: SunString, *keys: str) -> tuple[Missing, ...]:
    return tuple(asking(f"{string.kind.path}.{key}") for key in keys if getattr(string.kind, key) is None)


def _weather(facts: Facts, step: str, string: SunString) -> tuple[float | None, float | None]:
    """Temperature of the cells and sun, of this string or of one of its like. [degC], [W/m2]"""
    like = [string.name, *(each.name for each in facts.bank.strings if each.array == string.array)]
    back = next((v for at in like if (v := facts.read(step, "temperature_degc", at)) is not None), None)
    sun = next((v for at in like if (v := facts.read(step, "irradiance", at)) is not None), None)
    return (None if back is None else back + BACK), sun


def _open_rows(facts: Facts, string: SunString) -> Iterator[Due]:
    name = string.name
    yield _kept(name, "temperature_degc", "probe on the back of one of them")
    yield _kept(name, "irradiance", "sun on their plane")
    figure, missing = _volts(facts, string)
    means = _missing_words(string)
    yield Due(
        "V-SUN-1", "voltage", name, f"open, plus to minus, {string.in_series} in series", "limit", (0.0, None), figure,
        means, "Its like in the same sun; then its parts.", missing, PLATE,
        band=(None, None) if figure is None else (figure.low, figure.high),
    )  # fmt: skip
    least, volts = (0.5e6, 250) if _open(string) * TESTED < SELV else (1e6, 500 if _open(string) <= 500.0 else 1000)
    yield Due(
        "V-SUN-4", "resistance", name, f"both poles joined to the frame, {volts} V of the tester", "limit",
        (least, None), None, ("a cable under a clamp or an edge", "water in a connector"), "Part at the middle.",
        _lacking(string, "open_voltage"), ROWS,
    )  # fmt: skip


def _kept(at: str, quantity: str, words: str) -> Due:
    return Due("V-SUN-3", quantity, at, words, "expectation", (None, None), optional=True)


def _volts(facts: Facts, string: SunString) -> tuple[Figure | None, tuple[Missing, ...]]:
    """Open volts due at what was read of temperature and sun; without the sun read, from 200 to 1000 W/m2."""
    kind, missing = string.kind, _lacking(string, "open_voltage", "voltage_drift", "cells")
    degc, sun = _weather(facts, "H1", string)
    if degc is None:
        missing += (asking(f"readings.{string.name}.temperature_degc", "Probe on the back of one of them first."),)
    if missing or degc is None or not (kind.open_voltage and kind.voltage_drift is not None and kind.cells):
        return None, missing
    ends = [
        string_voltage(kind.open_voltage, kind.voltage_drift, kind.cells, degc, light, in_series=string.in_series)
        for light in ((sun, sun) if sun else (LEAST, MOST))
    ]
    middle = sum(ends) / 2.0
    return Figure(middle, "voltage", ends[0] * (1.0 - BAND), ends[1] * (1.0 + BAND)), ()


def _missing_words(string: SunString) -> tuple[str, ...]:
    n = string.in_series
    return (
        f"less by one of {n} ({1 / n:.1%}): one missing, or shaded through",
        f"less by a third of one ({1 / (3 * n):.1%}): one third bypassed, or cells 16 K hotter than thought",
        f"less by two of {n}: one reversed",
        "below zero: the string is reversed; stop, the inverter may not bear it",
    )


def _current_rows(facts: Facts, string: SunString) -> Iterator[Due]:
    yield _kept(string.name, "temperature_degc", "probe on the back of one of them")
    yield _kept(string.name, "irradiance", "sun on their plane")
    missing = _lacking(string, "short_current", "current_drift")
    degc, sun = _weather(facts, "H2", string)
    figure: Figure | None = None
    if sun is None or degc is None:
        how = "Sun on their plane and temperature of the back first; or hold it against its like."
        missing += (asking(f"readings.{string.name}.irradiance", how),)
    elif not missing:
        kind = string.kind
        value = short_current(kind.short_current or 0.0, kind.current_drift or 0.0, degc, sun)
        figure = Figure(value, "current", value * (1.0 - CURRENT_BAND), value * (1.0 + CURRENT_BAND))
    window = (None, None) if figure is None else (figure.low, figure.high)
    means = ("none: polarity, switch, start voltage, bank full", "30 % low: dirt, shade, orientation, sun guessed")
    yield Due(
        "V-SUN-3", "current", string.name, "short or operating current, as a size", "expectation", window, figure,
        means, "Its like in the same minute.", missing, PLATE,
    )  # fmt: skip


def string_findings(facts: Facts, step: str) -> tuple[Finding, ...]:
    """Each string against its like: volts within 1.5 %, currents within 5 %; none where there is no like."""
    quantity, most = ("voltage", ALIKE) if step == "H1" else ("current", ALIKE_CURRENT)
    groups: dict[str, dict[str, float]] = {}
    series = {string.name: string.in_series for string in facts.bank.strings}
    for string in facts.bank.strings:
        value = facts.read(step, quantity, string.name)
        if value is not None:
            groups.setdefault(string.array, {})[string.name] = value
    return tuple(
        _like(name, value, _middle(list(read.values())), most, series[name] if step == "H1" else 0)
        for read in groups.values()
        for name, value in read.items()
        if len(read) > 1 and _middle(list(read.values())) > 0.0
    )


def _middle(values: Sequence[float]) -> float:
    """What like strings should show: the middle one; of two the higher, as faults only take away."""
    return max(values) if len(values) == 2 else median(values)


def _like(name: str, value: float, middle: float, most: float, series: int) -> Finding:
    off = value / middle - 1.0
    figure = Figure(off, "share")
    text = say("{at} lies {off} off its like", at=name, off=figure)
    guess = f"Nearest: {_nearest(off, series)}. " if series and abs(off) > most else ""
    do = say("{guess}The same at noon without shade; then part by part, by an electrician.", guess=guess)
    found = SHEET_CARDS["V-SUN-2"]
    return found.found(name, figure, (None, None), text, do, source=LIKE, caution_limits=(-most, most), case="like")


def _nearest(off: float, series: int) -> str:
    """Which known deviation is nearest."""
    known = {
        "one missing": -1.0 / series,
        "one third of one solar module bypassed or shaded": -1.0 / (3 * series),
        "one reversed": -2.0 / series,
        "the others are low": 1.0 / (3 * series),
    }
    name = min(known, key=lambda each: abs(known[each] - off))
    return f"{name} ({amount_text(known[name], 'share')})"
