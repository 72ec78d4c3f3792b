"""The report of Watch: what is asked, and every section in its order.

Gives: Watching, watching(), Lasting, lasting(), pending(), asked_at(), SECTIONS. A section is a function of what is
asked in a room of its own; it stands in SECTIONS, and its findings, rows and lanes come out on terminal, page and in
JSON without any further hand.
Limits: a section that crashes costs itself alone: it says what it stopped with, and the program ends with 3.
"""

from __future__ import annotations

import traceback
from collections.abc import Callable, Generator, Sequence
from dataclasses import dataclass, replace

from bankwright.bank.model import Bank
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding
from bankwright.forms.grouping import ordered
from bankwright.forms.origin import Source
from bankwright.forms.readings import Instant
from bankwright.forms.wording import say
from bankwright.logbook.clocks import Clock, SystemClock, wall_seconds
from bankwright.logbook.telemetry.store import Telemetry
from bankwright.watch import heard
from bankwright.watch.alarms import section as alarms
from bankwright.watch.cells import ageing
from bankwright.watch.cells import section as cells
from bankwright.watch.charge import section as charge
from bankwright.watch.days import Step, keep_days, look_again, may_take, waiting
from bankwright.watch.joints import section as joints
from bankwright.watch.listening import Life, life_of
from bankwright.watch.running import draw, efficiency, outside, temperature, trips
from bankwright.watch.say.done import NOTHING_DONE, Done
from bankwright.watch.say.doubts import doubts_of, with_doubts
from bankwright.watch.say.due import Due, Task, due_of, due_section
from bankwright.watch.say.standing import Standing, standing_of
from bankwright.watch.say.unheard import with_stand_ins
from bankwright.watch.say.week import Week, week_of
from bankwright.watch.section import Asked, Section

__all__ = ["SECTIONS", "Lasting", "Watching", "asked_at", "lasting", "pending", "watching"]

HOUR, NEAR = 3600.0, 3 * 3600.0  # s; looked at first
SPAN = 14 * 86400.0  # s; a start of the machine that heard nothing in its last two weeks is passed over
LEFT = 1  # day that a listener may not have taken yet since it was over
MONTH = 30 * 86400.0  # s shown where nobody says since when
CRASH = Card("W-SECTION-1", "A part of Watch could not be made", "", Source("this program", how_known="derived"))

# each: its name, and the function that makes it; the order of the report
SECTIONS: tuple[tuple[str, Callable[[Asked], Section]], ...] = (
    ("alarms", alarms.section),
    ("joints", joints.section),
    ("charge", charge.section),
    ("cells", cells.section),
    ("capacity", ageing.section),
    ("temperature", temperature.section),
    ("standing", draw.section),
    ("round-trip", efficiency.section),
    ("limits", outside.section),
    ("trips", trips.section),
)


@dataclass(frozen=True, slots=True)
class Lasting:
    """Days that are over and were not taken yet; `by`: who takes them, in words, nothing where nobody does."""

    days: int
    by: str


@dataclass(frozen=True, slots=True)
class Watching:
    """Everything that Watch says of a bank."""

    since: float  # s since 1970
    until: float
    now: float
    listener: Life
    standing: Standing
    due: tuple[Due, ...]
    sections: tuple[Section, ...]
    week: Week | None = None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Of all sections, worst first, each with its number."""
        return ordered(finding for section in self.sections for finding in section.findings)


def watching(
    bank: Bank,
    telemetry: Telemetry,
    since: float | None = None,
    clock: Clock | None = None,
    *,
    tasks: Sequence[Task] = (),
    done: Done = NOTHING_DONE,
    week: bool = False,
) -> Watching:
    """Make every section of a bank; `since` in s since 1970, else the last 30 days that were heard.

    `tasks` is the schedule of Build, `done` what the logbook tells of it; `week` gathers the last week too.
    """
    now = (clock or SystemClock()).now()
    asked = asked_at(bank, telemetry, since, now)
    life = life_of(telemetry, now)
    left = waiting(bank, telemetry, asked.until)
    made = (
        heard.section(asked, life, left if left > LEFT else 0),
        *(_made(name, make, asked) for name, make in SECTIONS),
    )
    sections = tuple(with_stand_ins(asked, made))
    due = due_of(asked, tasks, done, sections)
    sections = (*sections, due_section(due))
    doubts = doubts_of(bank, [finding for section in sections for finding in section.findings])
    sections = tuple(with_doubts(sections, doubts))
    standing = standing_of(bank, sections, due, asked.since)
    told = week_of(asked, standing, sections, due) if week else None
    return Watching(asked.since, asked.until, asked.now, life, standing, due, sections, told)


def pending(
    bank: Bank, telemetry: Telemetry, clock: Clock | None = None, *, again: bool = False
) -> Generator[Step, None, None]:
    """Bring what the rooms keep up to date, a day at a time; nothing while another program does.

    `again`: every day is made anew from the raw telemetry first, from where such a run was stopped.
    """
    with may_take(telemetry) as free:
        if free:
            until = _heard_until(bank, telemetry, wall_seconds((clock or SystemClock()).now()))
            if again:
                yield from look_again(bank, telemetry, until)
            yield from keep_days(bank, telemetry, until)


def lasting(bank: Bank, telemetry: Telemetry, clock: Clock | None = None) -> Lasting:
    """How many days wait to be taken, and whether they are left to a listener, which takes them within the hour."""
    now = (clock or SystemClock()).now()
    count = waiting(bank, telemetry, _heard_until(bank, telemetry, wall_seconds(now)))
    with may_take(telemetry) as free:
        if not free:
            return Lasting(count, "another program takes them now")
    listens = life_of(telemetry, now).runs and count <= LEFT
    return Lasting(count, "the listener takes them within the hour" if listens else "")


def asked_at(bank: Bank, telemetry: Telemetry, since: float | None, now: Instant) -> Asked:
    """What is asked at a moment, of what was heard up to it."""
    present = wall_seconds(now)
    until = _heard_until(bank, telemetry, present)
    return Asked(bank, telemetry, until - MONTH if since is None else since, until, present)


def _heard_until(bank: Bank, telemetry: Telemetry, present: float) -> float:
    """The last moment that any module was heard; the present one where none ever was."""
    names = tuple(module.name for module in bank.modules)
    for boot in sorted(telemetry.boots(), key=lambda boot: boot.end, reverse=True):
        begin, near = max(boot.end - SPAN, boot.start - HOUR), boot.end - NEAR
        spans = [(near, boot.end + HOUR), (begin, near)] if near > begin else [(begin, boot.end + HOUR)]
        found = (telemetry.rollup("voltage", names, *span).mean for span in spans)
        hours = next((each for each in found if len(each.time)), None)
        if hours is not None:
            late = telemetry.read("voltage", names, float(hours.time[-1]) - HOUR, boot.end + HOUR)
            return float(late.time.max()) if len(late.time) else float(hours.time[-1])
    return present


def _made(name: str, make: Callable[[Asked], Section], asked: Asked) -> Section:
    try:
        return make(asked)
    except Exception as error:
        crash = "".join(traceback.format_exception_only(error)).strip()
        made = CRASH.found((), None, (None, None), say("{name}: {crash}", name=name, crash=crash), say("Report it."),
                           forced="fail")  # fmt: skip
        return Section(name, name, (replace(made, crashed=crash),))
