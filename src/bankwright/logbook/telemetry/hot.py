"""Rows as they come: what a caller hands over, checked and put into frames, and the hot table.

Gives: Draft, drafts_of(), insert_rows(), hot_boots(), hot_rows(), hot_frames(), next_row(), rows_left(), ABSENT,
DAMAGED. One commit a call; the caller holds the write transaction.
Limits: nothing is judged here beyond what cannot be stored; sealing is seal.py.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass

import numpy as np

from bankwright.forms.faults import Fault
from bankwright.forms.readings import Columns
from bankwright.logbook.errors import EntryRefused
from bankwright.logbook.telemetry.block import Rows, one_signal, rows_of, said_of, times_of
from bankwright.logbook.telemetry.boots import Boot
from bankwright.logbook.telemetry.frames import Frame, Signal, step_of, thing_of
from bankwright.logbook.telemetry.packing import MISSING, cells_bytes, cells_of, in_steps, is_whole, owner_crc, row_crc

__all__ = [
    "ABSENT",
    "DAMAGED",
    "Draft",
    "Finer",
    "drafts_of",
    "hot_boots",
    "hot_frames",
    "hot_rows",
    "insert_rows",
    "next_row",
    "rows_left",
]

DAMAGED, ABSENT = 254, 255  # quality: was stored and cannot be read; nothing was read at that time
_Part = tuple[Signal, np.ndarray, np.ndarray]


@dataclass(frozen=True, slots=True)
class Draft:
    """Rows of one frame that are not stored yet."""

    signals: tuple[Signal, ...]
    time: np.ndarray  # (row,) s
    steps: np.ndarray  # (row, signal) int32
    quality: np.ndarray  # (row, signal) uint8


Finer = float | Mapping[str, float] | None  # a storage step of the source: of all, or by quantity


def drafts_of(columns: Iterable[Columns], step: Finer = None) -> list[Draft]:
    """Put columns into frames: what is read of one thing at the same times stands in one frame.

    Refused: shapes that do not fit, a time that is no number, an unknown quantity,
    a value that cannot be kept, one signal twice.
    """
    groups: dict[tuple[str, bytes], tuple[np.ndarray, list[_Part]]] = {}
    for each in columns:
        time = _time(each)
        for at, *part in _parts(each, step):
            key = (thing_of(at), time.tobytes())
            groups.setdefault(key, (time, []))[1].append(tuple(part))  # type: ignore[arg-type]
    return [_draft(time, parts) for time, parts in groups.values() if len(time)]


def _time(columns: Columns) -> np.ndarray:
    time = np.asarray(columns.time, dtype=np.float64)
    shape = (len(time), len(columns.at))
    if time.ndim != 1 or np.shape(columns.value) != shape or np.shape(columns.quality) != shape:
        found = f"{np.shape(columns.time)}, {np.shape(columns.value)}, {np.shape(columns.quality)}"
        raise EntryRefused(_fault(columns, "wrong-shape", f"time, value and quality of shapes {found} do not fit"))
    if not np.isfinite(time).all():
        raise EntryRefused(_fault(columns, "wrong-time", "a time is no number"))
    return time


def _fault(columns: Columns, code: str, words: str) -> Fault:
    return Fault(f"{columns.quantity} at {', '.join(columns.at[:3])}", code, words)


def _parts(columns: Columns, finer: Finer) -> Iterable[tuple[str, Signal, np.ndarray, np.ndarray]]:
    step = step_of(columns.quantity, finer.get(columns.quantity) if isinstance(finer, Mapping) else finer)
    value, quality = np.asarray(columns.value, np.float64), np.asarray(columns.quality)
    if not ((quality >= 0) & (quality < DAMAGED) & (quality == np.floor(quality))).all():
        words = f"a quality is a whole number from 0 to {DAMAGED - 1}"
        raise EntryRefused(_fault(columns, "wrong-quality", words))
    for k, at in enumerate(columns.at):
        if not at:
            raise EntryRefused(_fault(columns, "no-place", "a place without a name"))
        signal = Signal(columns.quantity, at, step)
        yield at, signal, in_steps(value[:, k], signal), quality[:, k].astype(np.uint8)


def _draft(time: np.ndarray, parts: list[_Part]) -> Draft:
    parts = sorted(parts, key=lambda part: part[0])
    signals = tuple(signal for signal, _, _ in parts)
    if len({(signal.quantity, signal.at) for signal in signals}) < len(signals):
        names = [f"{signal.quantity} at {signal.at}" for signal in signals]
        twice = next(name for name in names if names.count(name) > 1)
        raise EntryRefused(Fault(twice, "signal-twice", f"{twice} is there twice for the same times"))
    steps = np.stack([part[1] for part in parts], axis=1)
    return Draft(signals, time, steps, np.stack([part[2] for part in parts], axis=1))


def rows_left(block: bytes, frame: Frame) -> Rows:
    """Rows of a block as far as its columns hold together, the others marked DAMAGED; none when its times are gone."""
    width = len(frame.signals)
    with suppress(ValueError):
        return rows_of(block, width)
    mono = np.empty(0, np.int64)
    with suppress(ValueError):
        mono = times_of(block)
    steps, quality = np.full((len(mono), width), MISSING, np.int32), np.full((len(mono), width), DAMAGED, np.uint8)
    for k in range(width if len(mono) else 0):
        with suppress(ValueError):
            steps[:, k], quality[:, k] = one_signal(block, k, width)
    shift = 0
    with suppress(ValueError):
        shift = said_of(block).shift_ms
    return Rows(np.zeros(len(mono), np.int64), mono, mono + shift, np.full(len(mono), -1, np.int8), steps, quality)


def next_row(connection: sqlite3.Connection) -> int:
    """Number of the next row; numbers have no gaps and are never given twice."""
    (hot,) = connection.execute("SELECT coalesce(max(row_no), 0) FROM hot").fetchone()
    (gone,) = connection.execute("SELECT last_row FROM tally").fetchone()
    return int(max(hot, gone)) + 1


def insert_rows(
    connection: sqlite3.Connection,
    drafts: Sequence[tuple[Frame, Draft]],
    boot: tuple[int, str],
    shift_ms: int,
    known: int | None,
) -> tuple[int, int]:
    """Store drafts of stored frames, in the order of time; first and last number of the rows."""
    owners = [owner_crc(frame, boot[1]) for frame, _ in drafts]
    first = number = next_row(connection)
    order = [(round(time * 1000), k, row) for k, (_, draft) in enumerate(drafts) for row, time in enumerate(draft.time)]
    rows = []
    for mono, k, row in sorted(order, key=lambda item: item[0]):
        frame, draft = drafts[k]
        cells = cells_bytes(draft.steps[row])
        quality = draft.quality[row].tobytes() if draft.quality[row].any() else None
        key = (number, frame.number, boot[0], mono, mono + shift_ms, known)
        rows.append((*key, cells, quality, row_crc(owners[k], key, cells, quality)))
        number += 1
    connection.executemany("INSERT INTO hot VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", rows)
    return first, number - 1


def hot_boots(connection: sqlite3.Connection) -> set[int]:
    """Starts of the machine that have hot rows: mostly one."""
    return {row[0] for row in connection.execute("SELECT DISTINCT boot_no FROM hot")}


def hot_rows(
    connection: sqlite3.Connection, frame: Frame, boot: Boot, low_ms: int, high_ms: int
) -> tuple[Rows, list[int]]:
    """Hot rows of a frame with own clock in [low, high); and the numbers of those whose checksum is wrong, left out."""
    question = f"{_QUESTION} AND frame_no = ? ORDER BY row_no"
    found = connection.execute(question, (boot.number, low_ms, high_ms, frame.number)).fetchall()
    return _good(found, frame, boot)


def hot_frames(
    connection: sqlite3.Connection, frames: Mapping[int, Frame], boot: Boot, low_ms: int, high_ms: int
) -> dict[int, Rows]:
    """Hot rows of all frames with own clock in [low, high), by frame; rows whose checksum is wrong are left out."""
    by_frame: dict[int, list[_Hot]] = {}
    for row in connection.execute(f"{_QUESTION} ORDER BY row_no", (boot.number, low_ms, high_ms)):
        by_frame.setdefault(row[1], []).append(row)
    found = {number: _good(rows, frames[number], boot)[0] for number, rows in by_frame.items() if number in frames}
    return {number: rows for number, rows in found.items() if len(rows)}


_Hot = tuple[int, int, int, int, int, int | None, bytes, bytes | None, int]
_QUESTION = "SELECT * FROM hot WHERE boot_no = ? AND mono_ms >= ? AND mono_ms < ?"


def _good(found: list[_Hot], frame: Frame, boot: Boot) -> tuple[Rows, list[int]]:
    width, owner = len(frame.signals), owner_crc(frame, boot.id)
    good = [row for row in found if is_whole(row, frame, owner)]
    wrong = [] if len(good) == len(found) else sorted({row[0] for row in found} - {row[0] for row in good})
    return _rows(good, width), wrong


def _rows(found: list[_Hot], width: int) -> Rows:
    fine = bytes(width)
    return Rows(
        np.array([row[0] for row in found], np.int64),
        np.array([row[3] for row in found], np.int64),
        np.array([row[4] for row in found], np.int64),
        np.array([-1 if row[5] is None else row[5] for row in found], np.int8),
        cells_of([row[6] for row in found], width),
        np.frombuffer(b"".join(row[7] or fine for row in found), np.uint8).reshape(len(found), width),
    )
