"""Opening the file: the right file, the right number, the right durability, and never a change to a file that is
not ours.

Gives: connected(), readable(), logbook_path(), BUSY. Writing connections use the write-ahead log with synchronous =
FULL: a commit that returned is on the disk. Before a connection may write, the end of the log is looked at; if
whole commits were cut off there, the log is kept aside under another name first.
Limits: tables are in schema.py, rows in write.py and read.py.
Sources: SQLite documentation, PRAGMA synchronous, URI filenames (mode, immutable) [from memory].
"""

from __future__ import annotations

import shutil
import sqlite3
import struct
import tempfile
import time
from pathlib import Path

from bankwright.logbook.errors import LogbookDamaged, LogbookNewer, LogbookReadOnly, NotALogbook, translated
from bankwright.logbook.schema import APPLICATION_ID, MIGRATIONS, SCHEMA, migrate
from bankwright.logbook.wal import Tail, tail_of, wal_path

__all__ = ["BUSY", "connected", "keep_cut_tail", "logbook_path", "readable"]

BUSY = 10.0  # s, how long one program waits for another
_MAGIC = b"SQLite format 3\0"


def logbook_path(bank_path: Path | str) -> Path:
    """Where the logbook of a bank file stands: `orchard.toml` -> `orchard.logbook` beside it."""
    return Path(bank_path).with_suffix(".logbook")


def _check_header(path: Path) -> None:
    """Refuse what is not ours by its first 100 bytes, before the engine touches it. An empty file counts as new."""
    with path.open("rb") as file:
        head = file.read(100)
    if not head:
        return
    hint = "It was not touched. Move it away, or give the bank file another name"
    if len(head) < 100 or head[:16] != _MAGIC:
        raise NotALogbook(path, "it is not a logbook, or its first page is damaged", hint)
    number, mark = struct.unpack_from(">I", head, 60)[0], struct.unpack_from(">I", head, 68)[0]
    if mark != APPLICATION_ID:
        raise NotALogbook(path, "it is a database of another program", hint)
    _check_number(path, number)


def _check_number(path: Path, number: int) -> None:
    if number > SCHEMA:
        raise LogbookNewer(
            path,
            f"a newer Bankwright wrote it (schema {number}; this one knows {SCHEMA})",
            "It was not touched. Use that version, or a newer one",
        )


def _open(path: Path, mode: str, extra: str = "") -> sqlite3.Connection:
    uri = f"{path.resolve().as_uri()}?mode={mode}{extra}"
    connection = sqlite3.connect(uri, uri=True, timeout=BUSY, isolation_level=None, check_same_thread=False)
    connection.execute(f"PRAGMA busy_timeout = {int(BUSY * 1000)}")
    connection.execute("PRAGMA trusted_schema = OFF")
    return connection


def connected(path: Path) -> sqlite3.Connection:
    """Open for writing; an absent or empty file becomes a logbook, an older one is brought forward."""
    if not path.parent.is_dir():
        raise LogbookReadOnly(path, "its directory does not exist", "Nothing was stored")
    if path.exists():
        _check_header(path)
    with translated(path):
        connection = _open(path, "rwc")
        try:
            _prepare(connection, path)
        except BaseException:
            connection.close()
            raise
    return connection


def _prepare(connection: sqlite3.Connection, path: Path) -> None:
    (number,) = connection.execute("PRAGMA user_version").fetchone()
    _check_number(path, number)
    if number == 0 and connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]:
        raise NotALogbook(path, "it is a database of another program", "It was not touched")
    _durable(connection)
    migrate(connection)
    _use_write_ahead_log(connection)


def _durable(connection: sqlite3.Connection) -> None:
    for pragma in ("synchronous = FULL", "fullfsync = ON", "checkpoint_fullfsync = ON", "foreign_keys = ON"):
        connection.execute(f"PRAGMA {pragma}")


def _use_write_ahead_log(connection: sqlite3.Connection) -> None:
    """Switch once; the engine does not wait for others in this one statement, so wait here."""
    until = time.monotonic() + BUSY
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if "locked" not in str(error) or time.monotonic() > until:
                raise
            time.sleep(0.02)


def keep_cut_tail(path: Path) -> tuple[Tail, str] | None:
    """If commits were cut off the log's end, keep the log aside; the caller holds the write transaction."""
    tail = tail_of(path)
    if tail is None or not tail.is_damage:
        return None
    kept = path.with_name(f"{path.name}-cut-{time.time_ns() // 1_000_000}")
    shutil.copyfile(wal_path(path), kept)
    return tail, kept.name


def readable(path: Path) -> sqlite3.Connection:
    """Open for reading only, on a read-only disk too; no file: an empty logbook in memory."""
    if not path.exists() or (path.stat().st_size == 0 and not wal_path(path).exists()):
        return _in_memory(None)
    _check_header(path)
    with translated(path):
        connection = _read_only(path)
        try:
            (number,) = connection.execute("PRAGMA user_version").fetchone()
            _check_number(path, number)
            if number < len(MIGRATIONS):
                return _in_memory(connection)
        except BaseException:
            connection.close()
            raise
    return connection


def _in_memory(source: sqlite3.Connection | None) -> sqlite3.Connection:
    """Make a logbook in memory: empty, or a copy of an older file, brought forward."""
    connection = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    if source is not None:
        source.backup(connection)
        source.close()
    migrate(connection)
    return connection


def _read_only(path: Path) -> sqlite3.Connection:
    connection = _open(path, "ro")
    try:
        connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
        return connection
    except sqlite3.OperationalError as error:
        connection.close()
        if (error.sqlite_errorcode & 0xFF) not in (8, 14):  # READONLY, CANTOPEN: no room for the engine's index file
            raise
    wal = wal_path(path)
    if not wal.exists() or wal.stat().st_size == 0:
        return _open(path, "ro", "&immutable=1")
    return _from_copy(path, wal)


def _from_copy(path: Path, wal: Path) -> sqlite3.Connection:
    """Read a file whose directory may not be written and whose log is not empty, from a copy in memory."""
    with tempfile.TemporaryDirectory() as place:
        copy = Path(place) / path.name
        shutil.copyfile(path, copy)
        shutil.copyfile(wal, wal_path(copy))
        connection = _open(copy, "rw")
        try:
            memory = _in_memory(connection)
        except sqlite3.DatabaseError as error:
            raise LogbookDamaged(path, f"the file is damaged ({error})", "Nothing was changed") from error
    return memory
