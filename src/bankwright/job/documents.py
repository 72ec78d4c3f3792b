"""Every document as JSON values: one function a document, used by the command and by the page alike.

Gives: head(), findings_document(), case_document(), cases_document(), differences_document(), suggestion_document(),
parts_document(), build_document(), sheet_document(), match_document(), explained_document(), emergency_document(),
log_document(), faults_document(), fault_values(). Within a number fields are only added;
docs/schema holds the schema of each.
Limits: values only; writing them as text is forms/as_json, sending them the faces' matter.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from bankwright.forms.as_json import plain
from bankwright.forms.faults import Fault
from bankwright.forms.finding import summary
from bankwright.forms.wording import Figure

if TYPE_CHECKING:
    from bankwright.build.labels import Label
    from bankwright.build.progress import StepState
    from bankwright.buy.lines import PartsList
    from bankwright.forms.sheets import Sheet
    from bankwright.job import Job
    from bankwright.job.explained import Explained
    from bankwright.logbook.entries import Entry
    from bankwright.match.settle import Settled
    from bankwright.match.verdicts import Match
    from bankwright.plan.suggest.search import Suggestion

__all__ = [
    "build_document",
    "case_document",
    "cases_document",
    "differences_document",
    "emergency_document",
    "explained_document",
    "fault_values",
    "faults_document",
    "findings_document",
    "head",
    "log_document",
    "match_document",
    "parts_document",
    "sheet_document",
    "suggestion_document",
]

Document = dict[str, Any]  # JSON values: what stands in it is told by its schema


WITH_VERDICTS = (  # their number rose to 2 when the verdict "assumed" came
    *("findings", "differences", "suggestion", "parts", "build", "sheet", "match", "explained"),
    *("prove-shares", "prove-millivolts"),
)


def head(job: Job, what: str) -> Document:
    """Top of a document: its format, and the bank it speaks of."""
    return {
        "format": f"bankwright.{what}/{2 if what in WITH_VERDICTS else 1}",
        "bank": job.bank.title,
        "bank_digest": job.bank.digest,
    }


def _made(job: Job, what: str, body: Document) -> Document:
    return {**head(job, what), **{key: plain(value) for key, value in body.items()}}


def findings_document(job: Job) -> Document:
    """Findings of Plan, worst first, with what would settle the unknown ones and what was not checked."""
    from bankwright.job.planning import decisions, measurements, questions

    found = job.findings
    body: Document = {"rules": job.bank.book, "count": summary(found), "findings": found, "questions": questions(found)}
    body |= {"measurements": measurements(found), "decisions": decisions(found), "not_checked": job.not_checked}
    return _made(job, "findings", body)


def cases_document(job: Job) -> Document:
    """Names of all operating conditions."""
    return _made(job, "cases", {"cases": job.steady.names})


def case_document(job: Job, name: str) -> Document:
    """Current, drop and heat of every edge in a case, and what is assumed. QuestionError where it cannot be solved."""
    from bankwright.job.planning import case_rows

    solution = job.solution(name)
    rows = [{"name": n, "current": i, "drop": u, "loss": p} for n, i, u, p in case_rows(job, solution)]
    return _made(job, "case", {"case": name, "edges": rows, "assumed": solution.assumed})


def differences_document(before: Job, after: Job) -> Document:
    """Keys and checks that differ between two banks."""
    from bankwright.job import differences
    from bankwright.job.planning import changed_keys

    keys = changed_keys(before.document.data, after.document.data)
    return _made(before, "differences", {"keys": keys, "differences": differences(before, after)})


def suggestion_document(job: Job, made: Suggestion) -> Document:
    """Changes that mend what fails, what each did, and the whole text after them."""
    changes = [{"words": taken.move.words, "edits": taken.move.edits, "did": taken.did} for taken in made.taken]
    body: Document = {"cures_all": made.cures_all, "interrupted": made.interrupted, "changes": changes}
    body |= {"heading": made.heading, "all_tried": made.all_tried}
    body |= {"still_fails": made.blocked, "look_for": made.look_for, "text": made.after.text}
    return _made(job, "suggestion", body)


def parts_document(job: Job, listing: PartsList) -> Document:
    """The parts list, the cut plans and the findings."""
    plans = []
    for cutting in listing.cuttings:
        plans.append(plain(cutting))
        if cutting.plan is not None:
            plans[-1]["plan"]["gap"] = cutting.plan.gap
    body: Document = {"title": job.bank.title, "lines": listing.lines, "cut_plans": plans, "findings": listing.findings}
    body |= {"cost": listing.cost, "unpriced_lines": listing.unpriced, "currency": listing.shopping.currency}
    return _made(job, "parts", {**body, "pieces": listing.pieces, "plan_fails": job.carried.fails})


def _steps(states: Iterable[StepState]) -> list[Document]:
    kept = ("state", "ticked", "why", "waits_for", "outside")
    return [{**plain(state.step), **{key: plain(getattr(state, key)) for key in kept}} for state in states]


def build_document(job: Job, states: Sequence[StepState], labels: Sequence[Label], open_pole: str = "") -> Document:
    """The sheet with its state, and everything around it; `open_pole`: what is said of a pole not earthed yet."""
    from bankwright.build.rack.clearances import clearances
    from bankwright.build.rack.lifts import lifts
    from bankwright.job.building import JOINT_RULE, emergency, occasions, sheet_findings, upkeep

    bank, sheet = job.bank, job.sheet
    body: Document = {"sheet": {"title": sheet.title, "notes": sheet.notes, "steps": _steps(states)}}
    body |= {"findings": sheet_findings(sheet), "lifts": lifts(bank), "clearances": clearances(bank)}
    body |= {"not_earthed": open_pole}
    body |= {"labels": labels, "upkeep": upkeep(bank), "joint_rule": JOINT_RULE, "emergency": emergency(bank)}
    return _made(
        job,
        "build",
        {**body, "not_solved": job.solved.missing, "plan_fails": job.carried.fails, "occasions": occasions(bank)},
    )


def sheet_document(job: Job, states: Sequence[StepState], sheet: Sheet | None = None) -> Document:
    """The building sheet, or another one, with the state of every step."""
    return _made(job, "sheet", {"title": (sheet or job.sheet).title, "steps": _steps(states)})


def emergency_document(job: Job) -> Document:
    """What to do in a fault or fire."""
    from bankwright.job.building import emergency

    return _made(job, "emergency", {"emergency": emergency(job.bank)})


def match_document(job: Job, found: Match, open_pole: str = "") -> Document:
    """The two verdicts on the readings, each with its findings, and what to do; `open_pole` as in build_document()."""
    most = found.largest_difference
    body: Document = {
        "may_join": found.may_join,
        "equally_charged": found.equally_charged if found.charge else None,
        "order": found.order,
        "largest_difference": None if most is None else Figure(most, "voltage_drop"),
        "not_read": found.not_read,
        "count": summary(found.findings),
        "joining": found.about("joining"),
        "charge": found.about("charge"),
        "unlike": found.about("sharing"),
        "ranges": found.ranges,
        "readings": found.record()["readings"],
        "settling": None if found.settled is None else _settling(found.settled),
        "plans": found.plans,
        "notes": found.notes,
        "plan_fails": job.carried.fails,
        "not_earthed": open_pole,
    }
    return _made(job, "match", body)


def _settling(settled: Settled) -> Document:
    low, high = settled.hours_to_level
    current = {"low": settled.current[0], "middle": settled.current[1], "high": settled.current[2]}
    body: Document = {"modules": settled.names, "time": settled.time, "current": current}
    return {**body, "hours_to_level": {"low": low, "high": high}, "variants": settled.variants}


def explained_document(job: Job, told: Explained) -> Document:
    """One check: what it tests and why, and what it found in this bank."""
    body: Document = {"code": told.code, "place": told.place, "title": told.title, "why": told.why}
    body |= {"at": told.at, "places": told.places, "solved": told.behind}
    return _made(job, "explained", {**body, "findings": told.findings})


def log_document(entries: Iterable[Entry]) -> Document:
    """Entries of the logbook, oldest first."""
    return {"format": "bankwright.log/1", "entries": [plain(entry) for entry in entries]}


def fault_values(fault: Fault) -> Document:
    """One fault in the one shape."""
    also = fault.also
    return {
        "file": fault.place.file if fault.place else None,
        "line": fault.place.line if fault.place else None,
        "column": fault.place.column if fault.place else None,
        "path": fault.path,
        "code": fault.code,
        "found": fault.found,
        "expected": fault.expected,
        "hint": fault.hint,
        "also": {"file": also.file, "line": also.line, "column": also.column} if also else None,
    }


def faults_document(faults: Iterable[Fault]) -> Document:
    """A list of faults."""
    return {"format": "bankwright.faults/1", "faults": [fault_values(fault) for fault in faults]}
