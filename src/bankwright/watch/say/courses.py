"""The course of each module's capacity: what was counted between full and empty, tests, and the trend with its band.

Gives: Course, Told, courses_of(), capacity_tests(), END, AHEAD. Tests are those that were handed over to the logbook;
what a test of the whole bank gave is no module's and has a course of its own. Beyond today a fall that is sure goes on
in a straight line, with the band of its rate.
Limits: without fifteen pairs there is no trend, and points alone stand there; ageing is seldom straight.
Sources: cells/capacity.py.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from bankwright.logbook.clocks import wall_seconds
from bankwright.logbook.logbook import Logbook
from bankwright.watch.cells.ageing import pairs_of, sizes_of
from bankwright.watch.cells.capacity import STRAIGHT, YEAR, Pair, Sizes, Trend, trend
from bankwright.watch.charge.daily import kept_estimator
from bankwright.watch.charge.facts import facts_of
from bankwright.watch.section import Asked

__all__ = ["AHEAD", "END", "Course", "Told", "capacity_tests", "courses_of"]

END = 0.8  # of the first capacity: the wall
AHEAD = 3.0  # years beyond today
BANK, KIND = "bank", "capacity test"  # the whole bank's place in a test; the kind of its result in the logbook


@dataclass(frozen=True, slots=True)
class Told:
    """A capacity at a moment with its 95 % band. [s since 1970, Ah]"""

    time: float
    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Course:
    """One module, or the bank in its tests: what was counted, tests, and the line of its trend.

    `wall` at END of the first capacity, Ah.
    """

    module: str
    counted: tuple[Told, ...]
    line: tuple[Told, ...]
    wall: float | None
    pairs: int
    tests: tuple[Told, ...] = ()


NO_TESTS: Mapping[str, tuple[Told, ...]] = MappingProxyType({})


def capacity_tests(book: Logbook) -> Mapping[str, tuple[Told, ...]]:
    """Capacity tests that stand in the logbook, by module or "bank", in the order of time."""
    found: dict[str, list[Told]] = {}
    for entry in book.entries(kind="result", standing=True):
        if entry.body.get("kind") != KIND:
            continue
        for one in entry.body["payload"].get("capacity", ()):
            value, low, high = (one.get(key) for key in ("value", "low", "high"))
            if value is not None and low is not None and high is not None:
                told = Told(wall_seconds(entry.moment), float(value), float(low), float(high))
                found.setdefault(str(one["at"]), []).append(told)
    return {at: tuple(sorted(told, key=lambda each: each.time)) for at, told in found.items()}


def courses_of(asked: Asked, tests: Mapping[str, tuple[Told, ...]] = NO_TESTS) -> tuple[Course, ...]:
    """Of every module with a capacity that is counted, or was tested."""
    facts, _ = facts_of(asked.bank)
    if facts is None:
        return ()
    found = kept_estimator(facts, asked.telemetry)
    courses = []
    for m, name in enumerate(facts.names):
        tested = tests.get(name, ())
        if found is None:
            if tested:
                courses.append(Course(name, (), (), END * tested[0].value, 0, tested))
            continue
        pairs = tuple(pairs_of(found, m))
        sizes = sizes_of(found, m, pairs)
        seen = trend(pairs, sizes)
        first = seen.first if seen else tested[0].value if tested else float(facts.capacity_ah[m])
        line = () if seen is None else _line(seen, pairs, asked.now)
        courses.append(Course(name, tuple(_counted(p, sizes) for p in pairs), line, END * first, len(pairs), tested))
    if tests.get(BANK):
        courses.append(Course(BANK, (), (), END * tests[BANK][0].value, 0, tests[BANK]))
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
