"""Plan turned round for the page: what fails, ten questions with their boxes, what is assumed, the rest folded.

Gives: turned_values(), question_of(). The same questions and numbers as on the terminal.
Limits: no wording of its own; the order is that of job/asking.
"""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from bankwright.draw.plates import plate
from bankwright.draw.tape import tape as tape_drawn
from bankwright.forms.finding import Finding
from bankwright.forms.grouping import numbered
from bankwright.job import Job
from bankwright.job.asking import TEN, Asked, firm_with, home_of, open_questions, tape, without_question

__all__ = ["question_of", "turned_values"]

OPEN = 4  # questions that stand open; the others are a line each


def turned_values(job: Job, findings: tuple[Finding, ...]) -> dict[str, Any]:
    """Everything that the list of Plan shows."""
    open_ = open_questions(job, findings)
    rows = numbered(findings)
    known = tape(findings, open_)
    elsewhere = {q.number: home for q in open_ if q.box and (home := home_of(job.document, q.box.key).path) != job.path}
    return {
        "fails": [(n, f) for n, f in rows if f.verdict == "fail" or f.crashed],
        "unknowns": [(n, f) for n, f in rows if f.verdict == "unknown"],
        "cautions": [(n, f) for n, f in rows if f.verdict == "caution"],
        "assumed": [(n, f) for n, f in rows if f.verdict == "assumed"],
        "firm": {n: firm_with(f, open_)[:3] for n, f in rows if f.verdict != "fail"},
        "numbers": {id(f): n for n, f in rows},
        "questions": open_[:TEN],
        "further": open_[TEN:],
        "standing": OPEN,
        "ten_settle": len({id(f) for q in open_[:TEN] for f in q.waiting}),
        "no_question": [(n, f) for n, f in rows if f in without_question(findings)],
        "tape": known,
        "tape_drawn": Markup(str(tape_drawn(known.known, known.of, known.after_ten))),
        "pictures": {q.number: found for q in open_[:TEN] if (found := _picture(q.picture)) is not None},
        "elsewhere": {number: path.name for number, path in elsewhere.items()},
    }


def _picture(name: str) -> Markup | None:
    found = plate(name) if name else None
    return None if found is None else Markup(str(found))


def question_of(job: Job, findings: tuple[Finding, ...], key: str) -> Asked | None:
    """The open question that begins with a key; None where it is not asked any more."""
    return next((q for q in open_questions(job, findings) if q.keys[0] == key), None)
