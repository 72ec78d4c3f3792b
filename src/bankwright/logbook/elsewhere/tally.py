"""What became of the rows of a foreign file: kept, rejected with reasons, marked, gaps, segments.

Gives: Tally, Rejected, TimeGap, Segment, Held. Counts go on from piece to piece and need the same memory for any file.
Limits: nothing is judged here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

__all__ = ["Held", "Rejected", "Segment", "Tally", "TimeGap"]

_SHOWN, _GAPS, _SEGMENTS = 3, 20, 24
GRID = 60_000  # ms; a row on a whole minute was made by a plan, one between two by an event; our choice


@dataclass(slots=True)
class Rejected:
    """Rows that were not kept for one reason."""

    reason: str
    count: int = 0
    lines: list[int] = field(default_factory=list)  # the first few
    example: str = ""


@dataclass(frozen=True, slots=True)
class TimeGap:
    """A step between two rows that is longer than usual."""

    start: float  # s since 1970
    seconds: float
    at: str = ""


@dataclass(slots=True)
class Segment:
    """Rows of one item that were made in the same way."""

    at: str
    quantity: str
    kind: str  # by plan | by change
    rows: int
    start: float
    end: float
    integral: float = 0.0  # of the value over time, each held until the next
    held: float = 0.0  # s that a value was held

    @property
    def mean(self) -> float | None:
        """Time-weighted mean."""
        return self.integral / self.held if self.held > 0 else None


@dataclass(slots=True)
class Held:
    """One item of a long file, carried from piece to piece."""

    at: str
    quantity: str
    time: int | None = None  # of the last row, ms
    value: float = float("nan")
    gap_since: int | None = None
    segments: list[Segment] = field(default_factory=list)


@dataclass(slots=True)
class Tally:
    """Everything that is counted while a file is read."""

    rows: int = 0  # that are no blank line, comment or heading
    kept: int = 0
    rejected: dict[str, Rejected] = field(default_factory=dict)
    marked: Counter[str] = field(default_factory=Counter)  # values kept as missing or doubtful, by reason
    marked_at: dict[str, int] = field(default_factory=dict)  # line of the first of each
    first: int | None = None  # ms
    last: int | None = None
    backwards: int = 0
    repeated: int = 0
    gap_count: int = 0
    gaps: list[TimeGap] = field(default_factory=list)  # the longest
    held: dict[str, Held] = field(default_factory=dict)
    unsure: int = 0
    low: dict[str, float] = field(default_factory=dict)
    high: dict[str, float] = field(default_factory=dict)
    counts: Counter[str] = field(default_factory=Counter)
    over_time: dict[str, float] = field(default_factory=dict)  # currents and powers, times seconds
    _before: dict[str, int] = field(default_factory=dict)
    _flow: dict[str, tuple[int, float]] = field(default_factory=dict)

    def reject(self, reason: str, lines: Iterable[int], example: str = "") -> None:
        """Count rows that are not kept."""
        one = self.rejected.setdefault(reason, Rejected(reason))
        for line in lines:
            one.count += 1
            if len(one.lines) < _SHOWN:
                one.lines.append(line)
        one.example = one.example or example[:120]

    def mark(self, reason: str, count: int, line: int) -> None:
        """Count values that are kept as missing, or kept and doubted."""
        if count:
            self.marked[reason] += count
            self.marked_at.setdefault(reason, line)

    def times(self, ms: np.ndarray, usual: float, key: str = "") -> None:
        """Take note of the times of kept rows; `usual` step in s; rows of one `key` follow each other."""
        if not len(ms):
            return
        before = self._before.get(key)
        step = np.diff(ms, prepend=int(ms[0]) if before is None else before)
        self.backwards += int((step < 0).sum())
        self.repeated += int((step[0 if before is not None else 1 :] == 0).sum())
        long = np.flatnonzero(step > 1500 * usual)
        self.gap_count += len(long)
        for row in long[np.argsort(step[long])[-_GAPS:]].tolist():
            self.gaps.append(TimeGap((int(ms[row]) - int(step[row])) / 1000, int(step[row]) / 1000))
        self.gaps = sorted(self.gaps, key=lambda gap: -gap.seconds)[:_GAPS]
        self.span(ms)
        self._before[key] = int(ms[-1])

    def span(self, ms: np.ndarray) -> None:
        """Take note of the first and the last time."""
        if len(ms):
            self.first = int(ms.min()) if self.first is None else min(self.first, int(ms.min()))
            self.last = int(ms.max()) if self.last is None else max(self.last, int(ms.max()))

    def flow(self, key: str, ms: np.ndarray, values: np.ndarray, usual: float) -> None:
        """Add a current or a power up over time, each value held until the next, but never over a gap; `usual` s."""
        if not len(ms):
            return
        time, value = self._flow.get(key, (int(ms[0]), 0.0))
        step = np.clip(np.diff(ms, prepend=time), 0, 1500 * usual) / 1000
        before = np.r_[value, values[:-1]]
        self.over_time[key] = self.over_time.get(key, 0.0) + float(np.nansum(before * step))
        self._flow[key] = (int(ms[-1]), float(values[-1]))

    def range_of(self, at: str, values: np.ndarray) -> None:
        """Lowest and highest of a signal."""
        good = values[~np.isnan(values)]
        self.counts[at] += len(good)
        if len(good):
            self.low[at] = min(self.low.get(at, np.inf), float(good.min()))
            self.high[at] = max(self.high.get(at, -np.inf), float(good.max()))

    def hold(self, key: str, quantity: str, at: str, ms: np.ndarray, values: np.ndarray) -> None:
        """Follow one item of a long file: each value is held until the next, a missing one begins a gap."""
        item = self.held.setdefault(key, Held(at, quantity))
        for row, time in enumerate(ms.tolist()):
            value = float(values[row])
            self._segment(item, time, value)
            self._gap(item, time, value)
            item.time, item.value = time, value

    def _segment(self, item: Held, time: int, value: float) -> None:
        if np.isnan(value):
            return
        kind = "by plan" if time % GRID == 0 else "by change"
        last = item.segments[-1] if item.segments else None
        if last is None or (kind != last.kind and len(item.segments) < _SEGMENTS):
            item.segments.append(Segment(item.at, item.quantity, kind, 1, time / 1000, time / 1000))
            return
        if item.time is not None and not np.isnan(item.value) and time > item.time:
            seconds = (time - item.time) / 1000
            last.integral += item.value * seconds
            last.held += seconds
        last.rows += 1
        last.end = time / 1000

    def _gap(self, item: Held, time: int, value: float) -> None:
        if np.isnan(value):
            item.gap_since = time if item.gap_since is None else item.gap_since
        elif item.gap_since is not None:
            self.gap_count += 1
            self.gaps.append(TimeGap(item.gap_since / 1000, (time - item.gap_since) / 1000, item.at))
            self.gaps = sorted(self.gaps, key=lambda gap: -gap.seconds)[:_GAPS]
            item.gap_since = None
