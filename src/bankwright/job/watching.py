"""The door of the faces: what the faces need of Watch.

Gives: the names in __all__: the report, its documents and pages to print, what is written down as done, the week and
its sending. The schedule comes from Build, what was done of it from the logbook.
Limits: nothing is judged here.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from bankwright.build.upkeep import upkeep
from bankwright.forms.as_json import plain
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.finding import summary
from bankwright.logbook.logbook import open_logbook
from bankwright.logbook.telemetry.store import Telemetry, open_telemetry
from bankwright.watch import report
from bankwright.watch.alarms.ways import Message, NotDelivered, ways_of
from bankwright.watch.days import Step
from bankwright.watch.report import Watching, lasting, pending
from bankwright.watch.say.done import BY_HAND, TASK_DONE, done_of
from bankwright.watch.say.due import UNUSED, Due, Task, due_words
from bankwright.watch.say.pages import due_page, week_page
from bankwright.watch.say.week import Week, fact_text, week_words
from bankwright.watch.say.words import band_text
from bankwright.watch.section import Lane, Row, Section

if TYPE_CHECKING:
    from bankwright.bank.model import Bank
    from bankwright.job import Job
    from bankwright.logbook.clocks import Clock

__all__ = [
    "Due",
    "Lane",
    "Row",
    "Section",
    "Step",
    "Watching",
    "Week",
    "band_text",
    "due_document",
    "due_page",
    "due_words",
    "fact_text",
    "lasting",
    "pending",
    "send_week",
    "tasks_of",
    "watching",
    "watching_document",
    "week_document",
    "week_message",
    "week_page",
    "write_done",
]


def watching(
    job: Job,
    telemetry: Telemetry,
    since: float | None = None,
    clock: Clock | None = None,
    *,
    week: bool = False,
) -> Watching:
    """Look at a bank with its schedule and its logbook; `week`: gather the last week too."""
    with open_logbook(job.path, job.bank, write=False) as book:
        done = done_of(job.bank, book)
    return report.watching(job.bank, telemetry, since, clock, tasks=tasks_of(job.bank), done=done, week=week)


def tasks_of(bank: Bank) -> tuple[Task, ...]:
    """The schedule of Build, as Watch takes it."""
    return tuple(Task(t.id, t.interval, t.when, t.task, t.at, t.source) for t in upkeep(bank))


def write_done(job: Job, words: Sequence[str], who: str = "") -> None:
    """Write down that tasks are done, from now; QuestionError where a word names none."""
    known = (*(task.id for task in tasks_of(job.bank) if task.id not in UNUSED), *BY_HAND)
    faults = [Fault("--done", "unknown-word", f"found {word!r}", f"Write one of: {', '.join(known)}") for word in words
              if word not in known]  # fmt: skip
    if faults:
        raise QuestionError(tuple(faults), "the options")
    with open_logbook(job.path, job.bank) as book:
        for word in words:
            book.event(TASK_DONE, who=who, task=word)


def due_document(job: Job, found: Watching) -> dict[str, Any]:
    """What is due as JSON values."""
    from bankwright.job.documents import head

    return {**head(job, "watch-due"), "standing": plain(found.standing), "due": plain(found.due)}


def week_document(job: Job, week: Week) -> dict[str, Any]:
    """The week as JSON values, with the short message."""
    from bankwright.job.documents import head

    facts = [{"name": f.name, "words": fact_text(f, job.units), "figures": f.figures} for f in week.facts]
    body = {"begin": week.begin, "end": week.end, "standing": week.standing, "facts": facts, "due": week.due}
    short = week_words(week, job.units)
    return {**head(job, "watch-week"), **{key: plain(value) for key, value in body.items()}, "short": short}


def week_message(job: Job) -> str:
    """The short message of the week, as it stands now."""
    with open_telemetry(job.path, write=False) as telemetry:
        week = watching(job, telemetry, week=True).week
    return "" if week is None else week_words(week, job.units)


def send_week(job: Job, week: Week) -> tuple[tuple[str, str], ...]:
    """Send the short message once by every way that the bank file names: (way, what stopped it or nothing)."""
    from bankwright.bus.mqtt.of_bank import topics_read

    bank = job.bank
    moment = datetime.fromtimestamp(week.end, UTC).isoformat()
    message = Message(bank.title or bank.file, moment, "week", "week", "", week_words(week, job.units))
    told = []
    for way in ways_of(bank, topics_read(bank, job.path.parent)):
        try:
            way.deliver(message)
            told.append((way.name, ""))
        except NotDelivered as error:
            told.append((way.name, str(error)))
    return tuple(told)


def watching_document(job: Job, found: Watching) -> dict[str, Any]:
    """The report as JSON values: the sentence, what is due, findings in their order, what each section shows."""
    from bankwright.job.documents import head

    shown = ("name", "title", "rows", "lanes", "notes", "stand_ins", "rests_on")
    sections = [{name: getattr(each, name) for name in shown} for each in found.sections]
    listed = found.findings
    body: dict[str, Any] = {"standing": found.standing, "since": found.since, "until": found.until}
    body |= {"listener": found.listener, "due": found.due}
    body |= {"count": summary(listed), "findings": listed, "sections": sections}
    return {**head(job, "watch"), **{key: plain(value) for key, value in body.items()}}
