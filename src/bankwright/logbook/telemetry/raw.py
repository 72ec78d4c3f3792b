"""Everything over a stretch of time, row by row, as it was stored: for export and for whoever makes figures anew.

Gives: raw_rows(). A block that cannot be read whole is read as far as it goes.
Limits: one quantity as columns is query.py.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from functools import partial

import numpy as np

from bankwright.logbook.telemetry.block import Rows, belongs
from bankwright.logbook.telemetry.boots import Boot
from bankwright.logbook.telemetry.frames import Frame
from bankwright.logbook.telemetry.hot import hot_boots, hot_frames, rows_left
from bankwright.logbook.telemetry.query import SPANS, Ask, Asked
from bankwright.logbook.telemetry.sums import HOUR

__all__ = ["raw_rows"]


def raw_rows(
    ask: Ask, frames: Mapping[int, Frame], boots: Sequence[Boot], start: float, end: float
) -> Iterator[tuple[Frame, str, int, Rows]]:
    """Give frame, name of the start, its shift (time less own clock, ms) and rows, hour by hour over [start, end)."""
    asked = Asked("", (), start, end)
    for boot in boots:
        low, high = asked.span_ms(boot)
        blocks, hot = ask(partial(_everything, frames=frames, boot=boot, low=low, high=high))
        hours = {(first + boot.shift_ms) // HOUR for _, _, first in blocks}
        hours |= {int(h) for rows in hot.values() for h in np.unique((rows.mono_ms + boot.shift_ms) // HOUR)}
        for hour in sorted(hours):
            begin = hour * HOUR - boot.shift_ms
            for number, frame in frames.items():
                mine = [n for n, f, first in blocks if f == number and begin <= first < begin + HOUR]
                parts = [_inside(_block_rows(ask, block, frame, boot), low, high) for block in mine]
                if number in hot:
                    parts.append(_inside(hot[number], begin, begin + HOUR))
                yield from ((frame, boot.id, boot.shift_ms, rows) for rows in parts if len(rows))


def _everything(
    connection: sqlite3.Connection, frames: Mapping[int, Frame], boot: Boot, low: int, high: int
) -> tuple[list[tuple[int, int, int]], dict[int, Rows]]:
    """Number, frame and first own clock of every block, and the hot rows, at one moment."""
    connection.execute("BEGIN")
    try:
        blocks = [
            (row[0], number, row[1])
            for number in frames
            for row in connection.execute(SPANS, (number, boot.number, low - HOUR, high, low))
        ]
        is_live = boot.number in hot_boots(connection)
        return blocks, hot_frames(connection, frames, boot, low, high) if is_live else {}
    finally:
        connection.execute("ROLLBACK")


def _block_rows(ask: Ask, number: int, frame: Frame, boot: Boot) -> Rows:
    row = ask(lambda c: c.execute("SELECT block FROM sealed WHERE block_no = ?", (number,)).fetchone())
    block = row[0] if row and isinstance(row[0], bytes) else b""
    return rows_left(block if belongs(block, frame, boot.id) else b"", frame)


def _inside(rows: Rows, low: int, high: int) -> Rows:
    inside = (rows.mono_ms >= low) & (rows.mono_ms < high)
    return rows if inside.all() else rows.taken(inside)
