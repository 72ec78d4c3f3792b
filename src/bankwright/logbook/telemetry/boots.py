"""Starts of the machine, and what time it was.

Gives: Boot, boot_number(), note_clock(), all_boots(). Rows carry the machine's own clock; the time of all rows of one
start is that clock plus one shift, taken from the last moment at which the wall clock was known to be right. So a clock
that is put right later puts right every earlier row of the same start, nothing stored is rewritten, and nothing is
reordered. A start whose clock was never known to be right can only be bracketed by its neighbours.
Limits: jumps are told as events by the caller.
"""

from __future__ import annotations

import sqlite3
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime

from bankwright.forms.readings import Instant
from bankwright.logbook.clocks import STEP, wall_seconds
from bankwright.logbook.telemetry.block import said_of
from bankwright.logbook.telemetry.packing import key_crc

__all__ = ["FILE", "Boot", "all_boots", "boot_number", "clock_step", "milliseconds", "note_clock"]

EVERY = 3_600_000  # ms between two notes of both clocks where nothing changes; design choice
FILE = "file:"  # begins the name of a "start" that is a file from elsewhere: its own clock is the time as read


@dataclass(frozen=True, slots=True)
class Boot:
    """One start of the machine, as far as its rows go."""

    number: int
    id: str
    first_ms: int  # own clock when both clocks were first and last noted
    last_ms: int
    shift_ms: int  # time less own clock
    certain: bool | None  # None: nobody can tell on this machine; the wall clock is taken as told
    earliest: float | None = None  # s since 1970: if not certain, it started at or after this
    latest: float | None = None  # and ended before this

    @property
    def start(self) -> float:
        """When it was first seen. [s since 1970]"""
        return (self.first_ms + self.shift_ms) / 1000

    @property
    def end(self) -> float:
        """When both clocks were last noted. [s since 1970]"""
        return (self.last_ms + self.shift_ms) / 1000


def milliseconds(now: Instant) -> tuple[int, int]:
    """Own clock and wall clock of a moment, in ms."""
    wall = round(wall_seconds(now) * 1000)
    return (wall if now.monotonic is None else round(now.monotonic * 1000)), wall


def boot_number(connection: sqlite3.Connection, boot: str, now: Instant) -> int:
    """Number of a start, stored now if it is new; the caller holds the write transaction."""
    connection.execute(
        "INSERT OR IGNORE INTO boot(boot_id, mono0, wall0) VALUES (?, ?, ?)", (boot, now.monotonic, now.wall)
    )
    return int(connection.execute("SELECT boot_no FROM boot WHERE boot_id = ?", (boot,)).fetchone()[0])


Noted = tuple[int, int, int | None]  # own clock, wall clock, known


def clock_step(before: Noted | None, now: Noted) -> float | None:
    """Seconds by which the wall clock stepped since the last note of the same start; None when it ran on."""
    if before is None:
        return None
    step = ((now[1] - before[1]) - (now[0] - before[0])) / 1000
    return step if abs(step) > STEP else None


def note_clock(connection: sqlite3.Connection, boot: tuple[int, str], before: Noted | None, now: Noted) -> bool:
    """Write down both clocks where something changed or some time passed; True when it was written."""
    unchanged = before is not None and clock_step(before, now) is None and before[2] == now[2]
    if before is not None and unchanged and now[0] - before[0] < EVERY:
        return False
    columns = "boot_no, boot, mono_ms, wall_ms, known, crc"
    row = (*boot, *now)
    connection.execute(f"INSERT INTO clock({columns}) VALUES (?, ?, ?, ?, ?, ?)", (*row, key_crc(*row)))
    return True


_ENDS = """SELECT boot_no, max(boot), min(clock_no), max(clock_no), max(CASE WHEN known = 1 THEN clock_no END)
    FROM clock GROUP BY boot_no"""


def all_boots(connection: sqlite3.Connection) -> tuple[Boot, ...]:
    """Every start that has telemetry, in the order of time, as well as it can be told."""
    names = dict(connection.execute("SELECT boot_no, boot_id FROM boot"))
    notes: dict[int, list[Noted]] = {}
    for boot_no, name, *ends in connection.execute(_ENDS).fetchall():
        names[boot_no] = name
        found = [_noted(connection, "clock_no", number) for number in ends if number is not None]
        if not all(found):  # a damaged note: go by the others
            found = [_noted(connection, "boot_no", boot_no)]
        if any(found):
            notes[boot_no] = [note for one in found for note in one]
    for boot_no in _without_notes(connection, notes):
        notes[boot_no] = [_from_rows(connection, boot_no)]
    boots = [_boot(number, names.get(number, f"lost-{number}"), found) for number, found in sorted(notes.items())]
    return tuple(sorted(_bracketed(boots), key=lambda boot: (boot.start, boot.number)))


def _noted(connection: sqlite3.Connection, key: str, number: int) -> list[Noted]:
    """Notes that agree with their checksums."""
    question = f"SELECT boot_no, boot, mono_ms, wall_ms, known, crc FROM clock WHERE {key} = ? ORDER BY clock_no"
    return [row[2:5] for row in connection.execute(question, (number,)) if row[5] == key_crc(*row[:5])]


def _without_notes(connection: sqlite3.Connection, notes: dict[int, list[Noted]]) -> set[int]:
    """Starts with rows whose notes of the clock were lost; looked for only if a note is missing."""
    highest, count = connection.execute("SELECT coalesce(max(clock_no), 0), count(*) FROM clock").fetchone()
    if highest == count and count and notes:
        return set()
    hot = {row[0] for row in connection.execute("SELECT DISTINCT boot_no FROM hot")}
    sealed = {row[0] for row in connection.execute("SELECT DISTINCT boot_no FROM sealed")}
    return (hot | sealed) - notes.keys()


def _from_rows(connection: sqlite3.Connection, boot_no: int) -> Noted:
    """Both clocks of one start by its own rows, or by when it was first seen."""
    row = connection.execute(
        "SELECT mono_ms, wall_ms, known FROM hot WHERE boot_no = ? ORDER BY row_no DESC LIMIT 1", (boot_no,)
    ).fetchone()
    if row is not None:
        return (row[0], row[1], row[2])
    row = connection.execute("SELECT mono_first, block FROM sealed WHERE boot_no = ? LIMIT 1", (boot_no,)).fetchone()
    if row is not None:
        with suppress(ValueError):
            return (row[0], row[0] + said_of(row[1]).shift_ms, 0)
    row = connection.execute("SELECT mono0, wall0 FROM boot WHERE boot_no = ?", (boot_no,)).fetchone()
    if row is None or row[0] is None:
        return (0, 0, 0)
    return (round(row[0] * 1000), round(datetime.fromisoformat(row[1]).timestamp() * 1000), 0)


def _boot(number: int, name: str, notes: list[Noted]) -> Boot:
    """Of its first, its last and its last right note of both clocks."""
    right = [note for note in notes if note[2] == 1]
    mono, wall, known = (right or notes)[-1]
    certain = True if right else (None if known is None else False)
    return Boot(number, name, notes[0][0], max(note[0] for note in notes), wall - mono, certain)


def _bracketed(boots: list[Boot]) -> list[Boot]:
    """Starts whose clock was never right lie between the ends of those before and the beginnings of those after."""
    live = [boot for boot in boots if not boot.id.startswith(FILE)]
    found = [boot for boot in boots if boot.id.startswith(FILE)]
    for k, boot in enumerate(live):
        if boot.certain is False:
            before = [other.end for other in live[:k] if other.certain]
            after = [other.start for other in live[k + 1 :] if other.certain]
            boot = replace(boot, earliest=max(before, default=None), latest=min(after, default=None))
        found.append(boot)
    return found
