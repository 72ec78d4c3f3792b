"""Questions about minutes and hours: lowest, mean, highest and how many, of one or several signals.

Gives: RollUp, Spans, rolled_up(). Sealed stretches are answered from the sums that are kept for ever, the last hours
from their rows. Two stretches that share an hour are put together.
Limits: rows themselves are in query.py; sums are made in sums.py.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from bankwright.forms.readings import Columns
from bankwright.logbook.telemetry.boots import Boot
from bankwright.logbook.telemetry.hot import ABSENT, DAMAGED, hot_boots, hot_rows
from bankwright.logbook.telemetry.packing import MISSING
from bankwright.logbook.telemetry.query import Asked, Wanted, read_only
from bankwright.logbook.telemetry.sums import HOUR, MINUTE, PARTS, Sums, hour_sums, minute_sums, sums_crc, sums_of

__all__ = ["RollUp", "Spans", "rolled_up"]


@dataclass(frozen=True, slots=True)
class RollUp:
    """Minutes or hours of one quantity; `time` of each is when it begins."""

    low: Columns
    mean: Columns
    high: Columns
    count: np.ndarray  # (time, at): good values in each


@dataclass
class _Table:
    """Sums that were found, one column of the answer after the other."""

    time: list[np.ndarray]
    column: list[np.ndarray]
    fields: list[np.ndarray]  # (bucket, 4): low, mean, high in the unit inside, count

    def add(self, sums: Sums, want: Wanted, shift_ms: int) -> None:
        for position, column in zip(want.positions, want.columns, strict=True):
            step = want.frame.signals[position].step
            count = sums.count[:, position]
            self.time.append(sums.start_ms + shift_ms)
            self.column.append(np.full(len(count), column))
            fields = np.empty((len(count), 4))
            parts = (sums.low, step), (sums.mean, step / PARTS), (sums.high, step), (sums.count, 1)
            for k, (field, scale) in enumerate(parts):
                np.multiply(field[:, position], scale, out=fields[:, k])
            self.fields.append(fields)


@dataclass(frozen=True, slots=True)
class Spans:
    """Stretches of one start's own clock, [low, high) ms each, that neither meet nor overlap."""

    ends: np.ndarray  # (2 stretches,) low, high, low, high ..

    @classmethod
    def of(cls, asked: Sequence[Asked], boot: Boot, every: int) -> Spans:
        """Whole buckets of what is asked; stretches that meet are one."""
        joined: list[list[int]] = []
        for low, high in sorted(each.span_ms(boot) for each in asked):
            begin = (low + boot.shift_ms) // every * every - boot.shift_ms
            if joined and begin <= joined[-1][1]:
                joined[-1][1] = max(joined[-1][1], high)
            elif begin < high:
                joined.append([begin, high])
        return cls(np.array(joined, np.int64).reshape(-1))

    def __iter__(self) -> Iterator[tuple[int, int]]:
        """One after the other."""
        return iter([(low, high) for low, high in self.ends.reshape(-1, 2).tolist()])

    def hold(self, times: np.ndarray) -> np.ndarray:
        """Whether each time lies in one."""
        return np.asarray(np.searchsorted(self.ends, times, "right") % 2 == 1)


def rolled_up(
    connection: sqlite3.Connection, boots: Sequence[Boot], wanted: Sequence[Wanted], asked: Sequence[Asked], every: int
) -> RollUp:
    """Answer at one moment; `every` is MINUTE or HOUR, in ms; `asked`: stretches of the same signals."""
    table, live = _Table([], [], []), hot_boots(connection)
    for boot in boots:
        spans = Spans.of(asked, boot, every)
        for want in wanted:
            for sums in _kept(connection, want, boot, spans, every):
                table.add(sums, want, boot.shift_ms)
            if boot.number not in live:
                continue
            for span in spans:
                rows, _ = hot_rows(connection, want.frame, boot, *span)
                if len(rows):
                    table.add(sums_of(rows, boot.shift_ms, every), want, boot.shift_ms)
    return _answer(table, asked[0])


def _kept(connection: sqlite3.Connection, want: Wanted, boot: Boot, spans: Spans, every: int) -> Iterator[Sums]:
    """Sums that are kept, with a beginning in the spans; what is damaged counts for nothing and says so."""
    name, width = ("hour" if every == HOUR else "minute"), len(want.frame.signals)
    key = (want.frame.number, boot.number)
    columns = "mono_ms, block_no, sums, crc"
    question = f"SELECT {columns} FROM {name} WHERE frame_no = ? AND boot_no = ? AND mono_ms >= ? AND mono_ms < ?"
    found: dict[tuple[int, int], tuple[Any, ...]] = {}
    for low, high in spans:
        reach = low if every == HOUR else low - HOUR
        found |= {row[:2]: row for row in connection.execute(question, (*key, reach, high))}
    rows = list(found.values())
    good = [row for row in rows if isinstance(row[2], bytes) and sums_crc((*key, *row[:2]), row[2]) == row[3]]
    if len(good) < len(rows):
        bad = [row[0] for row in rows if row not in good]
        yield _unreadable(bad if every == HOUR else _minutes_of(bad, boot.shift_ms), width)
    if every == HOUR and good:
        yield hour_sums([row[0] for row in good], [row[2] for row in good], width)
    elif every == MINUTE:
        yield minute_sums([row[2] for row in good], width, spans.hold)


def _minutes_of(starts: list[int], shift_ms: int) -> list[int]:
    """Every minute from each of these to the end of its hour: those of a block whose minutes cannot be read."""
    return [
        minute
        for start in starts
        for minute in range(start, ((start + shift_ms) // HOUR + 1) * HOUR - shift_ms, MINUTE)
    ]


def _unreadable(starts: list[int], width: int) -> Sums:
    field = np.full((len(starts), width), MISSING, np.int64)
    return Sums(np.array(starts, np.int64), field, field, field, np.full_like(field, -1))


def _answer(table: _Table, asked: Asked) -> RollUp:
    time = np.concatenate([*table.time, np.empty(0, np.int64)])
    column = np.concatenate([*table.column, np.empty(0, np.int64)]).astype(np.int64)
    fields = np.concatenate([*table.fields, np.empty((0, 4))])
    every, row = np.unique(time, return_inverse=True)
    shape = (len(every), len(asked.at))
    low, high, total = np.full(shape, np.inf), np.full(shape, -np.inf), np.zeros(shape)
    count = np.zeros(shape, np.int64)
    quality = np.full(shape, ABSENT, np.uint8)
    here, where = fields[:, 3] > 0, (row, column)
    quality[row[fields[:, 3] >= 0], column[fields[:, 3] >= 0]] = 0
    quality[row[fields[:, 3] < 0], column[fields[:, 3] < 0]] = DAMAGED
    where = (row[here], column[here])
    np.minimum.at(low, where, fields[here, 0])
    np.maximum.at(high, where, fields[here, 2])
    np.add.at(total, where, fields[here, 1] * fields[here, 3])
    np.add.at(count, where, fields[here, 3].astype(np.int64))
    none = count == 0
    seconds, good = read_only(every / 1000), read_only(quality)
    least, mean, most = (
        Columns(asked.quantity, asked.at, seconds, read_only(np.where(none, np.nan, value)), good)
        for value in (low, total / np.maximum(count, 1), high)
    )
    return RollUp(least, mean, most, read_only(count))
