"""Plan turned round on a terminal: what fails, then the ten answers that settle most, then the rest folded.

Gives: show_turned(), question_lines(). The numbers of findings are those of every other face; questions have their own.
Limits: everything at once is `plan --all`.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import click

from bankwright.cli.show.findings import finding_lines, rule, tally, wrap
from bankwright.forms.finding import Finding, summary
from bankwright.forms.finding_text import against, headline, places_text
from bankwright.forms.grouping import numbered
from bankwright.job.asking import TEN, Asked, firm_with, open_questions, tape, without_question

if TYPE_CHECKING:
    from bankwright.job import Job

__all__ = ["question_lines", "show_turned"]


def show_turned(job: Job, findings: tuple[Finding, ...]) -> None:
    """Print it."""
    open_ = open_questions(job, findings)
    count = summary(findings)
    click.echo(headline(findings))
    click.echo(wrap(tally(count)))
    known = tape(findings, open_)
    more = f", {known.after_ten} after ten answers" if known.of - known.known > TEN else ""
    click.echo(f"{known.known} of {known.of} values known{more}.")
    _fails(findings, job.units)
    _questions(open_, str(job.path))
    _lines("cautions", [f for f in findings if f.verdict == "caution"], open_, job.units)
    _lines("pass, assumed", [f for f in findings if f.verdict == "assumed"], open_, job.units)
    _lines("no question yet", list(without_question(findings)), open_, job.units)
    passed = count["pass"]
    folded = f"{passed} {'pass is' if passed == 1 else 'passes are'} folded; " if passed else ""
    click.echo(wrap(f"{folded}--all prints every finding, with its place, figures and what to do."))


def _fails(findings: tuple[Finding, ...], units: str) -> None:
    listed = numbered(findings)
    crashed = [(number, f) for number, f in listed if f.crashed]
    for words, rows in (("what crashed", crashed), ("what fails", [row for row in listed if row[1].verdict == "fail"])):
        if rows:
            click.echo(rule(words))
        for number, finding in rows:
            click.echo("\n".join(finding_lines(number, finding, units)))


def question_lines(question: Asked) -> Iterable[str]:
    """One question: number, what it settles, the sentence, where to look."""
    yield wrap(f"{question.text} (settles {question.settles})", 5, f"Q{question.number}")
    if question.where:
        yield wrap(question.where, 5, "     ")


def _questions(open_: tuple[Asked, ...], file: str) -> None:
    if not open_:
        return
    shown = open_[:TEN]
    settle = len({id(f) for q in shown for f in q.waiting})
    words = "the answer that settles most" if len(shown) == 1 else f"the {len(shown)} answers that settle most"
    click.echo(rule(words))
    for question in shown:
        click.echo("\n".join(question_lines(question)))
    left = len(open_) - len(shown)
    rest = f" {left} more {'question comes' if left == 1 else 'questions come'} after them." if left else ""
    waits = (
        f"{settle} {'finding waits' if settle == 1 else 'findings wait'} for {'this' if len(shown) == 1 else 'these'}."
    )
    click.echo(wrap(f"{waits}{rest} Answer with: bankwright ask {file}", 5, "     "))


def _lines(words: str, rows: list[Finding], open_: tuple[Asked, ...], units: str) -> None:
    """One line a finding: number, title, place, figure; with what would make it firm where a range stood in."""
    if not rows:
        return
    click.echo(rule(words))
    for finding in rows:
        where = places_text((*finding.at, *finding.more), 2)
        said = str(against(finding, units)) if finding.verdict != "unknown" else ""
        firm = ", ".join(f"Q{q.number}" for q in firm_with(finding, open_)[:3])
        text = "; ".join(part for part in (finding.title, where, said, f"firm with {firm}" if firm else "") if part)
        click.echo(wrap(f"{text} [{finding.place}]", 5, f"{finding.number or '':>3}"))
