"""The course of each module's capacity: what was counted between full and empty, tests, and the trend with its band.

Gives: Course, Told, courses_of(), END, AHEAD. Beyond today a fall that is sure goes on in a straight line, with the
band of its rate.
Limits: without fifteen pairs there is no trend, and points alone stand there; ageing is seldom straight.
Sources: cells/capacity.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.watch.cells.ageing import pairs_of, sizes_of
from bankwright.watch.cells.capacity import STRAIGHT, YEAR, Pair, Sizes, Trend, trend
from bankwright.watch.charge.daily import kept_estimator
from bankwright.watch.charge.facts import facts_of
from bankwright.watch.section import Asked

__all__ = ["AHEAD", "END", "Course", "Told", "courses_of"]

END = 0.8  # of the first capacity: the wall
AHEAD = 3.0  # years beyond today


@dataclass(frozen=True, slots=True)
class Told:
    """A capacity at a moment with its 95 % band. [s since 1970, Ah]"""

    time: float
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Course:
    """One module: what was counted, tests, and the line of its trend; `wall` at END of the first capacity, Ah."""

    module: str
    counted: tuple[Told, ...]
    line: tuple[Told, ...]
    wall: float | None
    pairs: int


def courses_of(asked: Asked) -> tuple[Course, ...]:
    """Of every module with a capacity that is counted."""
    facts, _ = facts_of(asked.bank)
    found = None if facts is None else kept_estimator(facts, asked.telemetry)
    if facts is None or found is None:
        return ()
    courses = []
    for m, name in enumerate(facts.names):
        pairs = tuple(pairs_of(found, m))
        sizes = sizes_of(found, m, pairs)
        seen = trend(pairs, sizes)
        wall = END * (seen.first if seen else float(facts.capacity_ah[m]))
        line = () if seen is None else _line(seen, pairs, asked.now)
        courses.append(Course(name, tuple(_counted(pair, sizes) for pair in pairs), line, wall, len(pairs)))
    return tuple(courses)


def _counted(pair: Pair, sizes: Sizes) -> Told:
    """One pair alone: charge counted over the share between its anchors; both errors in its band."""
    value = pair.counted / pair.share
    half = STRAIGHT * float(np.hypot(sizes.counted, value * sizes.share)) / pair.share
    return Told(pair.time, value, value - half, value + half)


def _line(seen: Trend, pairs: Sequence[Pair], now: float) -> tuple[Told, ...]:
    """First and now as they were found; beyond today only where the fall is sure."""
    last = max(pair.time for pair in pairs)
    middle = last - seen.lag * YEAR
    first = middle - seen.years * YEAR
    told = [_at(first, seen.first, seen.first_sd), _at(middle, seen.now, seen.now_sd)]
    if not seen.falls or not seen.years > 0:
        return tuple(told)
    rates = [seen.first * (seen.fall + way * STRAIGHT * seen.fall_sd) / seen.years for way in (1, 0, -1)]
    for time in (max(now, last), now + AHEAD * YEAR):
        later = (time - middle) / YEAR
        low, value, high = (seen.now - rate * later for rate in rates)
        half = STRAIGHT * seen.now_sd
        told.append(Told(time, value, low - half, high + half))
    return tuple(told)


def _at(time: float, value: float, sd: float) -> Told:
    return Told(time, value, value - STRAIGHT * sd, value + STRAIGHT * sd)
