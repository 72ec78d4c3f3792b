"""Self-discharge of a cell against the others, from full charge to full charge.

Gives: Leak, leak(). At the top the curve is steep: a cell that lies lower there from week to week has lost charge in
between. In series no current of the bank makes such a difference.
Limits: what a balancer took from cells in between must be known, or the answer is unknown: then `balanced` is None.
The band holds all curves that may be.
Sources: handbook curves (circuit/run/curves); regression over time [stated law].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array
from bankwright.circuit.run.curves import Curve
from bankwright.watch.cells.spread import inverse

__all__ = ["Leak", "leak"]

DAY, LEAST = 86400.0, 3
READ = 2e-3  # V, how well a cell is read at a full charge; design choice


@dataclass(frozen=True, slots=True)
class Leak:
    """Current that a cell loses more than the middle of its string, [A]; None where the balancer's share is unknown."""

    current: float | None
    low: float
    high: float
    moved: float  # V a day against the middle, as read
    tops: int


def leak(
    time: Array, away: Array, volts: Array, capacity_ah: float, curves: Sequence[Curve], *, balanced: Array | None
) -> Leak | None:
    """Regress one cell's deviation at full charges; None with fewer than three.

    Parameters
    ----------
    time : (top,) [s since 1970]. away : (top,) cell less middle of the string. [V] volts : (top,) the middle. [V]
    capacity_ah : of the module. curves : that may hold for the cell.
    balanced : (top,) charge the balancer took from this cell less the middle since the first top [Ah]; None: unknown.
    """
    if len(time) < LEAST or np.ptp(time) < DAY:
        return None
    own = np.zeros(len(time)) if balanced is None else balanced / capacity_ah
    ends, middles = [], []
    for curve in curves:
        lost = inverse(curve, volts) - inverse(curve, volts + away) - own
        read = inverse(curve, volts + away + READ) - inverse(curve, volts + away - READ)
        rise, sd = _trend(time, lost, read / 2)
        middles.append(rise)
        ends += [rise - 1.96 * sd, rise + 1.96 * sd]
    scale = capacity_ah / 24  # share a day, as a current
    middle = None if balanced is None else float(np.median(middles)) * scale
    return Leak(
        middle, min(ends) * scale, max(ends) * scale, _trend(time, away, np.full(len(time), READ))[0], len(time)
    )


def _trend(time: Array, values: Array, read: Array) -> tuple[float, float]:
    """Rise a day, and one standard deviation: what each reading is worth, or what the points show if that is more."""
    days, weight = (time - time.mean()) / DAY, 1 / np.maximum(read, 1e-5) ** 2
    x = days - (weight @ days) / weight.sum()
    y = values - (weight @ values) / weight.sum()
    spread = weight @ (x * x)
    slope = float((weight * x) @ y / spread)
    left = y - slope * x
    worse = max(float(weight @ (left * left)) / max(len(x) - 2, 1), 1.0)
    return slope, float(np.sqrt(worse / spread))
