"""The tables, their number, and the way from every older number to the present one.

Gives: APPLICATION_ID, MIGRATIONS, SCHEMA, migrate(). `entry` holds every row in columns for questions; `line` holds
the same row as one self-checking text in another part of the file, written in the same transaction. Neither can be
changed or deleted. `boot` counts the machine's starts. The second number brings the tables of telemetry in the place of
three that the first had reserved.
Limits: opening and pragmas are in connect.py; the tables of telemetry in telemetry_tables.py.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence

from bankwright.logbook.telemetry_tables import SECOND

__all__ = ["APPLICATION_ID", "COLUMNS", "MIGRATIONS", "SCHEMA", "migrate"]

APPLICATION_ID = 0x62776C67  # "bwlg": our own mark in the header of the file

COLUMNS = (
    "seq", "id", "kind", "at", "step", "who", "note", "corrects",
    "given_wall", "given_boot", "given_monotonic", "given_known",
    "stored_wall", "stored_boot", "stored_monotonic", "stored_known",
    "quantity", "value", "low", "high", "instrument", "as_typed", "origin", "body",
)  # fmt: skip

_CELLS = tuple(f"cell_{number}" for number in range(1, 25))
_SIGNALS = ("voltage", "current", "soc", *(f"temperature_{number}" for number in range(1, 5)), *_CELLS)
_SAMPLE = ", ".join(f"{name} INTEGER" for name in _SIGNALS)
_ROLLUP = ", ".join(f"{name}_{part} INTEGER" for name in _SIGNALS for part in ("low", "mean", "high"))

_FIRST = (
    """CREATE TABLE entry(
        seq INTEGER PRIMARY KEY AUTOINCREMENT, id TEXT NOT NULL UNIQUE, kind TEXT NOT NULL,
        at TEXT, step TEXT, who TEXT NOT NULL, note TEXT NOT NULL, corrects TEXT,
        given_wall TEXT, given_boot TEXT, given_monotonic REAL, given_known INTEGER,
        stored_wall TEXT NOT NULL, stored_boot TEXT NOT NULL, stored_monotonic REAL, stored_known INTEGER,
        quantity TEXT, value REAL, low REAL, high REAL, instrument TEXT, as_typed TEXT NOT NULL,
        origin TEXT NOT NULL, body TEXT)""",
    "CREATE INDEX entry_at ON entry(at, quantity) WHERE at IS NOT NULL",
    "CREATE INDEX entry_step ON entry(step) WHERE step IS NOT NULL",
    "CREATE UNIQUE INDEX entry_corrects ON entry(corrects) WHERE corrects IS NOT NULL",
    "CREATE INDEX entry_kind ON entry(kind, seq) WHERE kind <> 'reading'",
    "CREATE TABLE line(seq INTEGER PRIMARY KEY, text TEXT NOT NULL)",
    *(
        f"CREATE TRIGGER {table}_{act.lower()} BEFORE {act} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, 'entries are never changed: append a correction'); END"
        for table in ("entry", "line")
        for act in ("UPDATE", "DELETE")
    ),
    "CREATE TABLE boot(boot_no INTEGER PRIMARY KEY, boot_id TEXT NOT NULL UNIQUE, mono0 REAL, wall0 TEXT NOT NULL)",
    f"""CREATE TABLE sample(id INTEGER PRIMARY KEY, boot_no INTEGER NOT NULL, mono_ms INTEGER NOT NULL,
        wall_ms INTEGER NOT NULL, synced INTEGER, module TEXT NOT NULL, {_SAMPLE})""",
    """CREATE TABLE sealed(module TEXT NOT NULL, hour INTEGER NOT NULL, layout INTEGER NOT NULL,
        points INTEGER NOT NULL, block BLOB NOT NULL, digest TEXT NOT NULL, PRIMARY KEY(module, hour)) WITHOUT ROWID""",
    f"""CREATE TABLE rollup(module TEXT NOT NULL, minute INTEGER NOT NULL, points INTEGER NOT NULL, {_ROLLUP},
        PRIMARY KEY(module, minute)) WITHOUT ROWID""",
)

Migration = Sequence[str]
MIGRATIONS: tuple[Migration, ...] = (_FIRST, SECOND)  # one a schema number; never edited once given out, only added to
SCHEMA = len(MIGRATIONS)


def migrate(connection: sqlite3.Connection, migrations: Sequence[Migration] = MIGRATIONS) -> bool:
    """Bring an empty or older file to the present number, in one transaction; True when something was done."""
    (now,) = connection.execute("PRAGMA user_version").fetchone()
    if now >= len(migrations):
        return False
    connection.execute("BEGIN IMMEDIATE")
    try:
        (now,) = connection.execute("PRAGMA user_version").fetchone()  # another program may have been quicker
        for statements in migrations[now:]:
            for statement in statements:
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(f"PRAGMA user_version = {max(now, len(migrations))}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
    return True
