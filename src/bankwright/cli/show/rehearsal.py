"""A rehearsal of first power-up on a terminal of 80 columns.

Gives: show_rehearsal(). Limits: words and figures come from prove/rehearse.
"""

from __future__ import annotations

from collections.abc import Sequence

import click

from bankwright.cli.show.findings import finding_lines, rule, verdict_word, wrap
from bankwright.forms.codes import place_text
from bankwright.job.rehearsing import FAULTS, Found, Planted, Rehearsal

__all__ = ["show_rehearsal"]


def show_rehearsal(found: Rehearsal, faults: Sequence[Planted], units: str, *, every: bool = False) -> None:
    """What was planted, which reading found it, and what else did not pass."""
    click.echo("A rehearsal of first power-up: bank, hand and data bus are pretended, all readings invented.")
    click.echo(f"{found.steps} steps, {found.readings} readings.\n")
    for fault in faults:
        click.echo(wrap(f"Planted: {fault.words}", 4))
        first = _first(found, fault)
        if first is None:
            click.echo(wrap("No reading named it.", 14, f"    {verdict_word('fail', 10)}"))
            continue
        where = f"{first.step}, {', '.join(first.finding.at)}: {_said(first, units)}"
        click.echo(wrap(where, 14, f"    {verdict_word(first.finding.verdict, 10)}"))
    others = [each for each in found.found if each.fault is None]
    if others:
        click.echo(rule("what did not pass beside them"))
    for each in others if every else ():
        click.echo("\n".join(finding_lines(each.finding.number, each.finding, units)))
    if others and not every:
        codes = ", ".join(dict.fromkeys(f"{each.step} {place_text(each.finding.code)}" for each in others))
        click.echo(wrap(f"{len(others)} findings, for want of values or digits: {codes}. --all prints them."))


def _said(found: Found, units: str) -> str:
    return found.finding.text.text(units) if found.finding.text is not None else found.finding.title


def _first(found: Rehearsal, fault: Planted) -> Found | None:
    """The reading that should find it, else whatever named it first."""
    named = [each for each in found.found if each.fault == fault]
    sort = FAULTS[fault.sort]
    meant = [each for each in named if (each.step, each.finding.code) == (sort.step, sort.code)]
    return next(iter(meant or named), None)
