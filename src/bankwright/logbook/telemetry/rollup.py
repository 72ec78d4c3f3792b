"""Questions about minutes and hours: lowest, mean, highest and how many, of one or several signals.

Gives: RollUp, rolled_up(). Sealed stretches are answered from the sums that are kept for ever, the last hours from
their rows. Two stretches that share an hour are put together.
Limits: rows themselves are in query.py; sums are made in sums.py.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.forms.readings import Columns
from bankwright.logbook.telemetry.boots import Boot
from bankwright.logbook.telemetry.hot import ABSENT, DAMAGED, hot_boots, hot_rows
from bankwright.logbook.telemetry.packing import MISSING
from bankwright.logbook.telemetry.query import Asked, Wanted, read_only
from bankwright.logbook.telemetry.sums import HOUR, MINUTE, PARTS, Sums, hour_sums, minute_sums, sums_crc, sums_of

__all__ = ["RollUp", "rolled_up"]


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
            scale = (step, step / PARTS, step)
            parts = [f[:, position] * s for f, s in zip((sums.low, sums.mean, sums.high), scale, strict=True)]
            self.fields.append(np.stack([*parts, count], axis=1))


def rolled_up(
    connection: sqlite3.Connection, boots: Sequence[Boot], wanted: Sequence[Wanted], asked: Asked, every: int
) -> RollUp:
    """Answer at one moment; `every` is MINUTE or HOUR, in ms."""
    table, live = _Table([], [], []), hot_boots(connection)
    for boot in boots:
        low, high = asked.span_ms(boot)
        begin = (low + boot.shift_ms) // every * every - boot.shift_ms
        for want in wanted:
            for sums in _kept(connection, want, boot, (begin, high), every):
                table.add(sums, want, boot.shift_ms)
            if boot.number not in live:
                continue
            rows, _ = hot_rows(connection, want.frame, boot, begin, high)
            if len(rows):
                table.add(sums_of(rows, boot.shift_ms, every), want, boot.shift_ms)
    return _answer(table, asked)


def _kept(
    connection: sqlite3.Connection, want: Wanted, boot: Boot, span: tuple[int, int], every: int
) -> Iterator[Sums]:
    """Sums that are kept, with a beginning in the span; what is damaged counts for nothing and says so."""
    name, width = ("hour" if every == HOUR else "minute"), len(want.frame.signals)
    reach = span[0] if every == HOUR else span[0] - HOUR
    key = (want.frame.number, boot.number)
    columns = "mono_ms, block_no, sums, crc"
    question = f"SELECT {columns} FROM {name} WHERE frame_no = ? AND boot_no = ? AND mono_ms >= ? AND mono_ms < ?"
    found = connection.execute(question, (*key, reach, span[1])).fetchall()
    good = [row for row in found if isinstance(row[2], bytes) and sums_crc((*key, *row[:2]), row[2]) == row[3]]
    if len(good) < len(found):
        bad = [row[0] for row in found if row not in good]
        yield _unreadable(bad if every == HOUR else _minutes_of(bad, boot.shift_ms), width)
    if every == HOUR and good:
        yield hour_sums([row[0] for row in good], [row[2] for row in good], width)
    elif every == MINUTE:
        for row in good:
            yield _between(minute_sums(row[2], width), *span)


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


def _between(sums: Sums, low: int, high: int) -> Sums:
    inside = (sums.start_ms >= low) & (sums.start_ms < high)
    fields = (sums.low, sums.mean, sums.high, sums.count)
    return Sums(sums.start_ms[inside], *(field[inside] for field in fields))


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
