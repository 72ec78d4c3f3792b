"""Questions: one or several signals over a stretch of time, as columns.

Gives: pieces(), gathered(). Rows of one start of the machine stay in the order of its own clock; starts follow in the
order of time. What of several things was read at different moments gets a row each, or is laid on a common grid. A gap
stays a gap: quality ABSENT where nothing was read at that moment,
DAMAGED where something was stored that cannot be read.
Limits: sums by minute and hour are in rollup.py.
"""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol, TypeVar

import numpy as np

from bankwright.forms.faults import Fault
from bankwright.forms.readings import Columns
from bankwright.logbook.errors import EntryRefused
from bankwright.logbook.telemetry.block import belongs, one_signal, times_of
from bankwright.logbook.telemetry.boots import Boot
from bankwright.logbook.telemetry.frames import Frame
from bankwright.logbook.telemetry.hot import ABSENT, DAMAGED, hot_boots, hot_rows
from bankwright.logbook.telemetry.packing import MISSING, in_units
from bankwright.logbook.telemetry.sums import HOUR
from bankwright.logbook.telemetry.twice import passed_twice

__all__ = ["SPANS", "Ask", "Asked", "Part", "Wanted", "asked_of", "asked_of_all", "gathered", "pieces", "read_only"]

T = TypeVar("T")


class Ask(Protocol):
    """Runs a question on the connection, while nobody else uses it."""

    def __call__(self, question: Callable[[sqlite3.Connection], T], /) -> T:
        """Give the answer."""
        ...


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked: a quantity at places, in [start, end) s since 1970, laid on a grid of so many s."""

    quantity: str
    at: tuple[str, ...]
    start: float
    end: float
    grid: float | None = None

    def __post_init__(self) -> None:
        """Refuse a stretch or a grid that is none."""
        if math.isnan(self.start) or math.isnan(self.end) or not (self.grid is None or self.grid > 0):
            words = f"from {self.start} to {self.end} on a grid of {self.grid} s is no stretch"
            raise EntryRefused(Fault("start", "wrong-stretch", words))

    def span_ms(self, boot: Boot) -> tuple[int, int]:
        """The stretch on the own clock of one start: [low, high)."""
        return _ms(self.start) - boot.shift_ms, _ms(self.end) - boot.shift_ms


@dataclass(frozen=True, slots=True)
class Wanted:
    """The signals of one frame that are asked for."""

    frame: Frame
    positions: tuple[int, ...]
    columns: tuple[int, ...]  # where they go in the answer


@dataclass(frozen=True, slots=True)
class Part:
    """Rows of some signals: own clock, values, quality."""

    mono_ms: np.ndarray  # (row,)
    value: np.ndarray  # (row, column of the answer that this frame has)
    quality: np.ndarray
    columns: tuple[int, ...]

    def between(self, low: int, high: int) -> Part:
        """Rows with own clock in [low, high)."""
        inside = (self.mono_ms >= low) & (self.mono_ms < high)
        if inside.all():
            return self
        return Part(self.mono_ms[inside], self.value[inside], self.quality[inside], self.columns)


_Block = tuple[Wanted, int, int, int]  # number of the block, own clock of its first and its last row


@dataclass(frozen=True, slots=True)
class _Found:
    """What one start of the machine has of it: blocks by number and span, and hot rows."""

    boot: Boot
    blocks: list[_Block]
    hot: list[Part]


def _ms(seconds: float) -> int:
    return math.ceil(min(max(seconds * 1000, -(2.0**60)), 2.0**60))


def asked_of(frames: Mapping[int, Frame], quantity: str, at: Sequence[str]) -> list[Wanted]:
    """Which frames have any of these signals, and where."""
    return asked_of_all(frames, [(quantity, name) for name in at])


def asked_of_all(frames: Mapping[int, Frame], signals: Sequence[tuple[str, str]]) -> list[Wanted]:
    """The same for signals of several quantities, (quantity, place) each, in the order of the columns."""
    found = []
    for frame in frames.values():
        own = {(signal.quantity, signal.at): position for position, signal in reversed([*enumerate(frame.signals)])}
        has = [(own[signal], k) for k, signal in enumerate(signals) if signal in own]
        if has:
            found.append(Wanted(frame, tuple(p for p, _ in has), tuple(k for _, k in has)))
    return found


def gathered(
    connection: sqlite3.Connection, boots: Sequence[Boot], wanted: Sequence[Wanted], asked: Asked
) -> list[_Found]:
    """Look up, at one moment, every block and every hot row of what is asked."""
    found, live = [], hot_boots(connection)
    for boot in boots:
        low, high = asked.span_ms(boot)
        blocks = [
            (want, *row)
            for want in wanted
            for row in connection.execute(SPANS, (want.frame.number, boot.number, low - HOUR, high, low))
        ]
        hot = [_hot_part(connection, want, boot, low, high) for want in wanted if boot.number in live]
        hot = [part for part in hot if len(part.mono_ms)]
        if blocks or hot:
            found.append(_Found(boot, blocks, hot))
    return found


SPANS = """SELECT block_no, mono_first, mono_last FROM sealed INDEXED BY sealed_span
    WHERE frame_no = ? AND boot_no = ? AND mono_first >= ? AND mono_first < ? AND mono_last >= ?"""


def _hot_part(connection: sqlite3.Connection, want: Wanted, boot: Boot, low: int, high: int) -> Part:
    rows, _ = hot_rows(connection, want.frame, boot, low, high)
    return _part(want, rows.mono_ms, [(rows.steps[:, p], rows.quality[:, p]) for p in want.positions])


def _part(want: Wanted, mono: np.ndarray, signals: list[tuple[np.ndarray, np.ndarray]]) -> Part:
    steps = [want.frame.signals[position].step for position in want.positions]
    value = [in_units(numbers, step) for (numbers, _), step in zip(signals, steps, strict=True)]
    return Part(mono, np.stack(value, axis=1), np.stack([q for _, q in signals], axis=1), want.columns)


def pieces(
    ask: Ask, found: Sequence[_Found], asked: Asked, twice: list[tuple[float, float]] | None = None
) -> Iterator[Columns]:
    """Give columns hour by hour; an hour with nothing gives nothing.

    Into `twice` go stretches, s since 1970, that the clock of a source passed twice.
    """
    for one in found:
        low, high = asked.span_ms(one.boot)
        kept: dict[int, Part] = {}
        for hour, blocks in sorted(_hours(one).items()):
            begin = hour * HOUR - one.boot.shift_ms
            span = max(begin, low), min(begin + HOUR, high)
            kept = {block[1]: kept.get(block[1]) or _block_part(ask, block, one.boot) for block in blocks}
            if twice is not None:
                twice += _twice(blocks, kept, one.boot)
            parts = [part.between(*span) for part in (*kept.values(), *one.hot)]
            parts = [part for part in parts if len(part.mono_ms)]
            if parts:
                yield _columns(parts, one.boot, asked)


def _twice(blocks: Sequence[_Block], parts: Mapping[int, Part], boot: Boot) -> Iterator[tuple[float, float]]:
    """Of one hour; blocks of a frame stand in the order they came."""
    for frame in dict.fromkeys(want.frame.number for want, *_ in blocks):
        own = [parts[number] for want, number, *_ in sorted(blocks, key=lambda b: b[1]) if want.frame.number == frame]
        mono, value = (np.concatenate([getattr(part, name) for part in own]) for name in ("mono_ms", "value"))
        for low, high in passed_twice(mono, value):
            yield (low + boot.shift_ms) / 1000, (high + boot.shift_ms) / 1000


def _hours(found: _Found) -> dict[int, list[_Block]]:
    """Hours of the right time that have anything, each with its blocks."""
    shift = found.boot.shift_ms
    hours: dict[int, list[_Block]] = {}
    for block in found.blocks:
        for hour in range((block[2] + shift) // HOUR, (block[3] + shift) // HOUR + 1):
            hours.setdefault(hour, []).append(block)
    for part in found.hot:
        for hour in np.unique((part.mono_ms + shift) // HOUR).tolist():
            hours.setdefault(hour, [])
    return hours


def _block_part(ask: Ask, block: _Block, boot: Boot) -> Part:
    """Decode the wanted signals of a block; what is damaged is said so, at the times that are still known."""
    want, number, first, last = block
    row = ask(lambda c: c.execute("SELECT block FROM sealed WHERE block_no = ?", (number,)).fetchone())
    data = row[0] if row and isinstance(row[0], bytes) else b""
    width = len(want.frame.signals)
    try:
        mono = times_of(data if belongs(data, want.frame, boot.id) else b"")
    except ValueError:
        mono = np.unique(np.array([first, last], np.int64))
        return _part(want, mono, [_unreadable(len(mono))] * len(want.positions))
    signals = []
    for position in want.positions:
        try:
            signals.append(one_signal(data, position, width))
        except ValueError:
            signals.append(_unreadable(len(mono)))
    return _part(want, mono, signals)


def _unreadable(count: int) -> tuple[np.ndarray, np.ndarray]:
    return np.full(count, MISSING, np.int32), np.full(count, DAMAGED, np.uint8)


def _columns(parts: list[Part], boot: Boot, asked: Asked) -> Columns:
    """Lay parts side by side: rows of the same moment, or of the same slot of the grid, become one."""
    if len(parts) == 1 and asked.grid is None and _is_whole(parts[0], len(asked.at)):
        part = parts[0]
        time = (part.mono_ms + boot.shift_ms) / 1000
        return Columns(asked.quantity, asked.at, *(read_only(each) for each in (time, part.value, part.quality)))
    slot = 1 if asked.grid is None else max(round(asked.grid * 1000), 1)
    keys = [_keys((part.mono_ms + boot.shift_ms) // slot) for part in parts]
    every, place = np.unique(np.concatenate(keys), return_inverse=True)
    value = np.full((len(every), len(asked.at)), np.nan)
    quality = np.full(value.shape, ABSENT, np.uint8)
    time = np.full(len(every), np.iinfo(np.int64).max)
    at = 0
    for part, key in zip(parts, keys, strict=True):
        rows = place[at : at + len(key)]
        at += len(key)
        np.minimum.at(time, rows, part.mono_ms + boot.shift_ms)
        grid = np.ix_(rows, np.array(part.columns))
        fresh = np.isnan(value[grid])
        value[grid] = np.where(fresh, part.value, value[grid])
        quality[grid] = np.where(fresh, part.quality, quality[grid])
    return Columns(asked.quantity, asked.at, read_only(time / 1000), read_only(value), read_only(quality))


def _is_whole(part: Part, count: int) -> bool:
    """Whether it is the answer as it stands: every column in its place, every moment once and in its order."""
    return part.columns == tuple(range(count)) and bool((part.mono_ms[1:] > part.mono_ms[:-1]).all())


def _keys(slots: np.ndarray) -> np.ndarray:
    """Slots made different where one frame has several rows in the same one: none is dropped."""
    order = np.argsort(slots, kind="stable")
    ordered = slots[order]
    begins = np.flatnonzero(np.r_[True, np.diff(ordered) != 0])
    which = np.arange(len(slots)) - np.repeat(begins, np.diff(np.r_[begins, len(slots)]))
    keys = np.empty_like(slots)
    keys[order] = ordered * (1 << 20) + which
    return keys


def read_only(array: np.ndarray) -> np.ndarray:
    """Mark an array as not to be changed."""
    array.flags.writeable = False
    return array
