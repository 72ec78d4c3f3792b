"""The door of the faces: capacity test, baseline, and the file as built.

Gives: the names in __all__, from the rooms below; baseline_document(), capacity_document(), proposals(); put_in().
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from bankwright.bank.file.document import ChangedOutside, EditRefused
from bankwright.bank.read import BankFileError
from bankwright.forms.as_json import plain
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.finding import summary
from bankwright.forms.nearest import did_you_mean
from bankwright.job import Job
from bankwright.job.documents import head
from bankwright.logbook.baseline import Baseline, Measured, baseline_of
from bankwright.prove.as_built import AsBuilt, as_built
from bankwright.prove.capacity.judged import CapacityTest, capacity_test
from bankwright.prove.capacity.read import CapacityTyped, capacity_read
from bankwright.prove.gathered import Gathered, gathered, seal_baseline

if TYPE_CHECKING:
    from bankwright.logbook.logbook import Logbook

__all__ = [
    "AsBuilt",
    "Baseline",
    "CapacityTest",
    "CapacityTyped",
    "Gathered",
    "Measured",
    "as_built",
    "baseline_document",
    "baseline_of",
    "capacity_document",
    "capacity_read",
    "capacity_test",
    "gathered",
    "proposals",
    "put_in",
    "seal_baseline",
]


def capacity_document(job: Job, found: CapacityTest) -> dict[str, Any]:
    """The capacity test as JSON values."""
    body: dict[str, Any] = {"count": summary(found.findings), "findings": found.findings, "told": found.told}
    body |= {"offset": found.offset, "band": found.band, "shift": found.shift, "whole": found.whole}
    body |= {"plan_fails": job.carried.fails}
    return {**head(job, "prove-capacity"), **{key: plain(value) for key, value in body.items()}}


def baseline_document(job: Job, book: Logbook) -> dict[str, Any]:
    """The baseline as it stands, and what a seal would add, as JSON values."""
    stands, made = baseline_of(book, job.bank), gathered(book, job.bank)
    body: dict[str, Any] = {"sealed": "" if stands is None else stands.sealed}
    body |= {"values": () if stands is None else stands.values, "anew": {} if stands is None else stands.anew}
    body |= {"not_sealed": made.fresh, "open": made.open}
    return {**head(job, "baseline"), **{key: plain(value) for key, value in body.items()}}


def proposals(job: Job, book: Logbook) -> tuple[AsBuilt, ...]:
    """The file as built: edits by the baseline; QuestionError where none was sealed."""
    found = baseline_of(book, job.bank)
    if found is None:
        hint = "bankwright prove baseline FILE --seal"
        raise QuestionError((Fault("baseline", "no-baseline", "no baseline was sealed", hint=hint),), "the logbook")
    return as_built(job.bank, job.document, found)


def put_in(job: Job, made: Iterable[AsBuilt], wanted: Iterable[str]) -> tuple[AsBuilt, ...]:
    """Write the proposals of these places ("all" for every one); QuestionError with nothing written."""
    names, able = list(wanted), [each for each in made if each.edit]
    known = list(dict.fromkeys(each.at for each in able))
    wrong = [
        Fault(
            "--put-in",
            "unknown-place",
            f'found "{name}"',
            hint=did_you_mean(name, known, f"Proposed: {', '.join(known)}", 3),
        )
        for name in names
        if name != "all" and name not in known
    ]
    if wrong:
        raise QuestionError(tuple(wrong), "the options")
    taken = tuple(each for each in able if "all" in names or each.at in names)
    document = job.document
    try:
        for each in taken:
            document = each.on(document)
        _ = Job(job.path, document.text).bank  # a fault is named before anything is written
        document.save(job.document.digest)
    except (EditRefused, ChangedOutside, BankFileError) as error:
        raise QuestionError((Fault("--put-in", "not-written", str(error)),), "the bank file") from error
    return taken
