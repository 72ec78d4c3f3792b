"""Blocks saved: whole ones with their sums, damaged ones as far as their columns go, sums of those that are gone.

Gives: copied_blocks(), add_block(), mended(), orphaned_sums().
Limits: blocks that the engine does not reach are found in loose.py.
"""

from __future__ import annotations

from contextlib import suppress
from typing import Any

from bankwright.logbook.errors import ENGINE_SAYS
from bankwright.logbook.telemetry.block import Rows, Said, packed_block, rows_of, said_of, sealed_crc
from bankwright.logbook.telemetry.boots import Boot, all_boots
from bankwright.logbook.telemetry.careful import careful_rows, is_row
from bankwright.logbook.telemetry.frames import frame_text
from bankwright.logbook.telemetry.hot import rows_left
from bankwright.logbook.telemetry.salvage.work import Work, add_boot, add_frame
from bankwright.logbook.telemetry.seal import insert_sums
from bankwright.logbook.telemetry.sums import sums_crc

__all__ = ["add_block", "copied_blocks", "mended", "orphaned_sums"]

Row = tuple[Any, ...]


def copied_blocks(work: Work) -> list[Row]:
    """Copy good blocks with their sums; give back the bad ones."""
    bad = []
    for row in careful_rows(work.source, "sealed", "block_no", work.said) if work.source is not None else ():
        if row[8] == sealed_crc(row[1:7], row[7]):
            add_block(work, row)
        else:
            bad.append(row)
    return bad


def add_block(work: Work, row: Row, rows: Rows | None = None) -> None:
    """Store a block, with the sums that it had or with new ones."""
    said = said_of(row[7])
    add_frame(work, said.frame.number, frame_text(said.frame.signals))
    add_boot(work, said.boot_no, said.boot)
    work.put("sealed", row)
    if rows is not None or not _copied_sums(work, row):
        boot = Boot(said.boot_no, said.boot, row[3], row[4], said.shift_ms, None)
        whole = rows or rows_of(row[7], len(said.frame.signals))
        work.target.execute("DELETE FROM minute WHERE block_no = ?", (row[0],))
        work.target.execute("DELETE FROM hour WHERE block_no = ?", (row[0],))
        insert_sums(work.target, row[0], said.frame, boot, whole)
    work.blocks[row[0]] = row[5] if row[6] else 0
    work.rows += row[5]


def _copied_sums(work: Work, row: Row) -> bool:
    """Copy the sums of a block; False when they are not all there."""
    if work.source is None:
        return False
    number, frame_no, boot_no, first, last = row[:5]
    span = (frame_no, boot_no, first - 3_600_000, last, number)
    hours = 0
    for table in ("minute", "hour"):
        question = (
            f"SELECT * FROM {table} WHERE frame_no = ? AND boot_no = ? AND mono_ms BETWEEN ? AND ? AND block_no = ?"
        )
        try:
            found = work.source.execute(question, span).fetchall()
        except ENGINE_SAYS:
            return False
        if not found or not all(_good_sums(table, each) for each in found):
            return False
        for each in found:
            work.put(table, each)
        hours = len(found)
    return hours > 0


def _good_sums(table: str, row: Row) -> bool:
    return is_row(table, row) and row[5] == sums_crc(row[:4], row[4])


def mended(work: Work, row: Row) -> None:
    """Keep of a damaged block the columns that hold together, and mark the others."""
    said = _said(work, row)
    if said is None:
        return
    rows = rows_left(row[7], said.frame)
    if not len(rows):
        return
    packed = packed_block(said.frame, rows, said.boot_no, said.boot, said.shift_ms)
    span = int(rows.mono_ms.min()), int(rows.mono_ms.max())
    key = (said.frame.number, said.boot_no, *span, len(rows), int(row[6] != 0))
    add_block(work, (row[0], *key, packed, sealed_crc(key, packed)), rows)
    work.damaged += 1


def _said(work: Work, row: Row) -> Said | None:
    """Whose a damaged block is: by itself, or by sums that name it and hold together; None when nobody knows."""
    with suppress(ValueError):
        return said_of(row[7])
    names = {number: name for name, number in work.boots.items()}
    if work.source is None or row[1] not in work.frames or row[2] not in names:
        return None
    with suppress(*ENGINE_SAYS):
        question = "SELECT * FROM hour WHERE frame_no = ? AND boot_no = ? AND block_no = ?"
        sums = work.source.execute(question, (row[1], row[2], row[0])).fetchall()
        if sums and all(_good_sums("hour", each) for each in sums):
            boot = {boot.number: boot for boot in all_boots(work.target)}.get(row[2])
            return Said(work.frames[row[1]], row[2], names[row[2]], boot.shift_ms if boot else 0)
    return None


def orphaned_sums(work: Work) -> list[int]:
    """Keep the sums of hours whose rows are gone; the numbers of those blocks."""
    lost: dict[int, None] = {}
    for table in ("minute", "hour") if work.source is not None else ():
        with suppress(*ENGINE_SAYS):
            for row in work.source.execute(f"SELECT * FROM {table}") if work.source is not None else ():
                if row[3] not in work.blocks and _good_sums(table, row):
                    work.put(table, row)
                    lost[row[3]] = None
    return sorted(lost)
