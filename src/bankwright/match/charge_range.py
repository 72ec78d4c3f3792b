"""The state of charge that a rested voltage allows: the envelope of the published curves, not one of them.

Gives: ChargeRange, charge_range(), hidden_spread(). Into the band go the meter (in full: a gain error never cancels
here), what the rest has left of the last current, temperature, and the branch: a module that was last charged reads
higher than one last discharged at the same charge; with the direction unknown both branches count.
Limits: curves are of small new cells at 25 degC; an aged module lies elsewhere on them by an unknown amount.
Sources: handbook lfp/ocv-*, lfp/relaxation; shift of the mean curve 0.17 mV/K a cell [derived from the 26650 curves].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.bank.model import Module
from bankwright.circuit.run.curves import Curve, curves_of
from bankwright.handbook.tables import load
from bankwright.match.entry import ModuleReading
from bankwright.match.sources import LOADED_BEFORE
from bankwright.physics.cell import rest_left, state_of_charge

__all__ = ["ChargeRange", "charge_range", "hidden_spread", "rest_error"]

SHIFT = 0.17e-3  # V/K a cell, mean curve at 50 % between 5 and 45 degC
UNKNOWN_DEGC = (5.0, 40.0)  # a room in which one works, when no temperature was read; common practice, no source


@dataclass(frozen=True, slots=True)
class ChargeRange:
    """Lowest and highest state of charge, and what each curve says of the middle of the band."""

    module: str
    low: float
    high: float
    by_curve: tuple[tuple[str, float], ...]
    volts: tuple[float, float]  # V of the module, the band that was looked up
    loaded: bool  # True: too little rest, or not told

    @property
    def width(self) -> float:
        """Points between the ends, 0..1."""
        return self.high - self.low


def rest_error(rested: float, temperature_degc: float | None, cells: int) -> float:
    """What is left of the last current after some rest, in V of a module; a lower bound."""
    table = load("lfp/relaxation")
    columns = {name: [table.value(row, name) or 0.0 for row in table.rows] for name in table.columns}
    degc = 25.0 if temperature_degc is None else float(np.clip(temperature_degc, -5.0, 45.0))
    at = {name: float(np.interp(degc, columns["temperature"], columns[name])) for name in columns}
    return cells * float(rest_left(rested, at["quick"], at["quick_time"], at["slow"], at["slow_time"]))


def _volts(module: Module, reading: ModuleReading) -> tuple[float, float]:
    """Band of the rested voltage at 25 degC."""
    cells = module.kind.cells
    left = 0.0 if reading.rested is None else rest_error(reading.rested, reading.temperature_degc, cells)
    ends = UNKNOWN_DEGC if reading.temperature_degc is None else (reading.temperature_degc,) * 2
    shift = [SHIFT * cells * (25.0 - degc) for degc in ends]
    falls = left if reading.last != "discharged" else 0.0  # after charge the voltage still falls
    rises = left if reading.last != "charged" else 0.0
    return reading.low - falls + min(*shift, 0.0), reading.high + rises + max(*shift, 0.0)


def _usable(curves: Sequence[Curve], reading: ModuleReading) -> list[tuple[str, tuple[float, ...], tuple[float, ...]]]:
    """Curves to ask: with the last direction known, the opposite branch gives way to the middle of both."""
    found = [(c.name, c.soc, c.volts) for c in curves if c.branch is None]
    both = {c.branch: c for c in curves if c.branch is not None}
    opposite = {"charged": "discharge", "discharged": "charge"}.get(reading.last or "")
    found += [(c.name, c.soc, c.volts) for branch, c in both.items() if branch != opposite]
    if opposite and len(both) == 2:
        one, two = both["charge"], both["discharge"]
        middle = tuple((a + b) / 2 for a, b in zip(one.volts, two.volts, strict=True))
        found.append(("middle of both branches", one.soc, middle))
    return found


def charge_range(module: Module, reading: ModuleReading) -> ChargeRange:
    """Hull over all curves that may hold, at both ends of the voltage band."""
    low_volts, high_volts = _volts(module, reading)
    cells, lows, highs, middles = module.kind.cells, [], [], []
    for name, soc, volts in _usable(curves_of(module.kind), reading):
        low = float(state_of_charge(low_volts / cells, soc, volts)[0])
        high = float(state_of_charge(high_volts / cells, soc, volts)[1])
        lows.append(0.0 if low_volts / cells <= volts[0] else low)
        highs.append(1.0 if high_volts / cells >= volts[-1] else high)
        between = state_of_charge(reading.voltage / cells, soc, volts)
        middles.append((name, float(between[0] + between[1]) / 2))
    loaded = reading.rested is None or reading.rested < LOADED_BEFORE
    return ChargeRange(reading.module, min(lows), max(highs), tuple(middles), (low_volts, high_volts), loaded)


def hidden_spread(ranges: Sequence[ChargeRange]) -> tuple[float, float]:
    """Least and most points of charge that two of the modules may lie apart."""
    if len(ranges) < 2:
        return 0.0, 0.0
    most = max(a.high - b.low for a in ranges for b in ranges if a is not b)
    least = max(0.0, *(a.low - b.high for a in ranges for b in ranges if a is not b))
    return least, max(most, least)
