"""Readings of cells that are none: a lost sense wire, a wrong number of cells, values that stand still, marks for
"no value".

Gives: Minutes, Doubtful, doubtful(). Each is told by what else was read: the neighbour, the module's own voltage, the
current, the other cells.
Limits: one module over a stretch of minutes; a cell that is truly dead reads like a lost wire, and the words say so.
Sources: sums of voltages [stated law: Kirchhoff]; marks: values outside 1.5 to 4.5 V are none of a cell of iron
phosphate in service [design choice]; standing still: own choice.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from bankwright.circuit.network import Array
from bankwright.physics.middle import middle

__all__ = ["CELL_HIGH", "CELL_LOW", "Doubtful", "Minutes", "doubtful"]

CELL_LOW, CELL_HIGH = 1.5, 4.5  # V
PAIR, AWAY = 0.03, 0.15  # V: a pair that is right together, and each of which is off by so much alone
ALIKE, CLEAR = 0.25, 0.8  # of what each is off by; of the minutes that are plainly one or the other
MOVED, STILL = 0.010, 60  # V by which the other cells moved, over so many minutes at least
SUM = 0.25  # of a cell, by which a sum of cells may miss the module's voltage

OFTEN = 0.02  # of the minutes, from which a wire that comes and goes is told
MOVES = 0.010  # V a cell, up and down, by which the string moved while the module's voltage or current stood still

Why = Literal["mark", "sense wire", "count", "still", "all still", "voltage still", "current still"]


@dataclass(frozen=True, eq=False, slots=True)
class Minutes:
    """Readings of one module by the minute: mean, lowest and highest of each cell, module voltage, current."""

    time: Array  # (minute,) s since 1970
    mean: Array  # (minute, cell) V
    low: Array
    high: Array
    volts: Array  # (minute,) V of the module
    current: Array  # (minute,) A
    none: Array | None = None  # (cell,) share of the readings that were none: a mark for "no value", or out of range
    said: Array | None = None  # (cell,) V, what was said instead, where it was a number


@dataclass(frozen=True, slots=True)
class Doubtful:
    """A reading that is none: why, which cells (from 1 on), and a figure that goes with it."""

    why: Why
    cells: tuple[int, ...]
    value: float
    share: float = 1.0  # of the time


def doubtful(minutes: Minutes) -> tuple[Doubtful, ...]:
    """What cannot be true, each cell once, the plainest reason first."""
    found: list[Doubtful] = []
    marks = tuple(_marks(minutes))
    counts = () if marks else tuple(_counts(minutes))  # a mark is no part of a sum
    for one in (*marks, *_wires(minutes), *counts, *_still(minutes), *_still_beside(minutes)):
        seen = {cell for each in found for cell in each.cells}
        if not seen.intersection(one.cells):
            found.append(one)
    return tuple(found)


def _range(low: Array, high: Array) -> Array:
    """Highest less lowest of each cell; where nothing was read it is below nothing."""
    return np.asarray(np.nanmax(high, axis=0, initial=-np.inf) - np.nanmin(low, axis=0, initial=np.inf))


def _marks(minutes: Minutes) -> Iterator[Doubtful]:
    for cell in range(minutes.mean.shape[1]):
        low, high = minutes.low[:, cell], minutes.high[:, cell]
        wrong = np.isfinite(low) & ((low < CELL_LOW) | (high > CELL_HIGH))
        if wrong.any():
            value = low[wrong][0] if low[wrong][0] < CELL_LOW else high[wrong][0]
            yield Doubtful("mark", (cell + 1,), float(value))
        elif minutes.none is not None and minutes.none[cell] > 0:
            value = np.nan if minutes.said is None else minutes.said[cell]
            yield Doubtful("mark", (cell + 1,), float(value), float(minutes.none[cell]))


def _wires(minutes: Minutes) -> Iterator[Doubtful]:
    """Two neighbours, one as much too high as the other is too low, always or at times: the wire between them."""
    away = minutes.mean - middle(minutes.mean)[:, None]
    for cell in range(away.shape[1] - 1):
        one, other = away[:, cell], away[:, cell + 1]
        told = np.isfinite(one) & np.isfinite(other)
        if told.sum() < 3:
            continue
        least = np.minimum(np.abs(one), np.abs(other))  # near full and empty the two differ by more than on the flat
        both = (np.abs(one + other) < np.maximum(PAIR, ALIKE * least)) & (least > AWAY)
        fine = np.maximum(np.abs(one), np.abs(other)) < AWAY / 2
        share = float(both[told].mean())
        if share > OFTEN and both.sum() >= 3 and (both | fine)[told].mean() > CLEAR:
            yield Doubtful("sense wire", (cell + 1, cell + 2), float(np.median(np.abs(one[told & both]))), share)


def _counts(minutes: Minutes) -> Iterator[Doubtful]:
    """The sum of the cells misses the module's voltage by whole cells."""
    total, centre = minutes.mean.sum(axis=1), middle(minutes.mean)
    missing = (minutes.volts - total) / centre
    told = missing[np.isfinite(missing)]
    if len(told) >= 3:
        cells = float(np.median(told))
        if abs(cells) > 1 - SUM and abs(cells - round(cells)) < SUM:
            yield Doubtful("count", (), float(round(cells)))


def _still(minutes: Minutes) -> Iterator[Doubtful]:
    """One cell, or all of them, that did not move by a step for an hour or longer while the others did."""
    longest: list[tuple[int, float]] = []
    least = max(MOVED, 2.5 * _step(minutes.mean))
    for cell in range(minutes.mean.shape[1]):
        moved = [_others_moved(minutes, cell, first, last) for first, last in _stands(minutes, cell)]
        if moved and max(moved) > least:
            longest.append((cell, max(moved)))
    if len(longest) > minutes.mean.shape[1] / 2:
        every = tuple(range(1, minutes.mean.shape[1] + 1))
        yield Doubtful("all still", every, max(moved for _, moved in longest))
    else:
        yield from (Doubtful("still", (cell + 1,), moved) for cell, moved in longest)


def _step(cells: Array) -> float:
    """The step that the cells are read in, where a minute holds one reading; else next to nothing. [V]"""
    told = np.unique(np.round(cells[np.isfinite(cells)], 4))
    return float(np.diff(told).min()) if len(told) > 2 else 0.0


def _stands(minutes: Minutes, cell: int) -> Iterator[tuple[int, int]]:
    """First and last minute of each stretch of an hour or more in which a cell said one value only."""
    told = np.flatnonzero(np.isfinite(minutes.mean[:, cell]))
    low, high = minutes.low[told, cell], minutes.high[told, cell]
    same = (low[1:] == low[:-1]) & (high[1:] == high[:-1]) & (low[1:] == high[1:])
    breaks = np.concatenate([[0], np.flatnonzero(~same) + 1, [len(told)]])
    for first, end in pairwise(breaks.tolist()):
        if end - first >= 3 and minutes.time[told[end - 1]] - minutes.time[told[first]] >= 60.0 * (STILL - 1):
            yield int(told[first]), int(told[end - 1])


def _others_moved(minutes: Minutes, cell: int, first: int, last: int) -> float:
    """By how much the other cells moved meanwhile; the module's own voltage, where all cells stood. [V a cell]"""
    part = slice(first, last + 1)
    others = np.delete(minutes.mean[part], cell, axis=1)
    told = np.isfinite(others).sum(axis=0) >= STILL // 4
    moved = float(np.median(_range(others[:, told], others[:, told]))) if told.any() else 0.0
    volts = minutes.volts[part]
    if moved > 0 or not np.isfinite(volts).any():
        return moved
    return float(np.nanmax(volts) - np.nanmin(volts)) / float(minutes.mean.shape[1])


def _still_beside(minutes: Minutes) -> Iterator[Doubtful]:
    """The module's own voltage, or its current, that never moved while its cells went up and down."""
    told = np.isfinite(minutes.mean).any(axis=1) & np.isfinite(minutes.volts)
    if told.sum() < STILL // 2 or minutes.time[told][-1] - minutes.time[told][0] < 60.0 * STILL:
        return
    centre = middle(minutes.mean[told])
    if np.ptp(minutes.volts[told]) == 0 and np.ptp(centre) > MOVES:
        yield Doubtful("voltage still", (), float(minutes.volts[told][0]))
    amps = minutes.current[told]
    if np.isfinite(amps).all() and np.ptp(amps) == 0 and amps[0] != 0 and _both_ways(centre) > MOVES:
        yield Doubtful("current still", (), float(amps[0]))


def _both_ways(centre: Array) -> float:
    """By how much the string went up and by how much down, the lesser of both; of means of thirty readings. [V]"""
    count = len(centre) // 30
    means = centre[: count * 30].reshape(count, 30).mean(axis=1)
    steps = np.diff(means)
    return min(float(steps[steps > 0].sum()), -float(steps[steps < 0].sum()))
