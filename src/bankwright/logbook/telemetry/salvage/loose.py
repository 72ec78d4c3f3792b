"""Rows that stand in the bytes of a file only, put where they belong.

Gives: from_bytes(). A hot row that was sealed meanwhile stays where it is;
one whose number was given again gets a new one.
Limits: how they are found is pages.py.
"""

from __future__ import annotations

from contextlib import suppress
from typing import Any

from bankwright.logbook.telemetry.block import rows_of, said_of
from bankwright.logbook.telemetry.packing import owner_crc, row_crc
from bankwright.logbook.telemetry.salvage.blocks import add_block
from bankwright.logbook.telemetry.salvage.work import Work, add_frame, highest_row, owner_of

__all__ = ["from_bytes"]

Row = tuple[Any, ...]


def from_bytes(work: Work, last: int) -> None:
    """Add what stands in the bytes only; a hot row that was sealed meanwhile stays where it is."""
    for number, text in work.loose.frame:
        if text.startswith("[["):
            add_frame(work, number, text)
    for number, row in sorted(work.loose.sealed.items()):
        with suppress(ValueError):
            said_of(row[7])
            add_block(work, (number, *row[1:]))
    for row in work.loose.happening.values():
        work.put("happening", row)
    found = [(owner, row) for row in work.loose.hot.values() if (owner := owner_of(work, row)) is not None]
    in_blocks = _moments_in_blocks(work, found)
    number = highest_row(work, last)
    for owner, row in sorted(found, key=lambda item: item[1][0]):
        if (*owner, row[0], row[3]) in in_blocks:
            continue
        taken = work.target.execute("SELECT crc FROM hot WHERE row_no = ?", (row[0],)).fetchone()
        number = number + 1 if taken else max(number, row[0])
        key = (number if taken else row[0], *owner, *row[3:6])
        frame, boot = work.frames[owner[0]], next(name for name, no in work.boots.items() if no == owner[1])
        work.put("hot", (*key, row[6], row[7], row_crc(owner_crc(frame, boot), key, row[6], row[7])))
        work.hot += 1


def _moments_in_blocks(work: Work, found: list[tuple[tuple[int, int], Row]]) -> set[tuple[int, int, int, int]]:
    """Frame, start, number and own clock of rows that were sealed, in blocks that may hold any of the loose ones."""
    first = min((row[3] for _, row in found), default=0) - 3_600_000
    rows: set[tuple[int, int, int, int]] = set()
    for frame_no, boot_no in {owner for owner, _ in found}:
        question = "SELECT block FROM sealed WHERE frame_no = ? AND boot_no = ? AND mono_first >= ?"
        for (block,) in work.target.execute(question, (frame_no, boot_no, first)):
            with suppress(ValueError):
                inside = rows_of(block, len(work.frames[frame_no].signals))
                pairs = zip(inside.number.tolist(), inside.mono_ms.tolist(), strict=True)
                rows.update((frame_no, boot_no, *pair) for pair in pairs)
    return rows
