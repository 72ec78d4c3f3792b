"""Plan turned round: what is not known as questions, in the order of how many findings each settles.

Gives: Asked, asked(), Tape, tape(), settled(), firm_with(), without_question(). A question has its number, its answer
box, where to look, and the findings that wait for it.
Limits: which findings wait is the gaps' matter (lists/gaps); how an answer is heard is that of bank/talk.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from bankwright.bank.asks import asking
from bankwright.bank.file.document import Document
from bankwright.bank.talk.of_key import Box, box_of, opens_as, where_to_look
from bankwright.forms.finding import Finding, Verdict
from bankwright.forms.origin import FileKey
from bankwright.plan.lists.gaps import Gap, decisions, measurements, questions, waits

__all__ = ["TEN", "Asked", "Tape", "asked", "firm_with", "settled", "tape", "without_question"]

TEN = 10  # questions that are asked at once


@dataclass(frozen=True, slots=True)
class Asked:
    """One question of Plan. `box` is None where only the forms of the page can take the answer."""

    number: int
    keys: tuple[str, ...]  # all take the same answer
    text: str
    where: str
    picture: str
    who: str  # "maker", "measure" or "decide"
    settles: int  # findings, places counted
    waiting: tuple[Finding, ...]
    box: Box | None

    @property
    def places(self) -> tuple[str, ...]:
        """Places of the findings that wait."""
        return tuple(dict.fromkeys(name for f in self.waiting for name in (*f.at, *f.more)))

    @property
    def kind(self) -> str:
        """What the question is of: "module M100", or "" where it is of no kind."""
        parts = self.keys[0].split(".")
        return " ".join(parts[1:3]) if parts[0] == "kinds" and len(parts) > 2 else ""


def asked(findings: tuple[Finding, ...], document: Document, units: str = "metric") -> tuple[Asked, ...]:
    """Every question, those that settle most first; one that has a box before one that has none."""
    rows = [("maker", g) for g in questions(findings)] + [("measure", g) for g in measurements(findings)]
    rows += [("decide", g) for g in decisions(findings)]
    made = [_asked(who, gap, findings, document, units) for who, gap in rows]
    ordered = sorted(made, key=lambda each: (-each.settles, each.box is None, each.keys))
    return tuple(
        Asked(number, q.keys, q.text, q.where, q.picture, q.who, q.settles, q.waiting, q.box)
        for number, q in enumerate(ordered, 1)
    )


def _asked(who: str, gap: Gap, findings: tuple[Finding, ...], document: Document, units: str) -> Asked:
    waiting = tuple(f for f in findings if f.verdict not in ("pass", "fail") and _waits_for(f, gap))
    opened = tuple(dict.fromkeys(_at_home(opens_as(key), document) for key in gap.keys))
    boxes = [box_of(key, document, units) for key in opened]
    text = gap.text if opened == gap.keys else asking(opened[0]).question
    text = text.replace("lug lug", "lug")  # a kind that is called as all of them are
    where, picture = where_to_look(opened[0])
    return Asked(0, opened, text, where, picture, who, gap.findings, waiting, boxes[0] if all(boxes) else None)


def _at_home(key: str, document: Document) -> str:
    """Charging is asked of the first inverter's kind, where there is one and no charger is described."""
    kinds = document.data.get("kinds", {})
    inverters = kinds.get("inverter", {}) if isinstance(kinds, dict) else {}
    return f"kinds.inverter.{next(iter(inverters))}.charger.current" if key == "chargers" and inverters else key


def _waits_for(finding: Finding, gap: Gap) -> bool:
    return any(missing.key in gap.keys for missing in waits(finding))


@dataclass(frozen=True, slots=True)
class Tape:
    """Values asked for: known, in all, and known once ten more are."""

    known: int
    of: int
    after_ten: int


def tape(findings: Iterable[Finding], open_: Iterable[Asked]) -> Tape:
    """Count the values of the file that findings rest on, and those that are still asked for."""
    keys = {i.origin.path for f in findings for i in f.inputs if isinstance(i.origin, FileKey) and not i.assumed}
    left = len(tuple(open_))
    return Tape(len(keys), len(keys) + left, len(keys) + min(left, TEN))


def settled(question: Asked, after: Iterable[Finding]) -> Counter[Verdict]:
    """What became of the findings that waited for a question: verdicts, places counted."""
    was = {(f.code, place) for f in question.waiting for place in (*f.at, *f.more)}
    found: Counter[Verdict] = Counter()
    for finding in after:
        found[finding.verdict] += sum((finding.code, place) in was for place in (*finding.at, *finding.more))
    return +found


def firm_with(finding: Finding, open_: Iterable[Asked]) -> tuple[Asked, ...]:
    """The questions that would take the place of what is assumed in a finding."""
    return tuple(q for q in open_ if finding in q.waiting)


def without_question(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Unknown findings that wait for nothing that could be asked."""
    return tuple(f for f in findings if f.verdict == "unknown" and not waits(f))
