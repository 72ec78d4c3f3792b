"""What a logbook can refuse, each by its name.

    LogbookError
    |-- LogbookUnusable          the file cannot be used as it is; it was not touched
    |   |-- NotALogbook          another kind of file, or another program's database
    |   |-- LogbookNewer         written by a newer Bankwright
    |   `-- LogbookDamaged       the engine met a page that does not hold together
    |-- LogbookReadOnly          file, directory or disk may not be written
    |-- LogbookDiskFull          no room, or the disk refused
    |-- LogbookBusy              another program held the file for too long
    `-- EntryRefused             the entry is wrong: faults; also a QuestionError (exit code 2)

Gives: the classes above, translated(), ENGINE_SAYS. In every case nothing of the entry was stored.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from bankwright.forms.faults import Fault, QuestionError

__all__ = [
    "ENGINE_SAYS",
    "EntryRefused",
    "LogbookBusy",
    "LogbookDamaged",
    "LogbookDiskFull",
    "LogbookError",
    "LogbookNewer",
    "LogbookReadOnly",
    "LogbookUnusable",
    "NotALogbook",
    "translated",
]


class LogbookError(QuestionError):
    """Something kept the logbook from doing what was asked; the file is named, and what is stored stays."""

    code = "logbook"

    def __init__(self, path: Path | None, found: str, hint: str = "") -> None:
        """Keep path and words; faces print str()."""
        self.path = path
        name = path.name if path else ""
        super().__init__((Fault(name, self.code, found, hint=hint),))
        self.args = ("  ".join(part for part in (name, f"{found}. {hint}".strip()) if part),)


class LogbookUnusable(LogbookError):
    """The file cannot be used as it is; it was not touched."""

    code = "logbook-unusable"


class NotALogbook(LogbookUnusable):
    """Another kind of file, or another program's database."""

    code = "not-a-logbook"


class LogbookNewer(LogbookUnusable):
    """Written by a newer Bankwright."""

    code = "logbook-newer"


class LogbookDamaged(LogbookUnusable):
    """The engine met a page that does not hold together."""

    code = "logbook-damaged"


class LogbookReadOnly(LogbookError):
    """File, directory or disk may not be written."""

    code = "logbook-read-only"


class LogbookDiskFull(LogbookError):
    """No room, or the disk refused the bytes."""

    code = "logbook-disk"


class LogbookBusy(LogbookError):
    """Another program held the file for too long."""

    code = "logbook-busy"


class EntryRefused(LogbookError):
    """The entry is wrong: its faults say what, and what would be right. Nothing was stored."""

    code = "entry-refused"

    def __init__(self, *faults: Fault) -> None:
        """Keep the faults."""
        super().__init__(None, faults[0].found)
        self.faults = faults
        self.args = ("\n".join([*map(str, faults), "Nothing was stored."]),)


# what the engine raises on a damaged page; its own words may be bytes of that page, which are no text
ENGINE_SAYS = (sqlite3.DatabaseError, UnicodeDecodeError)

_FULL, _IO, _READ_ONLY, _CANT_OPEN, _CORRUPT, _NOT_A_DATABASE, _BUSY, _LOCKED = 13, 10, 8, 14, 11, 26, 5, 6


def _named(error: sqlite3.Error, path: Path) -> LogbookError | None:
    code = (getattr(error, "sqlite_errorcode", None) or 0) & 0xFF
    if code == _FULL:
        return LogbookDiskFull(path, "the disk is full", "Nothing was stored. Make room, then enter it again")
    if code == _IO:
        return LogbookDiskFull(
            path, f"the disk refused ({error})", "Nothing was acknowledged. Look at the disk, then enter it again"
        )
    if code == _READ_ONLY:
        return LogbookReadOnly(
            path, "the file may not be written", "Nothing was stored. Look at its rights and its disk"
        )
    if code == _CANT_OPEN:
        return LogbookReadOnly(
            path, "the file cannot be opened for this", "Nothing was stored. Look at the rights of file and directory"
        )
    if code in (_CORRUPT, _NOT_A_DATABASE):
        return LogbookDamaged(
            path, f"the file is damaged ({error})", "Nothing was changed. `bankwright log check` says what can be read"
        )
    if code in (_BUSY, _LOCKED):
        return LogbookBusy(path, "another program is writing and did not finish", "Nothing was stored. Try again")
    return None


@contextmanager
def translated(path: Path) -> Iterator[None]:
    """Turn the engine's errors into named ones; what has no name here goes on unchanged."""
    try:
        yield
    except sqlite3.Error as error:
        named = _named(error, path)
        if named is None:
            raise
        raise named from error
    except UnicodeDecodeError as error:
        raise LogbookDamaged(
            path, "the file is damaged", "Nothing was changed. `bankwright log check` says what can be read"
        ) from error
