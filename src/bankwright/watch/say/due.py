"""What is due: the schedule of Build, what stands in for what cannot be heard, and what the data ask for.

Gives: Due, Task, due_of(), due_section(), due_words(), STANDS_IN, SCHEDULE, UNUSED. Each has its day; a day that is
past is overdue. The schedule counts from the first load, as the logbook or else the telemetry tells it, and from when
each was last done.
Limits: without a first load and without telemetry nothing has a day. The row for a bank that stands unused is no task
of a bank that is watched.
Sources: intervals as they stand on the task; a month to look at what the data show: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from bankwright.bank.asks import asking
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.wording import say
from bankwright.watch.joints.cards import GROWN
from bankwright.watch.say.done import Done
from bankwright.watch.say.words import clause, day_text, first_sentence, month_text
from bankwright.watch.section import Asked, Row, Section, StandIn

__all__ = ["SCHEDULE", "STANDS_IN", "UNUSED", "Due", "State", "Task", "due_of", "due_section", "due_words"]

State = Literal["overdue", "now", "to come", "by the listener"]
CHOICE = Source("our choice", how_known="common practice, no source")
STANDS_IN = Card(
    "W-DUE-1", "What stands in for what cannot be heard is read in time", "last + interval >= now", CHOICE,
    ends_at="caution",
    why="What the modules' own readings can never tell is told by a reading by hand; while it is overdue nothing is.",
)  # fmt: skip
SCHEDULE = Card(
    "W-DUE-2", "The schedule is kept", "last + interval >= now", CHOICE, ends_at="caution",
    why="A joint, a bolt, an anchor or water in the room is seen by no data line.",
)  # fmt: skip
_DONE = say('When one of them is done: bankwright watch FILE --done "WORD", with the word in square brackets.')
LOOK = 30 * 86400.0  # s to look at what the data show
DAY = 86400.0
ONCE, UNUSED = ("first-days",), ("stored",)
BY_READINGS = {"first-days": ("millivolts",), "half-yearly": ("millivolts", "voltages")}
QUARTERLY = "quarterly"  # temperatures and cells, which a listener reads every day


@dataclass(frozen=True, slots=True)
class Task:
    """One row of the schedule: every so many s, in words, what, where, and who says so."""

    id: str
    every: float
    when: str
    act: str
    at: tuple[str, ...]
    source: Source


@dataclass(frozen=True, slots=True)
class Due:
    """One thing to do. `due` in s since 1970; None where the listener does it. `last`: when it was last done.

    `id` is the word under which it is written down as done; of what the data ask for, the code of the finding.
    """

    id: str
    title: str  # short: "millivolts"
    act: str
    why: str
    at: tuple[str, ...]
    due: float | None
    state: State
    last: float | None
    origin: Literal["data", "stands in", "schedule"]
    source: Source


def due_of(asked: Asked, tasks: Sequence[Task], done: Done, sections: Sequence[Section]) -> tuple[Due, ...]:
    """Everything that is due, the earliest first; what the listener does stands last."""
    begin = _begin(asked, done)
    found = [*_from_data(asked, sections), *_standing_in(asked, done, begin, sections)]
    if begin is not None:
        found += _scheduled(asked, tasks, done, begin, sections)
    order = {"overdue": 0, "now": 1, "to come": 2, "by the listener": 3}
    return tuple(sorted(found, key=lambda one: (order[one.state], one.due or 0.0, one.id)))


def _begin(asked: Asked, done: Done) -> float | None:
    """The first load: of the logbook, or the first moment that was heard, whichever is earlier."""
    heard = min((boot.start for boot in asked.telemetry.boots()), default=None)
    return min((one for one in (done.begin, heard) if one is not None), default=None)


def _state(due: float, now: float) -> State:
    if due < now - DAY:
        return "overdue"
    return "now" if due <= now + DAY else "to come"


def _from_data(asked: Asked, sections: Sequence[Section]) -> Iterator[Due]:
    """What each finding that is no pass asks for; what is unknown asks for readings and stands in the list itself."""
    for section in sections:
        if section.name == "heard":
            continue
        for finding in section.findings:
            if finding.verdict not in ("fail", "caution"):
                continue
            units = asked.bank.units
            due = asked.now if finding.verdict == "fail" else _seen(section, finding, asked.now)
            found = clause(finding.title if finding.text is None else finding.text.text(units))
            yield Due(finding.code, found, finding.do.text(units), found, (*finding.at, *finding.more), due,
                      _state(due, asked.now), None, "data", CHOICE)  # fmt: skip


def _seen(section: Section, finding: Finding, now: float) -> float:
    """A month from when growth was first seen; now for all else, of which that is not kept."""
    if finding.code != GROWN.code:
        return now
    return min((mark.time for lane in section.lanes for mark in lane.marks), default=now - LOOK) + LOOK


def _standing_in(asked: Asked, done: Done, begin: float | None, sections: Sequence[Section]) -> Iterator[Due]:
    """One line for each reading, whatever it stands in for."""
    kinds: dict[str, list[StandIn]] = {}
    for one in (each for section in sections for each in section.stand_ins):
        kinds.setdefault(one.done_by, []).append(one)
    for name, ones in kinds.items():
        own = [one.last for one in ones if one.last is not None]
        last = max((t for t in (*own, done.of(name)) if t is not None), default=None)
        since = last if last is not None else begin
        due = asked.now if since is None else since + min(one.every for one in ones)
        why = f"{' and '.join(one.what for one in ones)}: {ones[0].why}"
        yield Due(name, ones[0].reading, ones[0].act, why, (), due, _state(due, asked.now), last, "stands in",
                  ones[0].source)  # fmt: skip


def _scheduled(
    asked: Asked, tasks: Sequence[Task], done: Done, begin: float, sections: Sequence[Section]
) -> Iterator[Due]:
    for task in tasks:
        last = _last(task, done)
        if task.id in UNUSED or (task.id in ONCE and last is not None):
            continue
        due: float | None = max(begin, last or begin) + task.every
        state: State = _state(due or 0.0, asked.now)
        if task.id == QUARTERLY and _listens(asked, sections):
            due, state = None, "by the listener"
        yield Due(task.id, task.id, task.act, task.when, task.at, due, state, last, "schedule", task.source)


def _last(task: Task, done: Done) -> float | None:
    """By its own entry, or by all the readings that are its matter."""
    own, names = done.of(task.id), BY_READINGS.get(task.id, ())
    told = [done.of(name) for name in names]
    by_readings = min((t for t in told if t is not None), default=None) if None not in told else None
    return max((t for t in (own, by_readings) if t is not None), default=None)


def _listens(asked: Asked, sections: Sequence[Section]) -> bool:
    """Whether cells and temperature of every module come by the line."""
    cells = next((section for section in sections if section.name == "cells"), None)
    warm = {
        signal.at.partition(".")[0] for signal in asked.telemetry.signals() if signal.quantity == "temperature_degc"
    }
    names = {module.name for module in asked.bank.modules}
    return cells is not None and names <= {row.name for row in cells.rows} and names <= warm


def due_section(found: Sequence[Due]) -> Section:
    """The list as a section: its findings, and a row for each thing with its day."""
    stands = [one for one in found if one.origin == "stands in" and one.state == "overdue"]
    late = [one for one in found if one.origin == "schedule" and one.state == "overdue"]
    findings = [*map(_not_read, stands)] or [_pass(STANDS_IN, "Nothing that stands in is overdue")]
    findings.append(_late(late) if late else _pass(SCHEDULE, "Nothing of the schedule is overdue"))
    rows = tuple(_row(one) for one in found)
    notes = (_DONE,) if any(one.origin != "data" and one.due is not None for one in found) else ()
    return Section("due", "What is due", tuple(findings), rows, notes=notes, rests_on=())


def due_words(one: Due) -> str:
    """One thing with its day, as a sentence without its full stop: what is to be done, and why."""
    day = "" if one.due is None else f", {day_text(one.due)}"
    is_named = one.origin == "data" and any(name in one.act for name in one.at)
    why = "" if is_named else f" ({one.why})"
    return f"{one.state.capitalize()}{day}: {first_sentence(one.act)}{why}"


def _pass(card: Card, what: str) -> Finding:
    return card.found((), None, (None, None), say("{what}", what=what), say("Nothing is to be done."))


def _not_read(one: Due) -> Finding:
    assert one.due is not None
    lacks = f"{one.why.replace(': ', ', ', 1)}: {one.title} due since {month_text(one.due)}"
    missing = replace(asking(f"readings.{one.id}", one.act, lacks=lacks), ask="measure")
    return STANDS_IN.unknown(one.title, (missing,))


def _late(late: Sequence[Due]) -> Finding:
    first = late[0]
    assert first.due is not None
    text = say(
        "{name} ({when}) is overdue since {day}{more}",
        name=first_sentence(first.act),
        when=first.why,
        day=day_text(first.due),
        more=f", and {len(late) - 1} more of the schedule" if len(late) > 1 else "",
    )
    do = say("Do it, then: bankwright watch FILE --done {name}", name=first.id)
    return SCHEDULE.found(tuple(one.id for one in late), None, (None, None), text, do, forced="caution")


def _row(one: Due) -> Row:
    day = "" if one.due is None else f"{day_text(one.due)}: "
    name = {"overdue": "overdue", "now": "now", "to come": "to come", "by the listener": "listener"}[one.state]
    word = f" [{one.id}]" if one.origin != "data" else ""
    return Row(name, None, None, say("{day}{act} ({why}){word}", day=day, act=one.act, why=one.why, word=word))
