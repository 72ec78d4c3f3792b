"""The door of the faces: what Plan asks, how an answer is heard and written, letters to makers, the list of words.

Gives: the names in __all__, from the rooms below; open_questions(), changed_by(), saved(), written().
"""

from __future__ import annotations

from collections.abc import Callable

from bankwright.bank.file.document import ChangedOutside, Document, EditRefused
from bankwright.bank.read import BankFileError
from bankwright.bank.talk.hearing import Heard, is_unknown
from bankwright.bank.talk.of_key import Box, hear_box, home_of, put
from bankwright.bank.texts.words import Word, found_in, meaning, near, words
from bankwright.forms.finding import Finding
from bankwright.job import Job
from bankwright.plan.lists.asked import TEN, Asked, Tape, asked, firm_with, settled, tape, without_question
from bankwright.plan.lists.gaps import waits
from bankwright.plan.lists.letters import answers_in, letters

__all__ = [
    "TEN",
    "Asked",
    "Box",
    "Heard",
    "Tape",
    "Word",
    "answers_in",
    "changed_by",
    "firm_with",
    "found_in",
    "hear_box",
    "home_of",
    "is_unknown",
    "letters",
    "meaning",
    "near",
    "open_questions",
    "saved",
    "settled",
    "tape",
    "waits",
    "without_question",
    "words",
    "written",
]


def open_questions(job: Job, findings: tuple[Finding, ...] | None = None) -> tuple[Asked, ...]:
    """What Plan asks of a bank, what settles most first; `findings` in the place of the job's own."""
    return asked(job.findings if findings is None else findings, job.document, job.units)


def changed_by(document: Document, question: Asked, text: str) -> Document:
    """The document with an answer at every key of a question; EditRefused."""
    if question.box is None:
        raise EditRefused("the answer is no single value; the forms of the page have it")
    made = put(document, question.box, text)
    for key in question.keys[1:]:
        made = made.with_value(key, made.value(question.keys[0]))
    return made


def written(job: Job, question: Asked, text: str) -> tuple[Job | None, str]:
    """Write an answer: the job after it; or None and what stands against it, then nothing was written."""
    return saved(job, lambda document: changed_by(document, question, text))


def saved(job: Job, change: Callable[[Document], Document]) -> tuple[Job | None, str]:
    """Write an edit: the job after it; or None and what stands against it, then nothing was written."""
    try:
        document = change(job.document)
        if document.path == job.path:
            _ = Job(job.path, document.text).bank  # a fault is named before anything is written
        document.save(document.digest)
        after = Job(job.path)
        _ = after.bank
    except BankFileError as error:
        told = (f"{fault.found}. {fault.expected} {fault.hint}" for fault in error.faults[:2])
        return None, " ".join(" ".join(words.split()) for words in told)
    except (EditRefused, ChangedOutside) as error:
        return None, str(error)
    return after, ""
