"""Units and scales: by the heading, held against what the values can be; by size where the heading is silent.

Gives: scaled(), Scaled, cells_in_series(). A unit that cannot be true (a cell of 3312 V) is replaced by the one that
can, and said; what fits two units is asked.
Limits: signs of currents are signs.py. Sources: the ranges are those of facts.py.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.logbook.elsewhere.candidates import Candidate
from bankwright.logbook.elsewhere.facts import BELIEVABLE, PLAUSIBLE_CELL, Facts
from bankwright.logbook.elsewhere.mapping import Take
from bankwright.logbook.elsewhere.told import Told
from bankwright.logbook.elsewhere.units import UNITS, Written

__all__ = ["Scaled", "cells_in_series", "scaled"]

_NONE = (65535.0, 65534.0, 32767.0, -32768.0, 32768.0, 255.0, 254.0, 127.0, -127.0, -128.0, 9999.0, -9999.0, 99999.0,
         -999.0, 999.9, -999.9, 999.0, 4294967295.0, -273.15, -273.0, -40.0, 2740.85, 65.535, 655.35, 6553.5,
         327.67, 3276.7, -32768.0, -3276.8, -327.68)  # fmt: skip
_FULL = (65535.0, 65534.0, 32767.0, -32768.0, 4294967295.0)  # the ends of 16 and 32 bits
_DECADES = (1.0, 1e-3, 1e-2, 0.1, 1e-4)
_NAMES = {1.0: "V", 1e-3: "mV", 1e-2: "0.01 V", 0.1: "0.1 V", 1e-4: "0.1 mV"}
_RESTS = 3.3  # V, near which an LFP cell rests; published curves, handbook of cells
_SERIES = (1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 13, 14, 15, 16, 18, 20, 24)


@dataclass(frozen=True, slots=True)
class Scaled:
    """A candidate with its scale."""

    candidate: Candidate
    take: Take

    @property
    def inside(self) -> np.ndarray:
        """Values of the sample in the unit inside, NaN where there is none."""
        counts = _signed(self.candidate.values, self.take.signed)
        value = counts * self.take.factor + self.take.offset
        value[np.isin(counts, self.take.missing)] = np.nan
        return value


def _signed(counts: np.ndarray, bits: int) -> np.ndarray:
    if not bits:
        return counts.copy()
    return np.where(counts >= 2.0 ** (bits - 1), counts - 2.0**bits, counts)


def scaled(found: Sequence[Candidate], facts: Facts, told: Told) -> list[Scaled]:
    """Each candidate with unit, scale, sentinels; what cannot be settled is asked."""
    out = []
    series = cells_in_series(found, facts, told)
    group: dict[str, Written] = {}
    for one in found:
        unit, why = _unit_of(one, series, facts, group, told)
        group.setdefault(_alike(one), unit)
        signed = _wrapped(one.values)
        missing = _sentinels(one.values, unit, one.quantity, signed)
        if signed:
            told.settle(
                one.heading, f"{signed} bits with sign", "counts stand near nought and near the top, none between"
            )
        if missing:
            shown = ", ".join(f"{count:g}" for count in missing)
            told.settle(one.heading, f"{shown} is no value", "far from all others, and a usual way of saying none")
        if why:
            told.settle(one.heading, f"in {unit}", why)
        take = Take(one.heading, one.quantity, one.at, unit.factor, unit.offset, missing, signed, written=str(unit))
        out.append(Scaled(one, take))
    return _as_cells(out)


def _alike(one: Candidate) -> str:
    """Columns that share a unit: cells of one file, temperatures of one file."""
    return (
        one.quantity if one.quantity in ("cell_voltage", "temperature_degc", "soc") and not one.is_tap else one.heading
    )


def _as_cells(out: list[Scaled]) -> list[Scaled]:
    """Taps: each cell is the tap less the one below it."""
    taps = sorted((s for s in out if s.candidate.is_tap), key=lambda s: s.candidate.meaning.number or 0)
    below = {s.candidate.heading: b.candidate.heading for b, s in itertools.pairwise(taps)}
    changed = []
    for s in out:
        less = below.get(s.candidate.heading, "")
        t = s.take
        take = Take(t.heading, t.quantity, t.at, t.factor, t.offset, t.missing, t.signed, less, t.written)
        changed.append(Scaled(s.candidate, take) if s.candidate.is_tap else s)
    return changed


def _quantile(values: np.ndarray, share: float) -> float:
    good = values[~np.isnan(values)]
    return float(np.quantile(good, share)) if len(good) else 0.0


def cells_in_series(found: Sequence[Candidate], facts: Facts, told: Told) -> int:
    """Cells in series of the log's packs: the bank's own where the volts fit, else what they do fit."""
    cells: dict[str, int] = {}
    fits = [
        c for c in found if c.quantity == "voltage" and any(_fits(abs(c.middle) * f, facts.cells) for f in _DECADES)
    ]
    for c in found:
        if c.quantity == "cell_voltage" and c.meaning.cell is not None and not c.meaning.stretch:
            owner = c.at.split(".")[0]
            cells[owner] = cells.get(owner, 0) + 1
    if cells and max(cells.values()) != facts.cells:
        count = max(cells.values())
        told.check(
            "cells",
            f"{count} a pack",
            f"the bank's modules have {facts.cells}: not all are in the log, or it is another pack",
        )
        if count >= 3 and not fits:
            return count
    if cells:
        return facts.cells
    for c in found:
        if c.quantity != "voltage" or not len(c.values[~np.isnan(c.values)]):
            continue
        middle = abs(c.middle) * (c.unit.factor if c.unit is not None else 1.0)
        if any(_fits(abs(c.middle) * f, facts.cells) for f in _DECADES):
            return facts.cells
        count = min(_SERIES, key=lambda n: abs(middle / n - _RESTS))
        if _fits(middle, count) and abs(middle / count - _RESTS) < 0.35:
            words = f"the volts fit {count} in series ({middle / count:.2f} V a cell); the bank has {facts.cells}"
            told.check("cells in series", str(count), words)
            return count
    return facts.cells


def _fits(volts: float, cells: int) -> bool:
    return PLAUSIBLE_CELL[0] * cells <= volts <= PLAUSIBLE_CELL[1] * cells


def _unit_of(
    one: Candidate, series: int, facts: Facts, group: Mapping[str, Written], told: Told
) -> tuple[Written, str]:
    """Unit of a column, and why where it was not the heading's; "" where it was."""
    if one.quantity in ("cell_voltage", "voltage"):
        return _volts(one, series, group, told)
    if one.unit is not None and (one.quantity != "soc" or one.unit.symbol == "%"):
        return _as_written(one, facts, told)
    if _alike(one) in group:
        return group[_alike(one)], ""
    finder = {"temperature_degc": _degrees, "soc": _charge, "current": _amperes, "cell_spread": _spread}.get(
        one.quantity
    )
    if finder is not None:
        return finder(one, facts, told)
    return _others(one, told)


def _volts(one: Candidate, series: int, group: Mapping[str, Written], told: Told) -> tuple[Written, str]:
    """Volts of a cell or of cells in series: only one decade can be true."""
    if one.is_told and one.unit is not None:
        return one.unit, ""
    cells = 1 if one.quantity == "cell_voltage" else series
    if one.is_tap:
        cells = max(one.meaning.number or 1, 1)
    if _alike(one) in group and one.unit is None:
        return group[_alike(one)], ""
    middle = abs(one.middle)
    if one.unit is not None and (_fits(middle * one.unit.factor, cells) or not middle):
        return one.unit, ""
    right = [f for f in _DECADES if _fits(middle * f, cells)]
    if one.unit is not None:
        if len(right) == 1 and abs(right[0] / one.unit.factor - 1) > 1e-6:
            why = f"the heading says {one.unit}, but {middle:g} {one.unit} is no {'cell' if cells == 1 else 'pack'}"
            return _volt_unit(right[0]), why
        return one.unit, ""
    if right:
        what = "a cell" if cells == 1 else f"{cells} cells in series"
        return _volt_unit(right[0]), f"by size: {middle:g} is {middle * right[0]:.2f} V of {what}"
    words = f"{one.heading} names no unit, and about {middle:g} fits no {'cell' if cells == 1 else 'pack'} in any"
    told.ask(f"unit of {one.heading}", words, f'--unit "{one.heading}=V", or --take "{one.heading}=nothing"')
    return Written("V"), ""


def _volt_unit(factor: float) -> Written:
    return Written("mV") if factor == 1e-3 else Written("V", factor)


def _as_written(one: Candidate, facts: Facts, told: Told) -> tuple[Written, str]:
    unit = one.unit or Written("1")
    if one.quantity == "temperature_degc":
        inside = one.middle * unit.factor + unit.offset
        if not -40 <= inside <= 100 and not one.is_told:
            tenth = Written(unit.symbol, 0.1)
            if -40 <= one.middle * tenth.factor + tenth.offset <= 100:
                return tenth, f"the heading says {unit}, but {one.middle:g} {unit} is no module; a tenth of it is"
    if one.quantity == "soc" and _quantile(one.values, 1) <= 1.0 and _quantile(one.values, 1) > 0 and not one.is_told:
        return Written("1"), f"the heading says %, but nothing is above {_quantile(one.values, 1):g}: shares of 1"
    if one.quantity == "current" and facts.current:
        most = max(abs(_quantile(one.values, 0.01)), abs(_quantile(one.values, 0.99))) * unit.factor
        if most > 3 * facts.current:
            words = f"{most:g} A by the heading, {facts.current:g} A is all that the bank's modules may carry"
            told.check(one.heading, "more current than the bank has", words)
    return unit, ""


def _degrees(one: Candidate, _: Facts, told: Told) -> tuple[Written, str]:
    middle, whole = one.middle, bool(np.all(one.values[~np.isnan(one.values)] % 1 == 0))
    if -25 <= middle <= 45:
        return Written("degC"), f"by size: {middle:g}"
    if 100 <= middle < 250 and whole:
        return Written("degC", 0.1), f"by size: {middle:g} tenths of a degree"
    if 2500 <= middle <= 3300 and whole:
        return Written(
            "K", 0.1
        ), f"by size: {middle:g} tenths of a kelvin are {middle / 10 - 273.15:.1f} degrees Celsius"
    if 250 <= middle <= 330 and not whole:
        return Written("K"), f"by size: {middle:g} K are {middle - 273.15:.1f} degrees Celsius"
    words = f"{one.heading} is about {middle:g}, in what?"
    told.ask(f"unit of {one.heading}", words, f'--unit "{one.heading}=degC" (or degF, K, "0.1 degC")')
    return Written("degC"), ""


def _charge(one: Candidate, _: Facts, told: Told) -> tuple[Written, str]:
    most = _quantile(one.values, 1)
    if 0 < most <= 1.0 and np.any(one.values[~np.isnan(one.values)] % 1 != 0):
        return Written("1"), f"by size: nothing above {most:g}"
    good = one.values[one.values <= 1000]
    most = _quantile(good, 1)
    if 1.0 < most <= 105:
        return Written("%"), "" if one.unit is not None else f"by size: up to {most:g}"
    if 105 < most <= 1000:
        return Written("%", 0.1), f"by size: up to {most:g} of 1000"
    told.ask(f"unit of {one.heading}", f"{one.heading} goes up to {most:g}, of what?", f'--unit "{one.heading}=%"')
    return Written("%"), ""


def _amperes(one: Candidate, facts: Facts, told: Told) -> tuple[Written, str]:
    values = one.values[~np.isnan(one.values)]
    most = float(np.max(np.abs(values))) if len(values) else 0.0
    limit = 2 * facts.current if facts.current else 1000.0
    if np.any(values % 1 != 0) and 2 <= most <= limit:
        return Written("A"), f"by size: values with decimals, up to {most:g}; the bank carries {limit / 2:g} A"
    words = f"{one.heading} names no unit and goes up to {most:g}: A, mA, tenths or hundredths of an A?"
    told.ask(f"unit of {one.heading}", words, f'--unit "{one.heading}=A" (mA, "0.1 A", "0.01 A")')
    return Written("A"), ""


def _spread(one: Candidate, _: Facts, __: Told) -> tuple[Written, str]:
    if one.middle > 1:
        return Written("mV"), f"by size: {one.middle:g}"
    return Written("V"), f"by size: {one.middle:g}"


def _others(one: Candidate, told: Told) -> tuple[Written, str]:
    guesses = {"power": ("W", 50.0), "capacity_ah": ("Ah", 1.0)}
    middle = abs(_quantile(np.abs(one.values), 0.9))
    if one.quantity in guesses and middle >= guesses[one.quantity][1] and middle < 1000 * guesses[one.quantity][1]:
        return Written(guesses[one.quantity][0]), f"by size: about {middle:g}"
    units = [symbol for symbol, (quantity, _, _) in UNITS.items() if quantity == one.quantity]
    told.ask(
        f"unit of {one.heading}",
        f"{one.heading} names no unit (about {middle:g})",
        f'--unit "{one.heading}={units[0]}" ({", ".join(units)})',
    )
    return Written(units[0]), ""


def _wrapped(values: np.ndarray) -> int:
    """16 where counts are two's complement written without sign: near 0 and near 65536, none between."""
    good = values[~np.isnan(values)]
    if len(good) < 4 or np.any(good % 1 != 0) or good.min() < 0:
        return 0
    for bits in (16, 32):
        top = 2.0**bits
        high = good[(good > 0.75 * top) & (good < top)]
        low = good[good < 0.25 * top]
        if len(np.unique(high)) >= 2 and len(high) + len(low) == len(good) and len(low):
            return bits
    return 0


def _sentinels(values: np.ndarray, unit: Written, quantity: str, signed: int) -> tuple[float, ...]:
    """Counts that are a usual way of saying none, and stand far from all others."""
    good = values[~np.isnan(values)]
    rest = good[~np.isin(good, _NONE)]
    found = []
    least, most = BELIEVABLE.get(quantity, (-np.inf, np.inf))
    for count in np.unique(good[np.isin(good, _NONE)]).tolist():
        if signed and count not in (32768.0,):
            continue
        inside = count * unit.factor + unit.offset
        if not least <= inside <= most or (len(rest) and _is_far(count, rest, unit, quantity)):
            found.append(float(count))
    return tuple(found)


def _is_far(count: float, rest: np.ndarray, unit: Written, quantity: str) -> bool:
    middle = float(np.median(rest))
    if quantity == "temperature_degc":
        return bool(np.min(np.abs(rest - count)) * unit.factor > 25)
    reach = float(np.max(np.abs(rest - middle)))
    if count in _FULL and abs(count - middle) > max(4 * reach, abs(middle) / 10):
        return True
    return abs(count - middle) > 4 * max(reach, abs(middle) / 4, 1e-9)
