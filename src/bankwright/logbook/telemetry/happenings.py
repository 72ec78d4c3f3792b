"""Events beside telemetry (alarms, faults of the bus, steps of the clock), and where an estimator stopped.

Gives: Happening, insert_happening(), happenings(), State, put_state(), state_of(), state_names().
Both are committed with a sync. A state is replaced by the next one of its name; telemetry can make it again.
Limits: what a person enters is an entry of the logbook, not this.
"""

from __future__ import annotations

import json
import sqlite3
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from bankwright.forms.faults import Fault
from bankwright.logbook.errors import EntryRefused
from bankwright.logbook.telemetry.careful import is_row

__all__ = [
    "Happening",
    "State",
    "happening_crc",
    "happenings",
    "insert_happening",
    "put_state",
    "state_crc",
    "state_names",
    "state_of",
]


@dataclass(frozen=True, slots=True)
class Happening:
    """One event; `time` is corrected like that of rows."""

    number: int
    code: str
    at: str
    time: float  # s since 1970
    detail: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class State:
    """Where an estimator stopped: its own bytes, and the version of their form."""

    name: str
    version: int
    blob: bytes


def happening_crc(row: tuple[Any, ...]) -> int:
    """Checksum of boot, both clocks, known, code, place and detail."""
    return zlib.crc32(json.dumps(row).encode())


def insert_happening(
    connection: sqlite3.Connection, boot_no: int, noted: tuple[int, int, int | None], code: str, at: str, **detail: Any
) -> int:
    """Store an event; the caller holds the write transaction."""
    try:
        text = json.dumps(detail, allow_nan=False, separators=(",", ":"))
    except (TypeError, ValueError) as error:
        words = f"its detail cannot be written ({error}); nothing was stored"
        raise EntryRefused(Fault(code, "wrong-detail", words)) from error
    row = (boot_no, *noted, code, at, text)
    columns = "boot_no, mono_ms, wall_ms, known, code, at, detail, crc"
    made = connection.execute(
        f"INSERT INTO happening({columns}) VALUES (?, ?, ?, ?, ?, ?, ?, ?)", (*row, happening_crc(row))
    )
    return int(made.lastrowid or 0)


def happenings(
    connection: sqlite3.Connection, shifts: Mapping[int, int], code: str | None = None, at: str | None = None
) -> Iterator[Happening]:
    """Events in the order they were stored; `shifts`: time less own clock by start of the machine, in ms."""
    tests = [f"{name} = ?" for name, value in (("code", code), ("at", at)) if value is not None]
    where = f" WHERE {' AND '.join(tests)}" if tests else ""
    given = [value for value in (code, at) if value is not None]
    for row in connection.execute(f"SELECT * FROM happening{where} ORDER BY 1", given):
        if not is_row("happening", row) or row[8] != happening_crc(row[1:8]):
            continue  # damaged; `log check` names it
        number, boot_no, mono, wall, _, its_code, its_at, detail, _ = row
        time = (mono + shifts[boot_no] if boot_no in shifts else wall) / 1000
        yield Happening(number, its_code, its_at, time, MappingProxyType(json.loads(detail)))


def state_crc(name: str, version: int, blob: bytes) -> int:
    """Checksum of a state."""
    return zlib.crc32(blob, zlib.crc32(f"{name} {version}".encode()))


def put_state(connection: sqlite3.Connection, state: State, wall_ms: int) -> None:
    """Replace the state of this name; the caller holds the write transaction."""
    row = (state.name, state.version, state.blob, wall_ms, state_crc(state.name, state.version, state.blob))
    connection.execute("INSERT OR REPLACE INTO state VALUES (?, ?, ?, ?, ?)", row)


def state_of(connection: sqlite3.Connection, name: str) -> State | None:
    """The state of this name; None when there is none, or when it does not agree with its checksum."""
    row = connection.execute("SELECT version, blob, crc FROM state WHERE name = ?", (name,)).fetchone()
    if row is None or not isinstance(row[1], bytes) or row[2] != state_crc(name, row[0], row[1]):
        return None
    return State(name, int(row[0]), bytes(row[1]))


def state_names(connection: sqlite3.Connection) -> tuple[str, ...]:
    """Every name that has a state."""
    return tuple(row[0] for row in connection.execute("SELECT name FROM state ORDER BY name"))
