"""One entry of the logbook, its written line, and the views that stages read.

Gives: Entry (any row), Stored (the receipt), Ticked, Result, new_id(), line(), entry_of_line(), reading_of(),
same_content(). The line is the entry as one text that checks itself: it starts with MARK, holds everything, and
carries a digest of the rest, so that it is found and proved even in a file that no longer opens.
Limits: no disk here (write, read); whether an entry makes sense is plausible.py.
"""

from __future__ import annotations

import hashlib
import json
import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from types import MappingProxyType
from typing import Any, Literal

from bankwright.forms.readings import Instant, Reading

__all__ = [
    "KINDS",
    "MARK",
    "Entry",
    "Kind",
    "Result",
    "Stored",
    "Ticked",
    "entry_of_line",
    "line",
    "new_id",
    "reading_of",
    "same_content",
]

Kind = Literal["reading", "tick", "note", "photo", "event", "result", "instrument"]
KINDS: tuple[Kind, ...] = ("reading", "tick", "note", "photo", "event", "result", "instrument")
MARK = '{"bankwright.entry":1,'
_HEAD = f'{MARK}"digest":"'


@dataclass(frozen=True, slots=True)
class Entry:
    """One row: what every kind has, the columns of a reading, and a body for what only one kind has."""

    kind: Kind
    id: str  # made by whoever enters it; the same id is stored once
    at: str | None = None  # a name in the bank
    step: str | None = None  # id of a sheet's step
    who: str = ""
    note: str = ""
    corrects: str | None = None  # id of the entry that this one replaces; a note strikes it out
    when: Instant | None = None  # as given by whoever enters it; None: when it was stored
    quantity: str | None = None
    value: float | None = None  # SI
    low: float | None = None
    high: float | None = None
    instrument: str | None = None
    as_typed: str = ""
    origin: str = ""  # how known
    body: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))
    seq: int = 0  # its number; 0: not stored yet
    stored: Instant | None = None

    @property
    def moment(self) -> Instant:
        """When it was: as given, else when it was stored."""
        moment = self.when or self.stored
        if moment is None:
            raise ValueError("an entry that is not stored yet has no time")
        return moment


@dataclass(frozen=True, slots=True)
class Stored:
    """A receipt: the entry is on the disk."""

    id: str
    seq: int
    again: bool = False  # it was there already, sent a second time


@dataclass(frozen=True, slots=True)
class Ticked:
    """The present state of one box of a step."""

    step: str
    tick: str  # id of the box; empty: the whole step
    done: bool
    who: str
    when: Instant
    digest: str  # of what the step rested on when it was ticked
    seq: int


@dataclass(frozen=True, slots=True)
class Result:
    """What one stage hands to a later one: match record, torque log, baseline."""

    kind: str
    format: int
    payload: Any
    bank_digest: str
    who: str
    when: Instant
    id: str
    seq: int


def new_id() -> str:
    """Make an id that nobody else makes: 16 hexadecimal digits."""
    return secrets.token_hex(8)


_FLOATS = frozenset(("value", "low", "high"))
_FIELDS = tuple(item.name for item in fields(Entry))
_ENCODER = json.JSONEncoder(ensure_ascii=True, allow_nan=False, separators=(",", ":"))


def _filled(entry: Entry) -> dict[str, Any]:
    """All that says something, in the order of the fields."""
    found: dict[str, Any] = {}
    for name in _FIELDS:
        value = getattr(entry, name)
        if value is None or value == "" or (name == "seq" and not value):
            continue
        if name in _FLOATS:
            value = float(value)
        elif isinstance(value, Instant):
            value = [value.wall, value.boot, value.monotonic, value.clock_known]
        elif name == "body":
            if not value:
                continue
            value = dict(value)
        found[name] = value
    return found


def _text(body: Any) -> str:
    return _ENCODER.encode(body)


def line(entry: Entry) -> str:
    """Write a stored entry as its line."""
    text = _text(_filled(entry))
    return f'{_HEAD}{_digest(text)}",{text[1:]}'


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode("ascii")).hexdigest()[:16]


def entry_of_line(text: str) -> Entry:
    """Read a line back; ValueError when it is not whole."""
    head = len(_HEAD)
    if not text.startswith(_HEAD) or text[head + 16 : head + 18] != '",':
        raise ValueError("not the line of an entry")
    rest = "{" + text[head + 18 :]
    if text[head : head + 16] != _digest(rest):
        raise ValueError("the line does not agree with its digest")
    body = json.loads(rest)
    for name in ("when", "stored"):
        if name in body:
            body[name] = Instant(*body[name])
    return Entry(**{**body, "body": MappingProxyType(body.get("body", {}))})


def same_content(one: Entry, other: Entry) -> bool:
    """True when two entries say the same; when they were sent does not count."""
    a, b = (replace(entry, seq=0, stored=None, when=None) for entry in (one, other))
    return _text(_filled(a)) == _text(_filled(b))


def reading_of(entry: Entry) -> Reading:
    """See an entry as the reading that it is."""
    if entry.quantity is None or entry.value is None or entry.at is None:
        raise ValueError(f"entry {entry.seq} is no reading")
    return Reading(
        quantity=entry.quantity, at=entry.at, value=entry.value, low=entry.low, high=entry.high,
        instrument=entry.instrument, as_typed=entry.as_typed, who=entry.who, when=entry.moment,
        origin=entry.origin or "by hand", id=entry.id, corrects=entry.corrects,
    )  # fmt: skip
