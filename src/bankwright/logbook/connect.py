"""Opening the file: the right file, the right number, the right durability,
and never a change to a file that is not ours.

Gives: connected(), readable(), logbook_path(), BUSY. Writing connections use the write-ahead log with synchronous =
FULL: a commit that returned is on the disk. Before a connection may write, the end of the log is looked at; if
whole commits were cut off there, the log is kept aside under another name first.
Limits: tables are in schema.py, rows in write.py and read.py.
No plain handle of the file is ever opened: see raw_copy().
Sources: SQLite documentation, PRAGMA synchronous, URI filenames (mode, immutable) [from memory].
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from contextlib import closing, suppress
from pathlib import Path

from bankwright.logbook.errors import (
    ENGINE_SAYS,
    LogbookDamaged,
    LogbookNewer,
    LogbookReadOnly,
    NotALogbook,
    translated,
)
from bankwright.logbook.schema import APPLICATION_ID, MIGRATIONS, SCHEMA, migrate
from bankwright.logbook.wal import Tail, has_log, tail_of, wal_path

__all__ = ["BUSY", "connected", "keep_cut_tail", "kept_aside", "logbook_path", "raw_copy", "readable", "sync_directory"]

BUSY = 10.0  # s, how long one program waits for another
_END = 4096  # bytes that tell one log from another
_NOT_A_DATABASE = 26
_SMALLEST = 512  # bytes, the smallest page
_NOT_ONE = "it is not a logbook, or its first page is damaged"
_HINT = "It was not touched. Move it away, or give the bank file another name"


def logbook_path(bank_path: Path | str) -> Path:
    """Where the logbook of a bank file stands: `orchard.toml` -> `orchard.logbook` beside it."""
    return Path(bank_path).with_suffix(".logbook")


def _check_header(path: Path) -> None:
    """Refuse what is not ours by its first page, before anything is touched. An empty file counts as new."""
    size = path.stat().st_size
    if size == 0:
        return
    if size < _SMALLEST or _asked(path, "&immutable=1")[0] != APPLICATION_ID:
        # perhaps another program is making it, or died with the right page in the log only: ask with locks and log
        mark, number, tables = (0, 0, 1) if size < _SMALLEST else _asked(path, "")
        if mark != APPLICATION_ID and (number or tables):
            raise NotALogbook(path, "it is a database of another program" if size >= _SMALLEST else _NOT_ONE, _HINT)
    _, number, tables = _asked(path, "&immutable=1")
    _check_number(path, number, tables)


def _asked(path: Path, extra: str) -> tuple[int, int, int]:
    """Application mark, schema number and count of tables, at one moment; with `immutable` by the file alone."""
    try:
        with closing(_open(path, "ro", extra)) as connection:
            connection.execute("BEGIN")
            (mark,) = connection.execute("PRAGMA application_id").fetchone()
            (number,) = connection.execute("PRAGMA user_version").fetchone()
            (tables,) = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
            return mark, number, tables
    except ENGINE_SAYS as error:
        code = getattr(error, "sqlite_errorcode", 0) & 0xFF
        if code == _NOT_A_DATABASE:
            raise NotALogbook(path, _NOT_ONE, _HINT) from error
        if extra:
            return 0, 0, 0  # the file alone may lack what stands in its log
        with translated(path):
            raise


def _check_number(path: Path, number: int, tables: int = 0) -> None:
    if number < 0 or (number == 0 and tables):
        raise LogbookDamaged(
            path,
            f"its schema number is {number}, though it holds tables",
            "It was not touched. `bankwright log check FILE --salvage NEW.logbook` saves what can be read",
        )
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
    connection.text_factory = _text
    return connection


def _text(content: bytes) -> str:
    """Text as it stands: a damaged byte stays one, where it would otherwise keep everything from being read."""
    return content.decode("utf-8", "surrogateescape")


def connected(path: Path) -> sqlite3.Connection:
    """Open for writing; an absent or empty file becomes a logbook, an older one is brought forward."""
    if not path.parent.is_dir():
        raise LogbookReadOnly(path, "its directory does not exist", "Nothing was stored")
    is_new = not path.exists()
    if not is_new:
        _check_header(path)
    with translated(path):
        connection = _open(path, "rwc")
        try:
            _prepare(connection, path)
        except BaseException:
            connection.close()
            raise
    if is_new:
        sync_directory(path.parent)
    return connection


def sync_directory(directory: Path) -> None:
    """Put a new name in a directory on the disk; where a directory cannot be synced, the system does it."""
    with suppress(OSError):
        handle = os.open(directory, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _prepare(connection: sqlite3.Connection, path: Path) -> None:
    connection.execute("BEGIN")  # one moment for both questions: another program may be making the file
    (tables,) = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()
    (number,) = connection.execute("PRAGMA user_version").fetchone()
    connection.execute("COMMIT")
    _check_number(path, number)
    if number == 0 and tables:
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
    """If commits were cut off the log's end, keep the log aside, once; the caller holds the write transaction."""
    tail = tail_of(path)
    if not tail.is_damage:
        return None
    end = wal_path(path).read_bytes()[-_END:]
    if any(kept.read_bytes()[-_END:] == end for kept in kept_aside(path)):
        return None
    kept = path.with_name(f"{path.name}-cut-{time.time_ns() // 1_000_000}")
    shutil.copyfile(wal_path(path), kept)
    sync_directory(path.parent)
    return tail, kept.name


def kept_aside(path: Path) -> list[Path]:
    """Logs that were kept aside because their end could not be read, oldest first."""
    return sorted(path.parent.glob(f"{path.name}-cut-*"))


def raw_copy(path: Path, target: Path) -> None:
    """Copy the bytes of a logbook and its log by a program of its own.

    The engine's locks belong to the process: closing a plain handle of the file here would drop them under the feet
    of every connection that this process has to it.
    """
    program = "import shutil, sys; shutil.copyfile(sys.argv[1], sys.argv[2])"
    words = [sys.executable, "-I", "-S", "-c", program, str(path), str(target)]
    try:
        subprocess.run(words, check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError) as error:
        raise LogbookReadOnly(path, f"its bytes cannot be copied ({error})", "Nothing was changed") from error
    if has_log(path):
        shutil.copyfile(wal_path(path), wal_path(target))


def readable(path: Path) -> sqlite3.Connection:
    """Open for reading only, on a read-only disk too; no file: an empty logbook in memory."""
    if not path.exists() or (path.stat().st_size == 0 and not has_log(path)):
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
    if not has_log(path):
        return _open(path, "ro", "&immutable=1")
    return _from_copy(path)


def _from_copy(path: Path) -> sqlite3.Connection:
    """Read a file whose directory may not be written and whose log is not empty, from a copy in memory."""
    with tempfile.TemporaryDirectory() as place:
        copy = Path(place) / path.name
        shutil.copyfile(path, copy)  # no engine of this process holds a lock on a file that it could not open
        shutil.copyfile(wal_path(path), wal_path(copy))
        connection = _open(copy, "rw")
        try:
            memory = _in_memory(connection)
        except ENGINE_SAYS as error:
            raise LogbookDamaged(path, f"the file is damaged ({error})", "Nothing was changed") from error
    return memory
