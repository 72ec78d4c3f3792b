"""Axes of figures over time: days and months across, plain steps upwards, and where a run of values breaks.

Gives: TimeAxis, ValueAxis, runs(), stretches(). A gap stays a gap: a run ends where a value is missing, or where the
next one comes later than three usual steps.
Limits: UTC; at most as many time marks as fit their width.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise

from bankwright.draw.pen.letters import room

__all__ = ["TimeAxis", "ValueAxis", "runs", "stretches"]

DAY = 86400.0
LATE = 3.0  # usual steps, beyond which a run has a gap
APART = 14.0  # px between two marks
EVERY = (1, 2, 7, 14)  # days from mark to mark, and then months
MONTHS = (1, 2, 3, 6, 12, 24)


@dataclass(frozen=True, slots=True)
class TimeAxis:
    """From a moment, s since 1970, to a place across."""

    begin: float
    end: float
    left: float
    right: float

    def at(self, time: float) -> float:
        """Its place. [px]"""
        part = (time - self.begin) / max(self.end - self.begin, 1.0)
        return self.left + (self.right - self.left) * min(max(part, 0.0), 1.0)

    def marks(self) -> list[tuple[float, str]]:
        """Moments with their words, as many as fit."""
        for marks in self._choices():
            wide = max((room(text, 12) for _, text in marks), default=0.0) + APART
            places = [self.at(time) for time, _ in marks]
            if all(b - a >= wide for a, b in pairwise(places)):
                return marks
        return []

    def _choices(self) -> Iterator[list[tuple[float, str]]]:
        if self.end - self.begin < 100 * DAY:
            first = math.ceil(self.begin / DAY)
            for step in EVERY:
                days = range(first, int(self.end // DAY) + 1, step)
                yield [(day * DAY, _day(day * DAY)) for day in days]
        for step in MONTHS:
            yield [(time, _month(time, step)) for time in self._months(step)]

    def _months(self, step: int) -> Iterator[float]:
        start = datetime.fromtimestamp(self.begin, UTC)
        number = start.year * 12 + start.month
        while True:
            year, month = divmod(number, 12)
            time = datetime(year, month + 1, 1, tzinfo=UTC).timestamp()
            if time > self.end:
                return
            if month % min(step, 12) == 0 and (step <= 12 or year % (step // 12) == 0):
                yield time
            number += 1


def _day(time: float) -> str:
    day = datetime.fromtimestamp(time, UTC)
    return f"{day.day} {day:%b}"


def _month(time: float, step: int) -> str:
    day = datetime.fromtimestamp(time, UTC) + timedelta(hours=12)
    return f"{day:%b %y}" if step < 12 else f"{day:%Y}"


@dataclass(frozen=True, slots=True)
class ValueAxis:
    """From a value to a height; the drawing's y grows downwards."""

    low: float
    high: float
    top: float
    bottom: float

    def at(self, value: float) -> float:
        """Its height, inside the plot. [px]"""
        part = (value - self.low) / (self.high - self.low) if self.high > self.low else 0.5
        return self.bottom - (self.bottom - self.top) * min(max(part, 0.0), 1.0)


def runs(time: Sequence[float], *columns: Sequence[float]) -> Iterator[list[int]]:
    """Numbers of values that hang together: every column is there, and the next one is not late."""
    usual = _usual(time)
    run: list[int] = []
    for k, moment in enumerate(time):
        whole = all(math.isfinite(column[k]) for column in columns)
        if run and (not whole or moment - time[run[-1]] > LATE * usual):
            yield run
            run = []
        if whole:
            run.append(k)
    if run:
        yield run


def stretches(time: Sequence[float], *columns: Sequence[float]) -> Iterator[tuple[float, float]]:
    """From where to where each gap between two runs goes."""
    found = list(runs(time, *columns))
    for one, other in pairwise(found):
        yield time[one[-1]], time[other[0]]


def _usual(time: Sequence[float]) -> float:
    steps = sorted(b - a for a, b in pairwise(time))
    return steps[len(steps) // 2] if steps else DAY
