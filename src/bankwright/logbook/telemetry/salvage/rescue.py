"""Saving telemetry out of a damaged file into a new one, under the same numbers.

Gives: Rescued, rescue(). What the engine reaches is copied row by row, what it does not reach is looked for in the
bytes of the file, of its log and of logs kept aside. Of a damaged block the columns that hold together are kept; the
rest is marked as damaged, and what is nowhere is named in an event.
Limits: entries are check_repair.py.
"""

from __future__ import annotations

import json
import sqlite3
import time
import zlib
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from bankwright.logbook.errors import ENGINE_SAYS
from bankwright.logbook.telemetry.careful import careful_rows, is_row
from bankwright.logbook.telemetry.check import LOST
from bankwright.logbook.telemetry.happenings import happening_crc, state_crc
from bankwright.logbook.telemetry.packing import key_crc
from bankwright.logbook.telemetry.salvage.blocks import copied_blocks, mended, orphaned_sums
from bankwright.logbook.telemetry.salvage.loose import from_bytes
from bankwright.logbook.telemetry.salvage.pages import loose_rows
from bankwright.logbook.telemetry.salvage.work import Work, add_boot, add_frame, highest_row, owner_of

__all__ = ["Rescued", "rescue"]

Row = tuple[Any, ...]
_FAR = 1_000_000  # rows that may stand behind the last one that can be read; more is a damaged number


@dataclass(frozen=True, slots=True)
class Rescued:
    """What came over."""

    rows: int = 0
    blocks: int = 0
    lost_rows: int = 0  # rows that were stored and are found nowhere
    lost_blocks: int = 0  # hours of which nothing but the sums is left
    damaged_blocks: int = 0  # hours of which some columns are left
    count_known: bool = True  # False: how many rows there were cannot be read, so more may be lost


def rescue(
    source: sqlite3.Connection | None,
    target: sqlite3.Connection,
    bytes_of: Callable[[], Iterable[Path]],
    has_kept: bool = False,
) -> Rescued:
    """Copy what can be had into a new, empty logbook, in one transaction.

    `source` is None when the engine does not open the file; `bytes_of` gives copies of the file and its logs, and is
    asked only when something is missing, or `has_kept`: logs were kept aside.
    """
    work = Work(source, target)
    target.execute("BEGIN IMMEDIATE")
    try:
        rescued = _rescued(work, bytes_of, has_kept)
        target.execute("COMMIT")
    except BaseException:
        if target.in_transaction:
            target.execute("ROLLBACK")
        raise
    return rescued


def _rescued(work: Work, bytes_of: Callable[[], Iterable[Path]], has_kept: bool) -> Rescued:
    _small_tables(work)
    bad_blocks, hot = copied_blocks(work), _copied_hot(work)
    _copied_happenings(work)
    last, sealed, is_known = _tally(work)
    last = max([last, *(number for number, _ in hot)])
    highest = _last_hot(work, last)
    last, is_known = max(last, highest or 0), is_known and highest is not None
    is_known = is_known and not any(words.startswith("table hot") for words in work.said)  # the last may be among them
    missing = last - sealed - len(hot)
    if (
        work.source is None
        or work.said
        or bad_blocks
        or missing
        or not is_known
        or sum(work.blocks.values()) < sealed
        or has_kept
    ):
        work.loose.known_hot, work.loose.known_sealed = hot, set(work.blocks)
        for path in bytes_of():
            loose_rows(path, work.loose)
        from_bytes(work, last)
    for row in bad_blocks:
        if row[0] not in work.blocks:
            mended(work, row)
    lost_blocks = orphaned_sums(work)
    return replace(_finished(work, highest_row(work, last), lost_blocks), count_known=is_known)


def _last_hot(work: Work, least: int) -> int | None:
    """Number of the last hot row; None when it cannot be read, or is nothing that a row went by."""
    if work.source is not None:
        with suppress(*ENGINE_SAYS):
            (number,) = work.source.execute("SELECT coalesce(max(row_no), 0) FROM hot").fetchone()
            return number if 0 <= number <= least + _FAR else None
    return None


def _small_tables(work: Work) -> None:
    for number, name, mono, wall in work.every("boot", "boot_no"):
        add_boot(work, number, name, mono, wall)
    for row in work.every("clock", "clock_no"):
        if row[6] == key_crc(*row[1:6]):
            work.put("clock", (None, *row[1:]))  # numbered anew: the order is what counts
            add_boot(work, row[1], row[2])
    for table in ("frame", "frame_again"):
        for number, text, crc in work.every(table, "frame_no"):
            if crc == zlib.crc32(text.encode()):
                add_frame(work, number, text)
    if work.source is not None:
        with suppress(*ENGINE_SAYS):
            for row in work.source.execute("SELECT * FROM state"):
                if is_row("state", row) and row[4] == state_crc(*row[:3]):
                    work.put("state", row)


def _copied_hot(work: Work) -> set[tuple[int, int]]:
    found = set()
    for row in careful_rows(work.source, "hot", "row_no", work.said) if work.source is not None else ():
        if owner_of(work, row) == (row[1], row[2]):
            work.put("hot", row)
            found.add((row[0], row[8]))
        else:
            work.said.append(f"table hot: row {row[0]} does not agree with its checksum")
    work.hot = len(found)
    return found


def _copied_happenings(work: Work) -> None:
    for row in work.every("happening", "happening_no"):
        if row[8] == happening_crc(row[1:8]):
            work.put("happening", row)


def _tally(work: Work) -> tuple[int, int, bool]:
    """Last row that was sealed, how many were, and whether that could be read."""
    if work.source is not None:
        with suppress(*ENGINE_SAYS):
            row = work.source.execute("SELECT last_row, sealed_rows FROM tally").fetchone()
            if row is not None and None not in row:
                return int(row[0]), int(row[1]), True
    return 0, sum(work.blocks.values()), False


def _lost_events(work: Work) -> int:
    """How many events were stored and are found nowhere."""
    highest, count = work.target.execute("SELECT coalesce(max(happening_no), 0), count(*) FROM happening").fetchone()
    if work.source is not None:
        with suppress(*ENGINE_SAYS):
            row = work.source.execute("SELECT seq FROM sqlite_sequence WHERE name = 'happening'").fetchone()
            highest = max(highest, row[0]) if row and isinstance(row[0], int) and row[0] < 1 << 40 else highest
    if highest > count:
        work.target.execute("DELETE FROM sqlite_sequence WHERE name = 'happening'")
        work.target.execute("INSERT INTO sqlite_sequence(name, seq) VALUES ('happening', ?)", (highest,))
    return int(highest - count)


def _finished(work: Work, last: int, lost_blocks: list[int]) -> Rescued:
    """Set the tally by what is there, and name what is not."""
    sealed = sum(work.blocks.values())
    lost_rows = max(last - sealed - work.hot, 0)
    work.target.execute("UPDATE tally SET last_row = ?, sealed_rows = ?", (last, sealed))
    events = _lost_events(work)
    if lost_rows or lost_blocks or events:
        told = {"rows": lost_rows, "blocks": lost_blocks, "events": events}
        detail = json.dumps(told, separators=(",", ":"))
        row = (0, 0, time.time_ns() // 1_000_000, None, LOST, "", detail)
        columns = "boot_no, mono_ms, wall_ms, known, code, at, detail, crc"
        work.target.execute(
            f"INSERT INTO happening({columns}) VALUES (?, ?, ?, ?, ?, ?, ?, ?)", (*row, happening_crc(row))
        )
    return Rescued(work.rows + work.hot, len(work.blocks), lost_rows, len(lost_blocks), work.damaged)
