"""The time of each row: from texts, from counts since 1970, from counts since a start, from a clock without a date.

Gives: TimeOf, Clock, Read, KINDS. A clock is carried from one piece of the file to the next: it knows when a count
wrapped round or began anew and when midnight passed. Rows whose time cannot be known are bad, with a reason.
Limits: which columns hold the time, and how, is decided in times.py.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from bankwright.logbook.elsewhere.moments import DAY, moments
from bankwright.logbook.elsewhere.numbers import NumberForm, numbers_in
from bankwright.logbook.elsewhere.zones import Night, Zone, to_utc

__all__ = ["KINDS", "SHEET_DAY", "Clock", "Read", "TimeOf"]

Kind = Literal["moment", "epoch", "sheet days", "elapsed", "clock"]
KINDS: tuple[Kind, ...] = ("moment", "epoch", "sheet days", "elapsed", "clock")
# before it a clock was never set: no lithium bank was logged then; after the last, a count is no time; our choice
_SET, _LAST = (int(np.datetime64(day, "ms").astype(np.int64)) for day in ("2000-01-02", "2199-12-31"))
_LONGEST = 1e10  # s, some 300 years: a longer count is no time
SHEET_DAY = 25569  # days from a spreadsheet's day nought, 1899-12-30, to 1970-01-01; common practice, no source


@dataclass(frozen=True, slots=True)
class TimeOf:
    """How the time of a row is told."""

    columns: tuple[int, ...]  # one; or date and clock
    kind: Kind = "moment"
    order: str = "ymd"  # of a date's numbers, where they do not say it themselves
    unit: float = 1.0  # s a count: epoch, elapsed
    zone: str = ""  # "": every text has its own, or it is open
    follows: bool = True  # the clock is changed with the season
    start: tuple[
        str, ...
    ] = ()  # when an elapsed time or a clock without a date begins; one more for each new beginning
    wraps: float = 0.0  # counts after which an elapsed time begins again at nought by itself; 0: never


@dataclass(frozen=True, slots=True)
class Read:
    """Times of rows."""

    ms: np.ndarray  # (n,) int64 since 1970, UTC
    why: np.ndarray  # (n,) int8: 0 good, 1 no time, 2 unknown since a new beginning, 3 the logger's clock was not set
    unsure: np.ndarray  # (n,) bool: may be an hour off


@dataclass(slots=True)
class Clock:
    """Reads times, piece after piece."""

    how: TimeOf
    form: NumberForm = field(default_factory=NumberForm)
    night: Night = field(default_factory=Night)
    last: float | None = None  # last count, or last clock time in ms
    added: float = 0.0  # counts, or days, to add since it wrapped
    segment: int = 0  # how often it began anew
    wrapped: int = 0

    def read(self, texts: Sequence[Sequence[str] | np.ndarray]) -> Read:
        """Times of rows, from the texts of the time's columns."""
        read = self._read(texts)
        if self.how.kind in ("moment", "epoch", "sheet days"):
            unset = (read.why == 0) & (read.ms < _SET)
            read.why[unset] = 3
            read.why[(read.why == 0) & (read.ms >= _LAST)] = 1
        return read

    def _read(self, texts: Sequence[Sequence[str] | np.ndarray]) -> Read:
        how = self.how
        if how.kind in ("moment", "clock"):
            if len(texts) == 1:
                return self._of_texts(texts[0])
            return self._of_texts([f"{a.strip()} {b.strip()}" for a, b in zip(*texts, strict=True)])
        value, bad = numbers_in(texts[0], self.form)
        bad |= np.isnan(value)
        if how.kind == "elapsed" and bad.any():
            value, bad = _hours(texts[0], value, bad, how.unit)
        bad |= ~(np.abs(np.where(bad, 0.0, value)) * how.unit < _LONGEST)
        if how.kind == "elapsed":
            return self._of_counts(value, bad)
        if how.kind == "sheet days":
            local = np.round((np.where(bad, SHEET_DAY, value) - SHEET_DAY) * DAY / 1000) * 1000
            return self._local(local.astype(np.int64), bad)
        ms = np.round(np.where(bad, 0.0, value) * how.unit * 1000).astype(np.int64)
        return Read(ms, bad.astype(np.int8), np.zeros(len(ms), bool))

    def _of_texts(self, texts: Sequence[str] | np.ndarray) -> Read:
        found = moments([text.strip() for text in texts], self.how.order)
        if self.how.kind == "clock":
            return self._of_clock(found.local, found.bad)
        own = ~np.isnan(found.offset)
        if own.all() and len(own):
            ms = found.local - (found.offset * 60_000).astype(np.int64)
            return Read(ms, found.bad.astype(np.int8), np.zeros(len(ms), bool))
        read = self._local(found.local, found.bad)
        if own.any():
            read.ms[own] = found.local[own] - (found.offset[own] * 60_000).astype(np.int64)
        return read

    def _local(self, local: np.ndarray, bad: np.ndarray) -> Read:
        """Local times in the zone; an open zone is shown as if it were UTC."""
        unsure = np.zeros(len(local), bool)
        bad = bad | (local < 0) | (local > _LAST)
        ms = local.copy()
        if self.how.zone:
            good = ~bad
            ms[good], unsure[good] = to_utc(local[good], Zone(self.how.zone, self.how.follows), self.night)
        return Read(ms, bad.astype(np.int8), unsure)

    def _of_clock(self, clock: np.ndarray, bad: np.ndarray) -> Read:
        """A clock without a date: each time that it falls back by half a day or more, midnight has passed."""
        local = clock.copy()
        good = np.flatnonzero(~bad)
        times = clock[good].astype(np.float64)
        if len(good):
            before = np.r_[self.last if self.last is not None else times[0], times[:-1]]
            days = self.added + np.cumsum(times - before < -DAY / 2)
            local[good] = clock[good] + (days * DAY).astype(np.int64)
            self.last, self.added = float(times[-1]), float(days[-1])
        first = moments(list(self.how.start[:1]), "ymd").local if self.how.start else np.zeros(1, np.int64)
        return self._local(local + int(first[0]) // DAY * DAY, bad)

    def _of_counts(self, value: np.ndarray, bad: np.ndarray) -> Read:
        """Counts since a start: they wrap round, or begin anew."""
        why = bad.astype(np.int8)
        good = np.flatnonzero(~bad)
        counts = value[good]
        before = np.r_[self.last if self.last is not None else counts[:1], counts[:-1]][: len(counts)]
        added, segment = np.full(len(counts), self.added), np.full(len(counts), self.segment)
        for row in np.flatnonzero(counts < before).tolist():
            kind = _fall(float(before[row]), float(counts[row]), self.how.wraps)
            if kind == "wrap":
                added[row:] += self.how.wraps
                self.wrapped += 1
            elif kind == "anew":
                added[row:] = 0.0
                segment[row:] += 1
        if len(counts):
            self.last, self.added, self.segment = float(counts[-1]), float(added[-1]), int(segment[-1])
        starts = _starts(self.how)
        known = segment < len(starts)
        why[good[~known]] = 2
        base = np.array([*starts, 0], np.int64)[np.minimum(segment, len(starts))]
        local = np.zeros(len(value), np.int64)
        local[good] = base + np.round((counts + added) * self.how.unit * 1000).astype(np.int64)
        ms = local
        if self.how.zone and known.any():
            # the starts are local times; from them on the count goes on evenly
            zone = Zone(self.how.zone, self.how.follows)
            shift = np.array([int(to_utc(np.array([s]), zone, Night())[0][0]) - s for s in starts] + [0], np.int64)
            ms[good] += shift[np.minimum(segment, len(starts))]
        return Read(ms, why, np.zeros(len(ms), bool))


def _fall(before: float, now: float, wraps: float) -> str:
    """What a count that falls means: it wrapped, it began anew, or two rows are exchanged."""
    if wraps and before > 0.9 * wraps and now < 0.1 * wraps:
        return "wrap"
    return "anew" if now < 0.5 * before else ""


def _starts(how: TimeOf) -> list[int]:
    """Local times, ms, at which the counts began; without any, the first at nought."""
    if not how.start:
        return [0]
    found = moments(list(how.start), "ymd")
    return [
        int(local - (0 if np.isnan(offset) else offset * 60_000))
        for local, offset in zip(found.local, found.offset, strict=True)
    ]


def _hours(
    texts: Sequence[str] | np.ndarray, value: np.ndarray, bad: np.ndarray, unit: float
) -> tuple[np.ndarray, np.ndarray]:
    """Elapsed times written as 12:34:56, which may pass 24 hours, as counts."""
    found = moments([str(text).strip() for text in texts], "ymd")
    right = bad & ~found.bad
    value = value.copy()
    value[right] = found.local[right] / 1000 / unit
    return value, bad & found.bad
