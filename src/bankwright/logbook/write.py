"""Appending rows: one transaction, one sync, then a receipt. Nothing is ever changed or removed.

Gives: append(), insert_as_it_was(). Inside the transaction it looks whether an id was stored before (the same entry
again is answered with its first receipt), whether a correction points to a standing entry of the same kind, and
whether the wall clock jumped since the row before (then an event stands between them).
Limits: what an entry may say is judged before (plausible.py).
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from bankwright.forms.as_json import plain
from bankwright.forms.faults import Fault
from bankwright.forms.readings import Instant
from bankwright.logbook.clocks import jump
from bankwright.logbook.entries import Entry, Stored, line, new_id, same_content
from bankwright.logbook.errors import EntryRefused
from bankwright.logbook.read import entry_by_id, last_stored
from bankwright.logbook.schema import COLUMNS

__all__ = ["append", "insert_as_it_was"]

_INSERT = f"INSERT INTO entry({', '.join(COLUMNS)}) VALUES ({', '.join('?' * len(COLUMNS))}) ON CONFLICT(id) DO NOTHING"


def append(connection: sqlite3.Connection, drafts: Sequence[Entry], now: Instant) -> list[Stored]:
    """Store drafts, all or none; returns when they are on the disk. The caller holds no transaction."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        receipts = _append(connection, [_settled(draft) for draft in drafts], now)
        connection.execute("COMMIT" if any(not receipt.again for receipt in receipts) else "ROLLBACK")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
    return receipts


def _append(connection: sqlite3.Connection, drafts: list[Entry], now: Instant) -> list[Stored]:
    """Insert first and ask afterwards: an id that is there already is the rare case. Events that then stand alone are
    rolled back by the caller."""
    seq, last = last_stored(connection)
    for event in _clock_events(connection, last, now):
        seq = _insert(connection, replace(event, seq=seq + 1, stored=now))
    receipts = []
    for draft in drafts:
        before = entry_by_id(connection, draft.id) if draft.corrects is not None else None
        if before is None:
            _check_correction(connection, draft)
            if _insert(connection, replace(draft, seq=seq + 1, stored=now)):
                seq += 1
                receipts.append(Stored(draft.id, seq))
                continue
            before = entry_by_id(connection, draft.id)
            assert before is not None
        receipts.append(_again(draft, before))
    return receipts


def _settled(draft: Entry) -> Entry:
    """Give the body the shape that it will have when it is read back."""
    if not draft.body:
        return draft
    return replace(draft, body=MappingProxyType(json.loads(json.dumps(plain(draft.body), allow_nan=False))))


def _again(draft: Entry, before: Entry) -> Stored:
    if not same_content(draft, before):
        raise EntryRefused(
            Fault(
                draft.id,
                "id-taken",
                f"entry {before.seq} was stored under this id and says something else",
                hint="Enter it under an id of its own; to correct the old one, point to it",
            )
        )
    return Stored(before.id, before.seq, again=True)


def _check_correction(connection: sqlite3.Connection, draft: Entry) -> None:
    if draft.corrects is None:
        return
    old = entry_by_id(connection, draft.corrects)
    if old is None:
        raise EntryRefused(
            Fault("corrects", "correction-of-nothing", f"there is no entry with the id {draft.corrects}")
        )
    row = connection.execute("SELECT seq FROM entry WHERE corrects = ?", (old.id,)).fetchone()
    if row is not None:
        raise EntryRefused(
            Fault(
                "corrects",
                "corrected-before",
                f"entry {old.seq} was corrected by entry {row[0]}",
                hint=f"Correct entry {row[0]}",
            )
        )
    if draft.kind not in (old.kind, "note"):
        raise EntryRefused(
            Fault(
                "corrects",
                "correction-of-another-kind",
                f"entry {old.seq} is a {old.kind}, this one a {draft.kind}",
                hint="Correct it by an entry of its own kind, or strike it out with a note",
            )
        )


def _clock_events(connection: sqlite3.Connection, last: Instant | None, now: Instant) -> Iterable[Entry]:
    """Count the boot, and say if the wall clock jumped since the row before."""
    if now.boot and (last is None or last.boot != now.boot):
        connection.execute(
            "INSERT OR IGNORE INTO boot(boot_id, mono0, wall0) VALUES (?, ?, ?)", (now.boot, now.monotonic, now.wall)
        )
    step = jump(last, now) if last else None
    if last and step is not None:
        body = {"code": "clock-jump", "before": last.wall, "after": now.wall, "seconds": round(step, 3),
                "same_boot": last.boot == now.boot}  # fmt: skip
        yield Entry("event", new_id(), who="logbook", body=MappingProxyType(body))


def _instant(moment: Instant | None) -> tuple[Any, ...]:
    if moment is None:
        return (None, None, None, None)
    return (moment.wall, moment.boot, moment.monotonic, moment.clock_known)


def _insert(connection: sqlite3.Connection, entry: Entry) -> int:
    """Write both copies; its number, or 0 where its id is there already and nothing was written."""
    body = json.dumps(dict(entry.body), ensure_ascii=False, allow_nan=False) if entry.body else None
    row = (
        entry.seq, entry.id, entry.kind, entry.at, entry.step, entry.who, entry.note, entry.corrects,
        *_instant(entry.when), *_instant(entry.stored),
        entry.quantity, entry.value, entry.low, entry.high, entry.instrument, entry.as_typed, entry.origin, body,
    )  # fmt: skip
    if connection.execute(_INSERT, row).rowcount == 0:
        return 0
    connection.execute("INSERT INTO line(seq, text) VALUES (?, ?)", (entry.seq, line(entry)))
    return entry.seq


def insert_as_it_was(connection: sqlite3.Connection, entries: Sequence[Entry], highest: int) -> None:
    """Write saved entries into an empty logbook under their own numbers; `highest` is the number to go on from."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        for entry in entries:
            if not _insert(connection, entry):
                raise sqlite3.IntegrityError(f"entry {entry.seq}: its id is there already")
        if highest:
            connection.execute("UPDATE sqlite_sequence SET seq = ? WHERE name = 'entry'", (highest,))
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
