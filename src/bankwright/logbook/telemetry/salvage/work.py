"""What a salvage holds in its hands while it works, and the small things that everything else refers to.

Gives: Work, add_boot(), add_frame(), owner_of(), highest_row().
Limits: blocks are blocks.py, bare bytes loose.py.
"""

from __future__ import annotations

import sqlite3
import zlib
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from bankwright.logbook.telemetry.careful import careful_rows
from bankwright.logbook.telemetry.frames import Frame, frame_of_text
from bankwright.logbook.telemetry.packing import is_whole, owner_crc
from bankwright.logbook.telemetry.salvage.pages import Loose

__all__ = ["Work", "add_boot", "add_frame", "highest_row", "owner_of"]

Row = tuple[Any, ...]
_NEVER = "1970-01-01T00:00:00+00:00"  # a start of which nothing but its name is left


@dataclass
class Work:
    """One salvage: where from, where to, what was found so far."""

    source: sqlite3.Connection | None
    target: sqlite3.Connection
    said: list[str] = field(default_factory=list)
    frames: dict[int, Frame] = field(default_factory=dict)
    boots: dict[str, int] = field(default_factory=dict)
    loose: Loose = field(default_factory=Loose)
    blocks: dict[int, int] = field(default_factory=dict)  # rows of each that was hot once, 0 for rows of a file
    rows: int = 0
    hot: int = 0
    damaged: int = 0

    def every(self, table: str, key: str, least: int = 0) -> list[Row]:
        """Small tables whole."""
        return [] if self.source is None else list(careful_rows(self.source, table, key, self.said, least))

    def put(self, table: str, row: Sequence[Any]) -> None:
        """Store a row in the new file, unless its number is taken."""
        self.target.execute(f"INSERT OR IGNORE INTO {table} VALUES ({', '.join('?' * len(row))})", tuple(row))


def add_boot(work: Work, number: int, name: str, mono: float | None = None, wall: str = _NEVER) -> None:
    """Keep a start of the machine under its number."""
    if name not in work.boots and number not in work.boots.values():
        work.boots[name] = number
        work.put("boot", (number, name, mono, wall))


def add_frame(work: Work, number: int, text: str) -> None:
    """Keep a frame under its number, in both copies."""
    if number in work.frames:
        return
    with suppress(ValueError):
        work.frames[number] = frame_of_text(number, text)
        for table in ("frame", "frame_again"):
            work.put(table, (number, text, zlib.crc32(text.encode())))


def owner_of(work: Work, row: Row) -> tuple[int, int] | None:
    """Numbers of the frame and the start that a row belongs to by its checksum; None when it agrees with none."""
    width = len(row[6]) / 4
    frames = sorted(work.frames.values(), key=lambda frame: frame.number != row[1])
    boots = sorted(work.boots.items(), key=lambda item: item[1] != row[2])
    for frame in frames:
        for name, number in boots if len(frame.signals) == width else ():
            if is_whole(row, frame, owner_crc(frame, name)):
                return frame.number, number
    return None


def highest_row(work: Work, least: int) -> int:
    """The highest number of a row so far."""
    (highest,) = work.target.execute("SELECT coalesce(max(row_no), 0) FROM hot").fetchone()
    return max(int(highest), least)
