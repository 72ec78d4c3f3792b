"""One check of any stage explained: by its code or its place, with what it found in this bank.

Gives: Explained, explained(), there(). With a place of the bank (`at`) it is the check's finding there alone, out of
its group, with every number of the solved case behind it.
Findings of Match need readings: without them its check is explained and nothing more.
Limits: no wording of figures; that is the faces' matter.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from bankwright.forms.card import Card
from bankwright.forms.checks import Check
from bankwright.forms.codes import code_of, near_codes, place_text, places
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.finding import Finding
from bankwright.forms.grouping import in_order
from bankwright.forms.nearest import near_words
from bankwright.plan.behind.rows import Behind

if TYPE_CHECKING:
    from bankwright.job import Job

__all__ = ["Behind", "Explained", "explained", "there"]


@dataclass(frozen=True, slots=True)
class Explained:
    """What a check tests and why, and its findings in this bank."""

    code: str
    title: str
    why: str
    formula: str
    findings: tuple[Finding, ...]
    asked: bool  # False where nothing was looked at: Match without readings
    at: str | None = None  # the one place that was asked for
    places: tuple[str, ...] = ()  # every place that the check speaks of
    behind: tuple[Behind, ...] = ()  # with `at`: solved cases that the findings rest on

    @property
    def place(self) -> str:
        """Where it stands on the sheet."""
        return place_text(self.code)


def explained(
    job: Job, text: str, stage: str = "Plan", found: Sequence[Finding] | None = None, at: str | None = None
) -> Explained:
    """Explain a check by code or place; a bare place ("3.1") is one of `stage`. QuestionError where there is none.

    `found`: the findings to look among, where they are not those that the bank file alone gives. `at`: a place of the
    bank, to take its finding apart; QuestionError where the check says nothing of it.
    """
    code = code_of(text, stage)
    if code is None:
        hint = near_codes(text, stage)
        raise QuestionError(
            (Fault("--explain", "unknown-check", f'there is no check "{text}"', hint=hint),), "the options"
        )
    where = places()[code].stage
    listed = _findings(job, where) if found is None else found
    mine = tuple(finding for finding in listed or () if finding.code == code)
    title, why, formula = _card(code, where)
    every = tuple(dict.fromkeys(name for finding in mine for name in (*finding.at, *finding.more)))
    told = Explained(code, title, why, formula, mine, listed is not None, None, every)
    return told if at is None else _there(job, told, where, at)


def _there(job: Job, told: Explained, stage: str, at: str) -> Explained:
    """The same at one place alone: findings of Plan out of their group, and what was solved for them."""
    if at not in told.places:
        near = near_words(at, told.places)
        said = f"Did you mean {', '.join(near)}?" if near else f"It speaks of: {', '.join(told.places) or 'nothing'}."
        fault = Fault("--at", "unknown-place", f'{told.place} says nothing of "{at}"', hint=said)
        raise QuestionError((fault,), "the options")
    apart = tuple(_apart(job, told.code)) if stage == "Plan" else ()
    mine = tuple(finding for finding in apart if at in (*finding.at, *finding.more))
    mine = in_order(mine) or tuple(f for f in told.findings if at in (*f.at, *f.more))
    cases: dict[str, Behind] = {}
    for finding in mine if stage == "Plan" else ():
        if (made := _behind(job, finding)) is not None:
            cases.setdefault(f"{made.case}, {made.words}", made)
    return replace(told, findings=mine, at=at, behind=tuple(cases.values()))


def there(job: Job, code: str, place: str) -> Finding | None:
    """The worst finding of a check of Plan at one place, out of its group; None where it says nothing of it."""
    found = in_order(finding for finding in _apart(job, code) if place in finding.at)
    return found[0] if found else None


def _apart(job: Job, code: str) -> Iterator[Finding]:
    """Findings of one check before they are put together."""
    from bankwright.forms.checks import findings

    one = tuple(check for check in _checks("Plan") if check.code == code)
    if job.plan.ill_posed() is None:
        yield from findings(one, job.plan, job.bank.book)


def _behind(job: Job, finding: Finding) -> Behind | None:
    from bankwright.plan.behind.behind import behind

    return behind(job.plan, finding)


def _findings(job: Job, stage: str) -> Sequence[Finding] | None:
    if stage == "Plan":
        return job.findings
    if stage == "Buy":
        return job.parts.findings
    if stage == "Build":
        return job.build_findings
    return None


def _checks(stage: str) -> Iterator[Check]:
    if stage == "Plan":
        from bankwright.plan.checks import CHECKS

        yield from CHECKS
    if stage == "Match":
        from bankwright.match import charge_checks, join_checks

        yield from (*join_checks.CHECKS, *charge_checks.CHECKS)


def _cards(stage: str) -> tuple[Card, ...]:
    if stage == "Buy":
        from bankwright.buy.cards import CARDS as BUY

        return BUY
    if stage == "Build":
        from bankwright.build.cards import CARDS as BUILD

        return BUILD
    if stage == "Match":
        from bankwright.match.cards import CARDS as MATCH

        return MATCH
    if stage == "Plan":
        from bankwright.plan.results import NETWORK

        return (NETWORK,)
    return ()


def _card(code: str, stage: str) -> tuple[str, str, str]:
    """Title, text and formula: of the check where there is one, else of its cards, else of its chapter."""
    cards = [card for card in _cards(stage) if card.code == code]
    formula = "; ".join(dict.fromkeys(card.formula for card in cards))
    for check in _checks(stage):
        if check.code == code:
            return check.title, check.why, formula
    if cards:
        why = "\n\n".join(dict.fromkeys(f"{card.why}\nSource: {card.source}" for card in cards))
        return "; ".join(dict.fromkeys(card.title for card in cards)), why, formula
    place = places()[code]
    gone = "This is no longer checked." if place.retired else "What it says comes with its own words, where it is said."
    return place.title, gone, ""
