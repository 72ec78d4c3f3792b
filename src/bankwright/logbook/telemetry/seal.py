"""Sealing: rows of whole hours leave the hot table and become blocks, with their minutes and hours.

Gives: Due, Made, Sealed, due(), packed_rows(), seal_hour(), insert_block(), insert_sums(). Blocks, sums and the
deletion of the rows are one transaction, and each block is read back and compared before: a program that is killed at
any instruction leaves either the rows or the blocks, never both and never neither. An hour waits until the clock of its
start is known to be right, or until that start is a day old, or is over;
a start that is over is sealed to its last row.
Limits: what an hour is worth is in block.py and sums.py.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.logbook.telemetry.block import Rows, packed_block, rows_of, sealed_crc
from bankwright.logbook.telemetry.boots import Boot
from bankwright.logbook.telemetry.frames import Frame
from bankwright.logbook.telemetry.hot import hot_boots
from bankwright.logbook.telemetry.sums import HOUR, MINUTE, hour_bytes, minute_bytes, sums_crc, sums_of

__all__ = ["Due", "Made", "Sealed", "due", "insert_block", "insert_sums", "packed_rows", "seal_hour"]

GRACE = 120_000  # ms that an hour is left open for late rows
WAIT = 24 * HOUR  # that a start waits for its clock to be put right; design choice


@dataclass(frozen=True, slots=True)
class Due:
    """One hour of one start that may be sealed: own clock in [low, high)."""

    boot: Boot
    low_ms: int
    high_ms: int


@dataclass(frozen=True, slots=True)
class Sealed:
    """What one sealing did."""

    blocks: int = 0
    rows: int = 0


@dataclass(frozen=True, slots=True)
class Made:
    """A block that is not stored yet."""

    frame: Frame
    rows: Rows
    block: bytes


def due(connection: sqlite3.Connection, boots: Sequence[Boot], boot_now: int, mono_now: int) -> list[Due]:
    """Hours that may be sealed now, in the order of time."""
    found, live = [], hot_boots(connection)
    for boot in (each for each in boots if each.number in live):
        question = "SELECT DISTINCT (mono_ms + ?) / ? FROM hot WHERE boot_no = ? ORDER BY 1"
        for (hour,) in connection.execute(question, (boot.shift_ms, HOUR, boot.number)):
            low = hour * HOUR - boot.shift_ms
            one = Due(boot, low, low + HOUR)
            if _is_due(one, boot_now, mono_now):
                found.append(one)
    return found


def _is_due(one: Due, boot_now: int, mono_now: int) -> bool:
    if one.boot.number != boot_now:
        return True
    if one.high_ms + GRACE > mono_now:
        return False
    return one.boot.certain is not False or mono_now - one.boot.first_ms >= WAIT


def seal_hour(connection: sqlite3.Connection, made: Sequence[Made], one: Due) -> Sealed:
    """Put the packed rows of one hour in the place of the hot ones; nothing is done where they are hot no more."""
    if not made:
        return Sealed()
    connection.execute("BEGIN IMMEDIATE")
    try:
        is_ours = _take_out(connection, np.concatenate([each.rows.number for each in made]))
        if is_ours:
            for each in made:
                insert_block(connection, each, one.boot, is_numbered=True)
        connection.execute("COMMIT" if is_ours else "ROLLBACK")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
    return Sealed(len(made), sum(len(each.rows) for each in made)) if is_ours else Sealed()


def packed_rows(frame: Frame, boot: Boot, rows: Rows) -> Made:
    """Pack rows and prove it by unpacking them."""
    block = packed_block(frame, rows, boot.number, boot.id, boot.shift_ms)
    back = rows_of(block, len(frame.signals))
    if not all(np.array_equal(getattr(back, name), getattr(rows, name)) for name in Rows.__dataclass_fields__):
        raise ArithmeticError("a block does not unpack to what went into it")
    return Made(frame, rows, block)


def insert_block(connection: sqlite3.Connection, made: Made, boot: Boot, *, is_numbered: bool) -> int:
    """Store a block with its sums; the caller holds the transaction. `is_numbered`: its rows were hot before."""
    rows, block = made.rows, made.block
    span = int(rows.mono_ms.min()), int(rows.mono_ms.max())
    key = (made.frame.number, boot.number, *span, len(rows), int(is_numbered))
    row = (*key, block, sealed_crc(key, block))
    columns = "frame_no, boot_no, mono_first, mono_last, row_count, numbered, block, crc"
    made_row = connection.execute(f"INSERT INTO sealed({columns}) VALUES (?, ?, ?, ?, ?, ?, ?, ?)", row)
    number = int(made_row.lastrowid or 0)
    (stored,) = connection.execute("SELECT block FROM sealed WHERE block_no = ?", (number,)).fetchone()
    if stored != block:
        raise sqlite3.DatabaseError("a block does not read back as it was written")
    insert_sums(connection, number, made.frame, boot, rows)
    return number


def insert_sums(connection: sqlite3.Connection, number: int, frame: Frame, boot: Boot, rows: Rows) -> None:
    """Store the minutes and hours of a block."""
    key = (frame.number, boot.number)
    minutes = sums_of(rows, boot.shift_ms, MINUTE)
    data = minute_bytes(minutes)
    connection.execute(
        "INSERT INTO minute VALUES (?, ?, ?, ?, ?, ?)", _sums_row((*key, int(minutes.start_ms[0]), number), data)
    )
    hours = sums_of(rows, boot.shift_ms, HOUR)
    for bucket, start in enumerate(hours.start_ms.tolist()):
        data = hour_bytes(hours, bucket)
        connection.execute("INSERT INTO hour VALUES (?, ?, ?, ?, ?, ?)", _sums_row((*key, start, number), data))


def _sums_row(key: tuple[int, ...], data: bytes) -> tuple[int | bytes, ...]:
    return (*key, data, sums_crc(key, data))


def _take_out(connection: sqlite3.Connection, numbers: np.ndarray) -> bool:
    """Delete exactly these rows and count them; False when another program took them first."""
    numbers = np.sort(numbers)
    breaks = np.flatnonzero(np.diff(numbers) != 1)
    firsts, lasts = numbers[np.r_[0, breaks + 1]].tolist(), numbers[np.r_[breaks, len(numbers) - 1]].tolist()
    gone = 0
    for span in zip(firsts, lasts, strict=True):
        gone += connection.execute("DELETE FROM hot WHERE row_no BETWEEN ? AND ?", span).rowcount
    connection.execute("UPDATE tally SET last_row = max(last_row, ?), sealed_rows = sealed_rows + ?", (lasts[-1], gone))
    return gone == len(numbers)
