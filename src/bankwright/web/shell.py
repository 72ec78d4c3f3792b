"""What frames every page: title block and route card with each stage's state in words.

Gives: Stage, shell(). A state that is not computed yet is not waited for: the card says so.
Limits: the stages that exist; a later one gets its row in STAGES.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import Any, TypeVar

from bankwright.forms.carried import NOTHING, Carried, carried_of
from bankwright.forms.faults import QuestionError
from bankwright.forms.finding import summary
from bankwright.job import Job
from bankwright.job.building import Emergency, emergency, not_earthed
from bankwright.job.file import Bank
from bankwright.job.logs import knows_fails
from bankwright.web.desk import Desk, State
from bankwright.web.stages import build_words, buy_words, match_words

__all__ = ["STAGES", "Stage", "shell"]

NOTICED = timedelta(minutes=10)  # an edit made outside is told for so long, or until the next edit here
T = TypeVar("T")
LATER = ("Buy", "Build", "Match")  # stages that rest on Plan
STAGES = (("Plan", "/plan"), ("Buy", "/buy"), ("Build", "/build"), ("Match", "/match"))


@dataclass(frozen=True, slots=True)
class Stage:
    """One cell of the route card."""

    number: int
    name: str
    href: str
    words: str
    how: str  # "done", "begun" or ""


def plan_words(desk: Desk, state: State) -> tuple[str, str]:
    """State of Plan in words, and how far it is."""
    if state.shown is None and not state.faults:
        return "not described yet", ""
    if state.job is None:
        count = len(state.faults)
        return f"{count} fault{'' if count == 1 else 's'} in the file", "begun"
    found = desk.findings(state.job)
    count_of = summary(found.findings)
    names = (("fail", "fails", "fail"), ("unknown", "unknown", "unknown"), ("caution", "caution", "cautions"))
    said = [f"{count_of[v]} {one if count_of[v] == 1 else more}" for v, one, more in names if count_of[v]]  # type: ignore[index]
    return ", ".join(said[:2]) or "every check passes", "begun" if said else "done"


def _stages(desk: Desk, state: State) -> tuple[Stage, ...]:
    job = state.shown
    words = [_told(lambda: plan_words(desk, state))]
    words += [_told(partial(_of, job, desk, how)) for how in (buy_words, build_words, match_words)]
    rows = zip(STAGES, words, strict=True)
    return tuple(Stage(n, name, href, said, how) for n, ((name, href), (said, how)) in enumerate(rows, 1))


def _told(words: Callable[[], tuple[str, str]]) -> tuple[str, str]:
    """State of a stage; what stops there is told there, and keeps no other page from being shown."""
    try:
        return words()
    except QuestionError as error:
        return (error.faults[0].found if error.faults else "cannot be read"), "begun"
    except Exception as error:
        return f"stopped with {type(error).__name__}", "begun"


def _of(job: Job | None, desk: Desk, how: Any) -> tuple[str, str]:
    return ("after Plan", "") if job is None else how(job, desk)


def _carried(desk: Desk, job: Job | None) -> Carried:
    """What Plan fails, as far as it is computed; what stops in Plan keeps no later page away."""
    if job is None:
        return NOTHING
    try:
        return carried_of(desk.findings(job).findings)
    except Exception:
        return NOTHING  # the card of Plan says that it stopped


def _fire(bank: Bank | None) -> Emergency | None:
    """What to do in a fire, for the block that every page carries; it keeps no page from being shown."""
    try:
        return None if bank is None else emergency(bank)
    except Exception:
        return None


def _of_book(question: Callable[[], T], without: T) -> T:
    """What the logbook says; one that cannot be read keeps no page away, least of all the one on fire."""
    try:
        return question()
    except Exception:
        return without


def shell(desk: Desk, state: State, here: str, **more: Any) -> dict[str, Any]:
    """Everything that the frame of a page needs; `here` is the name of the stage, or ""."""
    job = state.shown
    bank = job.bank if job else None
    carried = _carried(desk, job) if here in LATER else NOTHING
    return {
        "file": desk.path.name,
        "title": (bank.title if bank and bank.title else desk.path.stem) if bank else desk.path.stem,
        "book": (bank.book or "none named") if bank else "",
        "units": bank.units if bank else "metric",
        "state": state,
        "stages": _stages(desk, state),
        "here": here,
        "fresh_outside": state.outside is not None and datetime.now().astimezone() - state.outside < NOTICED,
        "bank": bank,
        "carried": carried,
        "knows": _of_book(lambda: bool(carried) and knows_fails(desk.book(), carried), False),
        "fire": _fire(bank),
        "not_earthed": _of_book(lambda: not_earthed(bank, desk.book()) if bank else "", ""),
        **more,
    }
