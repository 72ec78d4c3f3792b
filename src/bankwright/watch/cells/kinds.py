"""Of which kind a cell's deviation is: less charge, less capacity, or more resistance.

Gives: Deviation, End, deviation(), Kind, kind_of(), step_resistance(). How far a cell lies off the middle of its string
near full, near empty, and with the current, tells which. Near the ends the curve is steep and differs from make to
make: there volts are told as points of charge, the least and the middle that published curves give.
Limits: the middle of the string is taken as good; two weak cells of sixteen still leave it so. What a sense wire or a
joint makes goes with the current like a resistance: they cannot be told apart from here.
Sources: signature of capacity, charge and resistance in a log, from the field (a mailing list for makers of renewable
energy plants, 2014) [common practice]; regression [stated law]; 1.5 points, and steps under 10 A say nothing [own
choice].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from bankwright.circuit.network import Array
from bankwright.circuit.run.curves import Curve
from bankwright.forms.toleranced import Toleranced
from bankwright.physics.middle import middle
from bankwright.watch.cells.spread import JOINT, READ, UNLIKE, charge_apart

__all__ = ["Deviation", "End", "Kind", "deviation", "kind_of", "step_resistance"]

FULL, EMPTY = 3.42, 3.15  # V of the highest and of the lowest cell: beyond these the curve is steep
NEAREST = 0.2  # share of the minutes at an end that are taken: those nearest to it
LEAST_CHARGE, LITTLE = 0.015, 0.01  # of the charge: what accuses a cell; less than it at one end is none there
SMALL = 0.25  # of what it is at the other end: as little
LEAST_STEP = 10.0  # A
SIGMAS, UNLIKE_OHM = 3.0, 3e-4  # ohm: less is within what cells and joints differ by; own choice
LEAST = 5  # minutes at an end

Kind = Literal["even", "capacity", "charge", "resistance", "unknown"]


@dataclass(frozen=True, slots=True)
class End:
    """By how much charge a cell lies off the middle of its string near full or near empty, as a share; least and middle
    over the curves, both with the sign of the voltage."""

    least: float
    middle: float


@dataclass(frozen=True, slots=True)
class Deviation:
    """Of one cell off the middle of its string: near full, near empty (None: not visited), ohm with the current."""

    full: End | None
    empty: End | None
    ohm: float
    ohm_sd: float


def deviation(cells: Array, current: Array, curves: Sequence[Curve], ohm: float = 0.0) -> tuple[Deviation, ...]:
    """Each cell's deviation from minutes of readings.

    Parameters
    ----------
    cells : (minute, cell) voltages. [V]
    current : (minute,) positive leaving the module. [A]
    curves : that may hold for the cells. ohm : of one cell, all of it. [ohm]
    """
    told = np.isfinite(cells).any(axis=1) & np.isfinite(current)
    cells, current = cells[told], current[told]
    if not len(cells):
        return tuple(Deviation(None, None, 0.0, float("inf")) for _ in range(cells.shape[1]))
    away = cells - middle(cells)[:, None]
    highest, lowest = np.nanmax(cells, axis=1), np.nanmin(cells, axis=1)
    flat = (highest < FULL) & (lowest > EMPTY)
    ends = [_ends(cells[at], current[at], curves, ohm) for at in (_nearest(highest, FULL), _nearest(-lowest, -EMPTY))]
    answer = []
    for cell in range(cells.shape[1]):
        answer.append(Deviation(ends[0][cell], ends[1][cell], *_with_current(away[flat, cell], current[flat])))
    return tuple(answer)


def _ends(cells: Array, current: Array, curves: Sequence[Curve], ohm: float) -> list[End | None]:
    """Of every cell at one end, from the minutes nearest to it; what the current makes is taken off."""
    if len(cells) < LEAST:
        return [None] * cells.shape[1]
    rest = cells + current[:, None] * ohm
    centre = middle(rest)
    doubt = READ + float(np.median(np.abs(current))) * (UNLIKE * ohm + JOINT)
    answer: list[End | None] = []
    for cell in range(cells.shape[1]):
        at = np.isfinite(rest[:, cell])
        if at.sum() < LEAST:
            answer.append(None)
            continue
        own, other = float(np.median(rest[at, cell])), float(np.median(centre[at]))
        found = charge_apart(max(own, other), min(own, other), curves, doubt)
        way = 1.0 if own > other else -1.0
        answer.append(End(way * found.low, way * found.middle))
    return answer


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
    if one.ohm > max(SIGMAS * one.ohm_sd, UNLIKE_OHM):
        return "resistance"
    if one.full is None or one.empty is None:
        seen = [end for end in (one.full, one.empty) if end is not None]
        return "even" if all(abs(end.least) < LEAST_CHARGE for end in seen) else "unknown"
    full, empty = _way(one.full, one.empty), _way(one.empty, one.full)
    sizes = abs(one.full.least), abs(one.empty.least)
    if full * empty < 0:
        return "capacity" if full > 0 and sum(sizes) >= LEAST_CHARGE else "even"  # the other way: more capacity
    if max(sizes) < LEAST_CHARGE:
        return "even"
    return "charge" if full else "capacity"  # at the empty end alone


def _way(end: End, other: End) -> int:
    """1 higher, -1 lower, 0 as good as not off at this end."""
    return 0 if abs(end.middle) < max(LITTLE, SMALL * abs(other.middle)) else int(np.sign(end.middle))


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
