"""Questions to the logbook: entries in the order they came, and what stands of them now.

Gives: entries(), entry_by_id(), entry_by_number(), last_stored(), readings(), latest_readings(), ticks(),
latest_result(), instruments(). An entry stands until a later one corrects it; order is the order of storing, never
that of a wall clock.
Of the two copies the line is read, which carries a digest; the columns answer for a line that is damaged, and find
what is asked for.
Limits: takes an open connection; the class that holds it is in logbook.py.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import suppress
from types import MappingProxyType
from typing import Any

from bankwright.forms.readings import Instant, Instrument, Reading
from bankwright.logbook.clocks import wall_seconds
from bankwright.logbook.entries import Entry, Kind, Result, Ticked, entry_of_line, reading_of
from bankwright.logbook.errors import LogbookDamaged
from bankwright.logbook.schema import COLUMNS

__all__ = [
    "entries",
    "entry_by_id",
    "entry_by_number",
    "entry_of_row",
    "instruments",
    "last_stored",
    "latest_readings",
    "latest_result",
    "readings",
    "ticks",
]

_LINES = "SELECT entry.seq, line.text FROM entry LEFT JOIN line ON line.seq = entry.seq"
_COLUMNS = f"SELECT {', '.join(COLUMNS)} FROM entry WHERE seq = ?"
_NUMBER = "SELECT seq FROM sqlite_sequence WHERE name = 'entry'"
_LAST = (
    f"SELECT ifnull(({_NUMBER}), seq), stored_wall, stored_boot, stored_monotonic, stored_known, seq "
    "FROM entry ORDER BY seq DESC LIMIT 1"
)
_STANDING = "NOT EXISTS (SELECT 1 FROM entry AS newer WHERE newer.corrects = entry.id)"


def _instant(wall: str | None, boot: str | None, monotonic: float | None, known: int | None) -> Instant | None:
    return None if wall is None else Instant(wall, boot or "", monotonic, None if known is None else bool(known))


def entry_of_row(row: tuple[Any, ...]) -> Entry:
    """Make an entry of the columns of `entry`, in their order."""
    seq, id_, kind, at, step, who, note, corrects, *times = row[:16]
    quantity, value, low, high, instrument, as_typed, origin, body = row[16:]
    return Entry(
        kind, id_, at, step, who, note, corrects, _instant(*times[:4]), quantity, value, low, high, instrument,
        as_typed, origin, MappingProxyType(json.loads(body) if body else {}), seq, _instant(*times[4:]),
    )  # fmt: skip


def entries(
    connection: sqlite3.Connection,
    *,
    kind: Kind | None = None,
    at: str | None = None,
    step: str | None = None,
    quantity: str | None = None,
    standing: bool = False,
) -> Iterator[Entry]:
    """All entries that fit, oldest first; with `standing` without those that were corrected."""
    asked = {"kind": kind, "at": at, "step": step, "quantity": quantity}
    given = {name: value for name, value in asked.items() if value is not None}
    tests = [f"entry.{name} = :{name}" for name in given] + ([_STANDING] if standing else [])
    where = f" WHERE {' AND '.join(tests)}" if tests else ""
    for row in connection.execute(f"{_LINES}{where} ORDER BY entry.seq", given):
        yield _proved(connection, *row)


def _proved(connection: sqlite3.Connection, seq: int, text: str | None) -> Entry:
    """The entry by its line, which proves itself; by its columns where the line is damaged."""
    with suppress(ValueError, TypeError):
        return entry_of_line(text or "")
    try:
        return entry_of_row(connection.execute(_COLUMNS, (seq,)).fetchone())
    except (ValueError, TypeError) as error:
        words = "`bankwright log check` says what can be read, and saves it with --salvage"
        raise LogbookDamaged(None, f"entry {seq} is damaged in both of its copies", words) from error


def _one(connection: sqlite3.Connection, where: str, value: object) -> Entry | None:
    row = connection.execute(f"{_LINES} WHERE {where}", (value,)).fetchone()
    return None if row is None else _proved(connection, *row)


def entry_by_id(connection: sqlite3.Connection, id_: str) -> Entry | None:
    """Find an entry by the id that its maker gave it."""
    return _one(connection, "entry.id = ?", id_)


def entry_by_number(connection: sqlite3.Connection, seq: int) -> Entry | None:
    """Find an entry by its number."""
    return _one(connection, "entry.seq = ?", seq)


def last_stored(connection: sqlite3.Connection) -> tuple[int, Instant | None]:
    """The highest number ever given, and when the newest entry was stored; 0 and None in an empty logbook."""
    row = connection.execute(_LAST).fetchone()
    if row is None:
        row = connection.execute(_NUMBER).fetchone()
        return (int(row[0]) if row else 0), None
    highest = int(row[0])
    found = _instant(*row[1:5])
    try:
        if found is not None:
            wall_seconds(found)
        return highest, found
    except ValueError:  # the columns are damaged: by the line
        entry = entry_by_number(connection, row[5])
        return highest, entry.stored if entry else None


def readings(connection: sqlite3.Connection, at: str | None = None, quantity: str | None = None) -> tuple[Reading, ...]:
    """Standing readings, oldest first."""
    found = entries(connection, kind="reading", at=at, quantity=quantity, standing=True)
    return tuple(reading_of(entry) for entry in found)


def latest_readings(connection: sqlite3.Connection, quantity: str) -> dict[str, Reading]:
    """The newest standing reading of each place.

    Newest is the last one stored; one that came later and is certain to be older does not displace it.
    """
    found: dict[str, Reading] = {}
    for reading in readings(connection, quantity=quantity):
        before = found.get(reading.at)
        if before is None or not _is_older(reading.when, before.when):
            found[reading.at] = reading
    return found


def _is_older(one: Instant, other: Instant) -> bool:
    """True when it is certain: by the clock of one boot, by a time given by hand, by two clocks known to be right."""
    if one.boot and one.boot == other.boot and one.monotonic is not None and other.monotonic is not None:
        return one.monotonic < other.monotonic
    if not one.boot or (one.clock_known and other.clock_known):
        return wall_seconds(one) < wall_seconds(other)
    return False


def ticks(connection: sqlite3.Connection) -> dict[tuple[str, str], Ticked]:
    """The present state of every box that was ever ticked, by (step, tick)."""
    found: dict[tuple[str, str], Ticked] = {}
    for entry in entries(connection, kind="tick", standing=True):
        body, step = entry.body, entry.step or ""
        tick = str(body.get("tick", ""))
        before = found.get((step, tick))
        if before is not None and _is_older(entry.moment, before.when):
            continue
        found[step, tick] = Ticked(
            step, tick, bool(body["done"]), entry.who, entry.moment, str(body.get("digest", "")), entry.seq
        )
    return found


def latest_result(connection: sqlite3.Connection, kind: str) -> Result | None:
    """The newest standing result of a kind ("match record", "torque log", "baseline")."""
    last: Result | None = None
    for entry in entries(connection, kind="result", standing=True):
        body = entry.body
        if body["kind"] == kind and not (last and _is_older(entry.moment, last.when)):
            last = Result(
                kind, int(body["format"]), body["payload"], str(body.get("bank_digest", "")),
                entry.who, entry.moment, entry.id, entry.seq,
            )  # fmt: skip
    return last


def instruments(connection: sqlite3.Connection) -> tuple[Instrument, ...]:
    """Every instrument as last written down, one a name, quantity and range."""
    found: dict[tuple[object, ...], Instrument] = {}
    for entry in entries(connection, kind="instrument", standing=True):
        instrument = Instrument(**entry.body)
        found[instrument.name, instrument.quantity, instrument.low, instrument.high] = instrument
    return tuple(found.values())
