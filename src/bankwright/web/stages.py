"""How far each stage is, in the words of the route card.

Gives: buy_words(), build_words(), match_words(). Reads the logbook; computes what the stage itself computes.
Limits: the state of Plan is in shell.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bankwright.forms.faults import QuestionError
from bankwright.job import Job
from bankwright.job.building import StepState, progress

if TYPE_CHECKING:
    from bankwright.job.buying import PartLine
    from bankwright.web.desk import Desk

__all__ = ["build_words", "buy_words", "got", "match_words", "steps_of", "to_get"]


def got(desk: Desk) -> dict[str, float]:
    """What was ticked off as bought: item to the amount that was to be ordered then."""
    book = desk.book()
    if book is None:
        return {}
    found = {}
    for (step, box), tick in book.ticks().items():
        if step == "buy" and tick.done:
            found[box] = float(tick.digest or "nan")
    return found


def to_get(line: PartLine) -> bool:
    """Is there anything to order, or is that not settled yet."""
    return line.order > 0 or bool(line.unmeasured)


def buy_words(job: Job, desk: Desk) -> tuple[str, str]:
    """State of Buy: parts still to get."""
    try:
        lines = [line for line in desk.shop.listing(job).lines if to_get(line)]
    except QuestionError as error:
        return f"{len(error.faults)} faults in {desk.shop.path.name}", "begun"
    ticked = got(desk)
    left = sum(ticked.get(line.item) != line.order for line in lines)
    how = "done" if not left else "begun" if left < len(lines) else ""
    return (f"{left} of {len(lines)} parts to get" if left else "everything is there"), how


def steps_of(job: Job, desk: Desk) -> tuple[StepState, ...]:
    """State of every step of the building sheet."""
    return progress(job.sheet, desk.book())


def build_words(job: Job, desk: Desk) -> tuple[str, str]:
    """State of Build: the step that comes next."""
    states = steps_of(job, desk)
    done = sum(state.state == "done" for state in states)
    if done == len(states):
        return "every step is done", "done"
    number = next(n for n, state in enumerate(states, 1) if state.state != "done")
    begun = done or any(state.state != "open" for state in states)
    return f"step {number} of {len(states)}", "begun" if begun else ""


def match_words(job: Job, desk: Desk) -> tuple[str, str]:
    """State of Match: readings taken."""
    book = desk.book()
    read = book.latest_readings("voltage") if book else {}
    count = sum(module.name in read for module in job.bank.modules)
    total = len(job.bank.modules)
    if not count:
        return "no reading yet", ""
    return f"{count} of {total} modules read", "done" if count == total else "begun"
