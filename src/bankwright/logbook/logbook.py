"""The logbook of one bank: what hands read and tick, on disk before it is acknowledged.

Gives: open_logbook(bank_path, bank) -> Logbook, and its methods:
    append_reading(reading, instrument)   append_readings([...])   readings(at=, quantity=)   latest_readings(quantity)
    tick(step, box)   ticks()   note(text, at=, step=)   photo(path, at=)   event(code, **detail)   strike(number, why)
    hand_over(kind, payload)   latest_result(kind)   entries(...)   instruments()   add_instrument(instrument)
Every appending method returns a receipt (id, number) once the row is committed and synced; the same id sent twice
is stored once. With a bank, places that it does not have and values that cannot be are refused. May be used from
several threads; several programs may hold the file. Refusals are in errors.py, all of them QuestionErrors.
Limits: text is parsed in typed.py; damage is looked for in check_repair.py.
"""

from __future__ import annotations

import hashlib
import os
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, replace
from pathlib import Path
from types import MappingProxyType, TracebackType
from typing import Any, TypeVar

from bankwright.bank.model import Bank
from bankwright.forms.faults import Fault
from bankwright.forms.readings import Instant, Instrument, Reading
from bankwright.logbook import read
from bankwright.logbook.clocks import Clock, SystemClock
from bankwright.logbook.connect import connected, keep_cut_tail, logbook_path, readable
from bankwright.logbook.entries import Entry, Kind, Result, Stored, Ticked, new_id
from bankwright.logbook.errors import EntryRefused, LogbookReadOnly, translated
from bankwright.logbook.plausible import faults_of
from bankwright.logbook.settle import Settling
from bankwright.logbook.wal import has_log
from bankwright.logbook.write import append

__all__ = ["Logbook", "open_logbook"]

T = TypeVar("T")
_LATER = ("zero", "place")  # keys of an instrument that older versions do not know: only where they say something


def open_logbook(
    bank_path: Path | str, bank: Bank | None = None, *, write: bool = True, clock: Clock | None = None
) -> Logbook:
    """Open the logbook beside a bank file; for writing it is made if absent, for reading an absent one is empty."""
    return Logbook(logbook_path(bank_path), bank, write=write, clock=clock)


class Logbook:
    """An open logbook; a context manager."""

    def __init__(self, path: Path, bank: Bank | None = None, *, write: bool = True, clock: Clock | None = None) -> None:
        """Open the file itself; open_logbook() finds it from the bank file."""
        self.path, self.bank, self.may_write = path, bank, write
        self._clock = clock or SystemClock()
        self._lock = threading.RLock()
        had_log = write and has_log(path)
        self._connection = connected(path) if write else readable(path)
        self._settling = Settling(self._connection, self._lock)
        if had_log:
            self._keep_cut_tail()
            self._settling.committed()

    def __enter__(self) -> Logbook:
        """Give itself."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close."""
        self.close()

    def close(self) -> None:
        """Close the file; what was acknowledged is on the disk already."""
        with self._lock:
            self._settling.end()
            self._connection.close()

    # --- appending

    def append(self, *drafts: Entry) -> list[Stored]:
        """Store entries, all or none, in one commit."""
        if not self.may_write:
            raise LogbookReadOnly(self.path, "it was opened for reading only", "Nothing was stored")
        faults = [fault for draft in drafts for fault in faults_of(draft, self.bank)]
        if faults:
            raise EntryRefused(*faults)
        with self._lock, translated(self.path):
            receipts = append(self._connection, drafts, self._clock.now())
            self._settling.committed()
            return receipts

    def append_reading(
        self,
        reading: Reading,
        instrument: Instrument | None = None,
        *,
        step: str | None = None,
        note: str = "",
    ) -> Stored:
        """Store a reading by hand; an instrument that is new or changed is written down with it."""
        return self.append_readings([reading], [instrument] if instrument else [], step=step, note=note)[0]

    def append_readings(
        self,
        readings: Sequence[Reading],
        instruments: Sequence[Instrument] = (),
        *,
        step: str | None = None,
        note: str = "",
    ) -> list[Stored]:
        """Store several readings in one commit, all or none."""
        known = set(self.instruments()) if instruments else set()
        fresh = [_instrument_entry(item) for item in dict.fromkeys(instruments) if item not in known]
        drafts = [
            Entry(
                "reading",
                item.id or new_id(),
                item.at,
                step,
                item.who,
                note,
                item.corrects,
                item.when,
                item.quantity,
                item.value,
                item.low,
                item.high,
                item.instrument,
                item.as_typed,
                item.origin,
            )
            for item in readings
        ]
        return self.append(*fresh, *drafts)[len(fresh) :]

    def add_instrument(self, instrument: Instrument, *, who: str = "", id: str = "") -> Stored:  # noqa: A002
        """Write down an instrument with its accuracy."""
        return self._one(replace(_instrument_entry(instrument), who=who), id)

    def tick(
        self,
        step: str,
        box: str = "",
        *,
        done: bool = True,
        digest: str = "",
        at: str | None = None,
        who: str = "",
        note: str = "",
        id: str = "",  # noqa: A002
        when: Instant | None = None,
    ) -> Stored:
        """Tick a box of a step (no box: the step itself), or take the tick back with done=False."""
        body = {"tick": box, "done": done, "digest": digest}
        return self._one(Entry("tick", "", at, step, who, note, when=when, body=_body(body)), id)

    def note(
        self,
        text: str,
        *,
        at: str | None = None,
        step: str | None = None,
        who: str = "",
        id: str = "",  # noqa: A002
        when: Instant | None = None,
    ) -> Stored:
        """Write a note."""
        return self._one(Entry("note", "", at, step, who, text, when=when), id)

    def strike(self, number: int, why: str, *, who: str = "", id: str = "") -> Stored:  # noqa: A002
        """Strike out entry `number` by a note that says why; the entry stays readable."""
        old = self.entry(number)
        return self._one(Entry("note", "", old.at, old.step, who, why, corrects=old.id), id)

    def photo(
        self,
        path: Path | str,
        *,
        at: str | None = None,
        step: str | None = None,
        who: str = "",
        note: str = "",
        id: str = "",  # noqa: A002
    ) -> Stored:
        """Refer to a photo by its path (beside the logbook where it can be) and the digest of its bytes."""
        try:
            with Path(path).open("rb") as file:
                digest = hashlib.file_digest(file, "sha256").hexdigest()
        except OSError as error:
            raise EntryRefused(
                Fault("photo", "photo-unreadable", f"{path} cannot be read ({error.strerror})")
            ) from error
        body = {"path": Path(os.path.relpath(path, self.path.parent)).as_posix(), "sha256": digest}
        return self._one(Entry("photo", "", at, step, who, note, body=_body(body)), id)

    def event(
        self,
        code: str,
        *,
        at: str | None = None,
        who: str = "",
        id: str = "",  # noqa: A002
        when: Instant | None = None,
        **detail: Any,
    ) -> Stored:
        """Write down that something happened; `when`, if not now."""
        return self._one(Entry("event", "", at, who=who, when=when, body=_body({"code": code, **detail})), id)

    def hand_over(
        self,
        kind: str,
        payload: Any,
        *,
        format: int = 1,  # noqa: A002
        bank_digest: str = "",
        who: str = "",
        id: str = "",  # noqa: A002
    ) -> Stored:
        """Keep the result of a stage for a later one; `payload` is whatever forms/as_json can write."""
        digest = bank_digest or (self.bank.digest if self.bank else "")
        body = {"kind": kind, "format": format, "bank_digest": digest, "payload": payload}
        return self._one(Entry("result", "", who=who, body=_body(body)), id)

    # --- reading

    def entries(
        self,
        *,
        kind: Kind | None = None,
        at: str | None = None,
        step: str | None = None,
        quantity: str | None = None,
        standing: bool = False,
    ) -> Iterator[Entry]:
        """All entries that fit, in the order they were stored."""
        found = self._ask(
            lambda c: list(read.entries(c, kind=kind, at=at, step=step, quantity=quantity, standing=standing))
        )
        return iter(found)

    def entry(self, number: int) -> Entry:
        """Find an entry by its number; refused when there is none."""
        found = self._ask(lambda c: read.entry_by_number(c, number))
        if found is None:
            raise EntryRefused(Fault("entry", "no-such-entry", f"there is no entry {number}"))
        return found

    def entry_by_id(self, id: str) -> Entry | None:  # noqa: A002
        """Find an entry by the id that its maker gave it."""
        return self._ask(lambda c: read.entry_by_id(c, id))

    def readings(self, at: str | None = None, quantity: str | None = None) -> tuple[Reading, ...]:
        """Readings that stand, oldest first."""
        return self._ask(lambda c: read.readings(c, at, quantity))

    def latest_readings(self, quantity: str) -> dict[str, Reading]:
        """The newest reading that stands, by place."""
        return self._ask(lambda c: read.latest_readings(c, quantity))

    def ticks(self) -> dict[tuple[str, str], Ticked]:
        """The present state of every box that was ever ticked, by (step, box)."""
        return self._ask(read.ticks)

    def latest_result(self, kind: str) -> Result | None:
        """The newest result of a kind; None when there is none."""
        return self._ask(lambda c: read.latest_result(c, kind))

    def instruments(self) -> tuple[Instrument, ...]:
        """Every instrument that was written down."""
        return self._ask(read.instruments)

    # --- inside

    def _ask(self, question: Callable[[Any], T]) -> T:
        with self._lock, translated(self.path):
            return question(self._connection)

    def _one(self, draft: Entry, id_: str) -> Stored:
        return self.append(replace(draft, id=id_ or new_id()))[0]

    def _keep_cut_tail(self) -> None:
        """Before anything is written: if commits were cut off the log's end, keep it aside and say so."""
        with translated(self.path):
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                found = keep_cut_tail(self.path)
            finally:
                self._connection.execute("ROLLBACK")
            if found is not None:
                tail, kept = found
                body = {"code": "log-end-cut", "frames": tail.frames, "commits": tail.commits, "kept_as": kept}
                draft = Entry("event", new_id(), who="logbook", body=_body(body))
                append(self._connection, [draft], self._clock.now())


def _body(body: Mapping[str, Any]) -> Mapping[str, Any]:
    return MappingProxyType(dict(body))


def _instrument_entry(instrument: Instrument) -> Entry:
    body = {name: value for name, value in asdict(instrument).items() if value is not None or name not in _LATER}
    return Entry("instrument", new_id(), instrument=instrument.name, body=_body(body))
