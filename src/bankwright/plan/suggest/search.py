"""The least change after which nothing fails: found by checking changed banks, one change at a time.

Gives: suggest(), Suggestion, Taken. Best change first: fewest failing places, then the smallest shortfall, then
least copper, then fewest parts. When nothing fails any more, every cable is tried smaller and every change is tried
undone, so that what remains is needed.
Limits: a local search over the moves of plan/suggest/moves, not a proof that no smaller change exists.
It reads and returns text; nothing is written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from bankwright.bank.file.document import Document, EditRefused
from bankwright.bank.model import Bank
from bankwright.bank.read import BankFileError, bank_from
from bankwright.circuit.cases import LOWEST
from bankwright.circuit.errors import CircuitError
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Finding
from bankwright.forms.wording import Say
from bankwright.plan.context import Plan, plan_of
from bankwright.plan.lists.compare import Difference, differences
from bankwright.plan.results import findings_of
from bankwright.plan.suggest.look_for import look_for
from bankwright.plan.suggest.move import Move
from bankwright.plan.suggest.moves import moves_for, smaller_cables

__all__ = ["Suggestion", "Taken", "suggest"]

MAX_STEPS = 12
LEAST_HELP = 0.002  # of the shortfall; less is no help
Score = tuple[int, float, float, int]


@dataclass(frozen=True)
class Tried:
    """A changed bank with its findings and score."""

    document: Document
    plan: Plan
    findings: tuple[Finding, ...]
    score: Score

    @property
    def bank(self) -> Bank:
        """The changed bank."""
        return self.plan.bank

    @property
    def fails(self) -> frozenset[str]:
        """Codes that fail."""
        return frozenset(finding.code for finding in self.findings if _stands_in_the_way(finding))


@dataclass(frozen=True, slots=True)
class Taken:
    """One change and what it did, against the bank before it."""

    move: Move
    did: tuple[Difference, ...]


@dataclass(frozen=True)
class Suggestion:
    """The changed text, the changes in order, and what still fails."""

    before: Document
    after: Document
    taken: tuple[Taken, ...]
    was: tuple[Finding, ...]
    now: tuple[Finding, ...]
    copper: tuple[float, float]  # m3 of conductor before, after
    looked_at: int
    interrupted: bool = False
    blocked: tuple[Finding, ...] = ()
    look_for: tuple[Say, ...] = ()
    all_tried: bool = True  # every change that touches what still fails was tried, one at a time
    dominant: tuple[tuple[str, float], ...] = ()  # causes of the spread of the largest share, with their part of it

    @property
    def cures_all(self) -> bool:
        """True when nothing fails any more."""
        return not self.blocked

    @property
    def heading(self) -> str:
        """What this is, in a line that is true of it."""
        if not any(map(_stands_in_the_way, self.was)):
            return "Nothing fails; there is nothing to mend"
        if self.taken:
            return (
                "The least change found that passes" if self.cures_all else "A change that helps; something still fails"
            )
        return "No change found that helps" if self.all_tried else "Nothing found so far: not all was looked at"

    @property
    def left_over(self) -> str:
        """Heading over what still fails."""
        tried = "no change of this file's parts, tried one at a time, mends these"
        return tried if self.all_tried else "not looked at to the end; these still fail"


def failing_places(findings: Iterable[Finding]) -> int:
    """Count failing places, those put together under one finding too."""
    return sum(1 + len(finding.more) for finding in findings if _stands_in_the_way(finding))


def _stands_in_the_way(finding: Finding) -> bool:
    """True for a fail, and for a check that crashed: a change is never taken because it hides what failed."""
    return finding.verdict == "fail" or bool(finding.crashed)


def _shortfall(findings: Iterable[Finding]) -> float:
    """Sum of how far each failing finding lies on the wrong side; 1 where it has no margin."""
    total = 0.0
    for finding in findings:
        if finding.verdict == "fail":
            margin = finding.margin
            bad = 1.0 if margin is None else 1.0 - margin if 0 <= margin <= 1 else min(1.0, abs(margin) / 10)
            total += bad * (1 + len(finding.more))
    return round(total, 6)


def copper_volume(bank: Bank) -> float:
    """Volume of conductor in all links, m3; a link without length or size counts nothing."""
    return sum((link.length or 0.0) * link.cable.area for link in bank.links if link.cable is not None)


def _score(bank: Bank, findings: tuple[Finding, ...]) -> Score:
    parts = len(bank.links) + len(bank.devices) + len(bank.joints)
    return failing_places(findings), _shortfall(findings), round(copper_volume(bank), 12), parts


def _tried(document: Document, bank: Bank) -> Tried:
    plan = plan_of(bank)
    findings = findings_of(plan)
    return Tried(document, plan, findings, _score(bank, findings))


class _Search:
    """Counts what was looked at and tells how far it is; a clean stop keeps what was found."""

    def __init__(self, tell: Callable[[str], None]) -> None:
        self.tell, self.count = tell, 0
        self._seen: dict[str, Tried | None] = {}
        self.cut_short = False  # the most steps were taken and something still fails
        self._idle: set[str] = set()  # moves that helped nothing: not tried again

    def tried(self, document: Document) -> Tried | None:
        """Check a document; None when the changed file has faults or cannot be solved."""
        if document.text not in self._seen:
            self.count += 1
            self._seen[document.text] = self._checked(document)
        return self._seen[document.text]

    def _checked(self, document: Document) -> Tried | None:
        try:
            bank = bank_from(document)
        except BankFileError:
            return None
        return _tried(document, bank)

    def moved(self, here: Tried, move: Move) -> Tried | None:
        """Check what a move makes; None when the file cannot take it."""
        try:
            return self.tried(move.on(here.document))
        except EditRefused:
            return None

    def best(self, here: Tried) -> tuple[Move, Tried] | None:
        """The change that helps most; None when none helps."""
        found: tuple[Move, Tried] | None = None
        for move in moves_for(here.bank, here.document, here.findings):
            if move.words in self._idle:
                continue
            made = self.moved(here, move)
            if made is None or made.score[1] > here.score[1] * (1 - LEAST_HELP):
                self._idle.add(move.words)
            elif made.fails <= here.fails and (found is None or made.score < found[1].score):
                found = (move, made)  # nothing may fail that did not fail before
        return found


def suggest(document: Document, tell: Callable[[str], None] = lambda _: None) -> Suggestion:
    """Search from a document; BankFileError when it has faults. `tell` is given one line a step.

    KeyboardInterrupt ends the search cleanly with what was found so far.
    """
    start = _tried(document, bank_from(document))
    search = _Search(tell)
    path: list[tuple[Move, Tried]] = []
    here, interrupted = start, False
    try:
        here = _grow(search, start, path)
        here = _shrink(search, here, path)
    except KeyboardInterrupt:
        interrupted = True
        here = path[-1][1] if path else start
    taken, before = [], start
    for move, made in path:
        taken.append(Taken(move, differences(before.findings, made.findings)))
        before = made
    blocked = tuple(finding for finding in here.findings if finding.verdict == "fail")
    return Suggestion(
        before=document,
        after=here.document,
        taken=tuple(taken),
        was=start.findings,
        now=here.findings,
        copper=(copper_volume(start.bank), copper_volume(here.bank)),
        looked_at=search.count,
        interrupted=interrupted,
        all_tried=not interrupted and not search.cut_short,
        blocked=blocked,
        look_for=look_for(here.plan, blocked),
        dominant=_dominant(here.plan),
    )


def _dominant(plan: Plan) -> tuple[tuple[str, float], ...]:
    """Causes of the spread of the largest share at full discharge; none where a value for it is missing."""
    limits = {module.name: module.kind.discharge.continuous for module in plan.bank.modules}
    known = {name: limit for name, limit in limits.items() if limit is not None}
    if LOWEST not in plan.bases or len(known) < len(limits):
        return ()
    try:
        return plan.scatter.dominant(LOWEST, plan.scatter.ratios(LOWEST, known))
    except (NeedsValue, CircuitError):
        return ()


def _grow(search: _Search, here: Tried, path: list[tuple[Move, Tried]]) -> Tried:
    for _ in range(MAX_STEPS):
        if here.score[0] == 0:
            break
        search.tell(f"{here.score[0]} places fail; {search.count} changed banks looked at")
        found = search.best(here)
        if found is None:
            break
        path.append(found)
        here = found[1]
    else:
        search.cut_short = here.score[0] > 0
    return here


def _shrink(search: _Search, here: Tried, path: list[tuple[Move, Tried]]) -> Tried:
    """Take copper out again, one step and one group at a time, as long as nothing gets worse."""
    if not path:
        return here
    lighter = True
    while lighter:
        lighter = False
        search.tell(f"looking for smaller cables; {search.count} changed banks looked at")
        touched = {edit.path for move, _ in path for edit in move.edits}
        for move in smaller_cables(here.bank, here.document):
            if move.group not in touched:
                continue  # what the builder chose and nothing made larger stays
            made = search.moved(here, move)
            if made is not None and made.score[:2] <= here.score[:2] and made.score < here.score:
                path.append((move, made))
                here, lighter = made, True
    return here
