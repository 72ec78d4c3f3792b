"""Telemetry of a file that may be damaged: looked through, and saved into a new one.

Gives: health_of(), holds_telemetry(), rescued(). The bare bytes are read in a copy: a plain handle of the file itself,
closed, would drop the locks of every connection that this program has to it.
Limits: what is looked for is check.py and salvage/.
"""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path

from bankwright.logbook.connect import kept_aside, raw_copy, readable
from bankwright.logbook.errors import ENGINE_SAYS, LogbookDamaged, NotALogbook
from bankwright.logbook.telemetry.careful import reading_anything
from bankwright.logbook.telemetry.check import Health, health
from bankwright.logbook.telemetry.salvage.pages import Loose, loose_rows
from bankwright.logbook.telemetry.salvage.rescue import Rescued, rescue
from bankwright.logbook.wal import wal_path

__all__ = ["health_of", "holds_telemetry", "rescued"]


def health_of(path: Path) -> Health:
    """Look a file through; one that does not open at all has nothing that can be read."""
    try:
        with closing(readable(path)) as connection:
            return health(reading_anything(connection))
    except (LogbookDamaged, NotALogbook):
        return Health(0, 0, ())


def holds_telemetry(copy: Path) -> bool:
    """True when rows of telemetry stand in the bytes of a file that does not open."""
    found = Loose()
    loose_rows(copy, found)
    return bool(found.hot or found.sealed)


def rescued(path: Path, room: Path, target: sqlite3.Connection) -> Rescued:
    """Save what can be had into a new logbook; `room` is a directory with room for a copy of the file."""
    with tempfile.TemporaryDirectory(dir=room) as place:

        def bytes_of() -> Iterator[Path]:
            copy = Path(place) / path.name
            raw_copy(path, copy)
            yield from (copy, wal_path(copy), *kept_aside(path))
            with suppress(*ENGINE_SAYS), closing(sqlite3.connect(copy)) as connection:
                connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            yield copy  # once more, with what the log holds in its place

        try:
            source = readable(path)
        except (LogbookDamaged, NotALogbook):
            return rescue(None, target, bytes_of)
        with closing(source):
            return rescue(reading_anything(source), target, bytes_of, bool(kept_aside(path)))
