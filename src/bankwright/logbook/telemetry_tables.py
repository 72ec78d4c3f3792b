"""The tables of telemetry, as the second number of the logbook's schema.

Gives: SECOND (statements that bring a first logbook to the second number).
`frame`: which signals of one thing are read together, written twice on different pages. `clock`: what both clocks said
at the same moment. `hot`: one row a frame and reading, a checksum on each. `sealed`: the rows of one frame, one start
of the machine and one hour as one block. `minute`, `hour`: lowest, mean and highest of them, for ever. `tally`: how far
the numbers of rows went and how many were sealed. `happening`: events. `state`: where an estimator stopped.
Limits: the keys are start of the machine and its own clock, never wall time, which may run backwards.
"""

from __future__ import annotations

__all__ = ["SECOND"]

_KEY = "frame_no INTEGER NOT NULL, boot_no INTEGER NOT NULL"

SECOND = (
    # reserved by the first number and never written
    "DROP TABLE sample",
    "DROP TABLE sealed",
    "DROP TABLE rollup",
    "CREATE TABLE frame(frame_no INTEGER PRIMARY KEY, text TEXT NOT NULL UNIQUE, crc INTEGER NOT NULL)",
    "CREATE TABLE frame_again(frame_no INTEGER PRIMARY KEY, text TEXT NOT NULL, crc INTEGER NOT NULL)",
    """CREATE TABLE clock(clock_no INTEGER PRIMARY KEY, boot_no INTEGER NOT NULL, boot TEXT NOT NULL,
        mono_ms INTEGER NOT NULL, wall_ms INTEGER NOT NULL, known INTEGER, crc INTEGER NOT NULL)""",
    f"""CREATE TABLE hot(row_no INTEGER PRIMARY KEY, {_KEY}, mono_ms INTEGER NOT NULL, wall_ms INTEGER NOT NULL,
        known INTEGER, cells BLOB NOT NULL, quality BLOB, crc INTEGER NOT NULL)""",
    f"""CREATE TABLE sealed(block_no INTEGER PRIMARY KEY, {_KEY}, mono_first INTEGER NOT NULL,
        mono_last INTEGER NOT NULL, row_count INTEGER NOT NULL, numbered INTEGER NOT NULL, block BLOB NOT NULL,
        crc INTEGER NOT NULL)""",
    "CREATE INDEX sealed_span ON sealed(frame_no, boot_no, mono_first, mono_last)",
    f"""CREATE TABLE minute({_KEY}, mono_ms INTEGER NOT NULL, block_no INTEGER NOT NULL, sums BLOB NOT NULL,
        crc INTEGER NOT NULL, PRIMARY KEY(frame_no, boot_no, mono_ms, block_no)) WITHOUT ROWID""",
    f"""CREATE TABLE hour({_KEY}, mono_ms INTEGER NOT NULL, block_no INTEGER NOT NULL, sums BLOB NOT NULL,
        crc INTEGER NOT NULL, PRIMARY KEY(frame_no, boot_no, mono_ms, block_no)) WITHOUT ROWID""",
    """CREATE TABLE tally(one INTEGER PRIMARY KEY CHECK(one = 1), last_row INTEGER NOT NULL,
        sealed_rows INTEGER NOT NULL)""",
    "INSERT INTO tally VALUES (1, 0, 0)",
    """CREATE TABLE happening(happening_no INTEGER PRIMARY KEY AUTOINCREMENT, boot_no INTEGER NOT NULL,
        mono_ms INTEGER NOT NULL, wall_ms INTEGER NOT NULL, known INTEGER, code TEXT NOT NULL, at TEXT NOT NULL,
        detail TEXT NOT NULL, crc INTEGER NOT NULL)""",
    "CREATE INDEX happening_code ON happening(code, happening_no)",
    """CREATE TABLE state(name TEXT PRIMARY KEY, version INTEGER NOT NULL, blob BLOB NOT NULL, wall_ms INTEGER NOT NULL,
        crc INTEGER NOT NULL)""",
)  # fmt: skip
