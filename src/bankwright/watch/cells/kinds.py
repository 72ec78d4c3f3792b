"""Of which kind a cell's deviation is: less charge, less capacity, or more resistance.

Gives: Deviation, deviation(), Kind, kind_of(), step_resistance(). How far a cell lies off the middle of its string near
full, near empty, and with the current, tells which.
Limits: the middle of the string is taken as good; two weak cells of sixteen still leave it so. What a sense wire or a
joint makes goes with the current like a resistance: they cannot be told apart from here.
Sources: signature of capacity, charge and resistance in a log, from the field (a mailing list for makers of renewable
energy plants, 2014) [common practice]; regression [stated law]; steps under 10 A say nothing [own choice].
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from bankwright.circuit.network import Array
from bankwright.forms.toleranced import Toleranced

__all__ = ["Deviation", "Kind", "deviation", "kind_of", "step_resistance"]

FULL, EMPTY = 3.42, 3.15  # V of the highest and of the lowest cell: beyond these the curve is steep
NEAREST = 0.2  # share of the minutes at an end that are taken: those nearest to it
SIGNIFICANT = 0.010  # V near an end
LEAST_STEP = 10.0  # A
SIGMAS, UNLIKE = 3.0, 3e-4  # ohm: less is within what cells and joints differ by; own choice
LEAST = 5  # minutes at an end

Kind = Literal["even", "capacity", "charge", "resistance", "unknown"]


@dataclass(frozen=True, slots=True)
class Deviation:
    """Of one cell off the middle of its string: V near full, near empty (None: not visited), ohm with the current."""

    full: float | None
    empty: float | None
    ohm: float
    ohm_sd: float


def deviation(cells: Array, current: Array) -> tuple[Deviation, ...]:
    """Each cell's deviation from minutes of readings.

    Parameters
    ----------
    cells : (minute, cell) voltages. [V]
    current : (minute,) positive leaving the module. [A]
    """
    told = np.isfinite(cells).any(axis=1)
    cells, current = cells[told], current[told]
    middle = np.nanmedian(cells, axis=1)
    away = cells - middle[:, None]
    highest, lowest = np.nanmax(cells, axis=1), np.nanmin(cells, axis=1)
    flat = (highest < FULL) & (lowest > EMPTY)
    full, empty = _nearest(highest, FULL), _nearest(-lowest, -EMPTY)
    answer = []
    for cell in range(cells.shape[1]):
        ohm, sd = _with_current(away[flat, cell], current[flat])
        ends = [float(np.nanmedian(away[at, cell])) if at.sum() >= LEAST else None for at in (full, empty)]
        answer.append(Deviation(ends[0], ends[1], ohm, sd))
    return tuple(answer)


def _nearest(volts: Array, limit: float) -> npt.NDArray[np.bool_]:
    """Minutes beyond a limit, of those the ones that lie furthest."""
    beyond = volts >= limit
    if beyond.sum() < LEAST:
        return np.asarray(beyond)
    least = np.quantile(volts[beyond], 1 - max(NEAREST, LEAST / beyond.sum()))
    return np.asarray(volts >= least)


def _with_current(away: Array, current: Array) -> tuple[float, float]:
    """Ohm by which a cell falls further than the middle, and one standard deviation, from minute to minute."""
    x, y = np.diff(current), np.diff(away)
    told = np.isfinite(x) & np.isfinite(y)
    x, y = x[told], y[told]
    if len(x) < LEAST or np.ptp(x) < LEAST_STEP:
        return 0.0, float("inf")
    slope = float(x @ y / (x @ x))
    left = y - slope * x
    return -slope, float(np.sqrt(left @ left / max(len(x) - 1, 1) / (x @ x)))


def kind_of(one: Deviation) -> Kind:
    """Highest near full, lowest near empty: capacity. The same way at both: charge. With the current: resistance."""
    if one.ohm > max(SIGMAS * one.ohm_sd, UNLIKE):
        return "resistance"
    full = None if one.full is None else (0 if abs(one.full) < SIGNIFICANT else int(np.sign(one.full)))
    empty = None if one.empty is None else (0 if abs(one.empty) < SIGNIFICANT else int(np.sign(one.empty)))
    if full is None or empty is None:
        return "even" if not full and not empty else "unknown"
    if full == 0 and empty == 0:
        return "even"
    if full * empty < 0:
        return "capacity"
    if full * empty > 0 or empty == 0:
        return "charge"  # at the top alone, or at both ends the same way
    return "capacity"  # at the empty end alone


def step_resistance(
    before: tuple[float, float], after: tuple[float, float], volt_step: float, current_step: float
) -> Toleranced:
    """Resistance from two points of a log, (V, A) each, with the steps in which both are told. [ohm]

    Raises
    ------
    ValueError : the step of the current is under 10 A.
    """
    rise, step = before[0] - after[0], after[1] - before[1]
    if abs(step) < LEAST_STEP:
        raise ValueError(f"a step of {abs(step):g} A is too small; 10 A at least")
    value = rise / step
    half = abs(value) * (volt_step / max(abs(rise), volt_step) + current_step / abs(step))
    return Toleranced(value, value - half, value + half)
