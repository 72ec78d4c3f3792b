"""What hands enter beside the rack: ticks, readings, notes, photos; each with an id that the browser made.

Gives: TickIn, ReadingIn, NoteIn, EntryIn, Taken, taken(), photo_taken(). The same id sent again is stored once, so that
a browser may send what it is not sure of until it hears that it was stored.
Limits: what may be entered is decided by logbook/ and build/progress; photos are named here, never by who sends them.
"""

from __future__ import annotations

import hashlib
import threading
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.readings import Instant
from bankwright.forms.sheets import Step
from bankwright.job import Job
from bankwright.job.building import tick_step
from bankwright.job.logs import Entry, Logbook, Stored, SystemClock, typed_reading
from bankwright.web.desk import Desk
from bankwright.web.photos import PhotoRefused, kept, kind_of, without_place

__all__ = ["EntryIn", "NoteIn", "ReadingIn", "Taken", "TickIn", "photo_taken", "taken"]

Id = Annotated[str, Field(pattern=r"^[0-9a-f]{16,32}$", description="Made by whoever enters it; stored once.")]
Age = Annotated[float, Field(ge=0, le=30 * 86400, description="Seconds since it was entered. [s]")]
Name = Annotated[str, Field(max_length=120)]
_LOCK = threading.Lock()


class _Entry(BaseModel):
    model_config = ConfigDict(strict=True, extra="forbid", allow_inf_nan=False)

    id: Id
    age: Age = 0.0
    who: Name = ""


class TickIn(_Entry):
    """A box of a step, ticked or taken back."""

    kind: Literal["tick"]
    step: Name
    box: Annotated[str, Field(max_length=200)] = ""
    done: bool = True


class ReadingIn(_Entry):
    """A value as the meter shows it."""

    kind: Literal["reading"]
    at: Name
    text: Annotated[str, Field(max_length=80)]
    step: Name | None = None
    quantity: Name | None = None
    meter: Name | None = None


class NoteIn(_Entry):
    """A note."""

    kind: Literal["note"]
    text: Annotated[str, Field(min_length=1, max_length=2000)]
    step: Name | None = None
    at: Name | None = None


EntryIn = Annotated[TickIn | ReadingIn | NoteIn, Field(discriminator="kind")]


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of an entry: its number, or the faults for which it was refused; a word of warning."""

    id: str
    number: int | None
    again: bool
    faults: tuple[Fault, ...] = ()
    warning: str = ""


def taken(desk: Desk, entry: TickIn | ReadingIn | NoteIn) -> Taken:
    """Store an entry, or say why not."""
    job = desk.look().shown
    try:
        if job is None:
            raise QuestionError((Fault("", "no-bank", "no bank is described yet"),))
        book = desk.book(write=True)
        assert book is not None
        with _LOCK:
            stored, warning = _stored(book, job, entry)
    except QuestionError as error:
        return Taken(entry.id, None, False, error.faults)
    return Taken(entry.id, stored.seq, stored.again, (), warning)


def _stored(book: Logbook, job: Job, entry: TickIn | ReadingIn | NoteIn) -> tuple[Stored, str]:
    old = book.entry_by_id(entry.id)
    if old is not None:  # sent again: what was stored stands
        return _again(old, _says(entry, old)), ""
    when = _moment(entry.age)
    if isinstance(entry, TickIn):
        step = step_of(job, entry.step)
        return tick_step(book, step, entry.box, who=entry.who, done=entry.done, id_=entry.id, when=when), ""
    if isinstance(entry, NoteIn):
        if entry.step:
            step_of(job, entry.step)
        return book.note(entry.text, at=entry.at, step=entry.step, who=entry.who, id=entry.id, when=when), ""
    return _reading(book, job, entry, when)


def _says(entry: TickIn | ReadingIn | NoteIn, old: Entry) -> bool:
    """True when a stored entry holds what the hand entered; when it was sent, and what it rested on, does not count."""
    if entry.kind != old.kind or (entry.step or None) != old.step:
        return False
    if isinstance(entry, TickIn):
        return (entry.box, entry.done) == (old.body.get("tick", ""), old.body.get("done"))
    if isinstance(entry, NoteIn):
        return (entry.text, entry.at or None) == (old.note, old.at)
    return (entry.at, entry.text.strip()) == (old.at, old.as_typed.strip())


def _again(old: Entry, same: bool) -> Stored:
    """The receipt of what was stored under this id before; refused when it says something else."""
    if not same:
        found = f"entry {old.seq} was stored under this id and says something else"
        raise QuestionError((Fault("id", "id-taken", found, hint="Enter it under an id of its own"),))
    return Stored(old.id, old.seq, True)


def _reading(book: Logbook, job: Job, entry: ReadingIn, when: Instant | None) -> tuple[Stored, str]:
    step = step_of(job, entry.step) if entry.step else None
    here = [w for w in step.readings if w.at == entry.at] if step else []
    known = (*job.bank.instruments, *(item for item in book.instruments() if item not in job.bank.instruments))
    typed = typed_reading(
        entry.at, entry.text, when or SystemClock().now(), bank=job.bank,
        quantity=entry.quantity or (here[0].quantity if len(here) == 1 else None), meter=entry.meter or None,
        instruments=known, who=entry.who, id=entry.id,
    )  # fmt: skip
    stored = book.append_reading(typed.reading, typed.instrument, step=entry.step)
    wanted = next((w for w in here if w.quantity == typed.reading.quantity), None)
    if wanted is None:
        return stored, ""
    value = typed.reading.value
    outside = (wanted.low is not None and value < wanted.low) or (wanted.high is not None and value > wanted.high)
    return stored, "It lies outside what this step expects. Stop and find out why." if outside else ""


def step_of(job: Job, name: str) -> Step:
    """A step of the building sheet; QuestionError when there is none."""
    for step in job.sheet.steps:
        if step.id == name:
            return step
    raise QuestionError((Fault("step", "unknown-step", f'there is no step "{name}"'),))


def _moment(age: float) -> Instant | None:
    """When it was entered, by how long it waited: the clock of a phone need not be right."""
    if age < 5:
        return None
    return Instant((datetime.now().astimezone() - timedelta(seconds=age)).isoformat(timespec="seconds"))


def photo_taken(desk: Desk, content: bytes, id_: str, step: str | None, at: str | None, *, who: str) -> Taken:
    """Keep a photo in the folder `photos` beside the bank file, under a name of our own, and refer to it."""
    job = desk.look().shown
    kind = kind_of(content)
    if kind is None:
        fault = Fault("photo", "no-photo", "this is no photo that is known here", "JPEG, PNG, WebP or HEIC")
        return Taken(id_, None, False, (fault,))
    if job is not None and at is not None and at not in job.bank:
        return Taken(id_, None, False, (Fault("at", "unknown-place", f'the bank has no place "{at}"'),))
    try:
        if job is not None and step is not None:
            step_of(job, step)
        clean = without_place(content, kind)
        book = desk.book(write=True)
        assert book is not None
        with _LOCK:
            stored = _photo_stored(desk, book, (clean, kind), id_, step, at=at, who=who)
    except QuestionError as error:
        return Taken(id_, None, False, error.faults)
    except PhotoRefused as error:
        return Taken(id_, None, False, (Fault("photo", "not-kept", f"the photo was not kept: {error}"),))
    except OSError as error:
        return Taken(id_, None, False, (Fault("photo", "not-written", f"the photo was not kept: {error.strerror}"),))
    return Taken(id_, stored.seq, stored.again)


def _photo_stored(
    desk: Desk, book: Logbook, photo: tuple[bytes, str], id_: str, step: str | None, *, at: str | None, who: str
) -> Stored:
    content, kind = photo
    old = book.entry_by_id(id_)
    if old is not None:
        same = old.kind == "photo" and (old.step, old.at) == (step, at)
        return _again(old, same and old.body.get("sha256") == hashlib.sha256(content).hexdigest())
    path = kept(desk.path.parent / "photos", f"{id_}.{kind}", content)
    return book.photo(path, at=at, step=step, who=who, id=id_)
