"""The sheet of first power-up on a terminal of 80 columns.

Gives: show_powering(). Limits: no engineering; words and figures come from prove/sheet.
"""

from __future__ import annotations

import click

from bankwright.cli.show.findings import finding_lines, rule, wrap
from bankwright.forms.finding import summary
from bankwright.job.powering import ProveSheet, StepNow, due_words, place_words, read_words, wait_words, way_back

__all__ = ["show_powering"]

_MARKS = {"done": "x", "begun": "/", "open": " ", "stopped": "!", "locked": "-"}


def show_powering(sheet: ProveSheet, step: StepNow | None, units: str, *, every: bool = False) -> None:
    """The list in short, then the step in hand; or every step."""
    click.echo(sheet.title)
    click.echo(rule("steps: x done, / begun, ! stopped, - locked"))
    for now in sheet.steps:
        click.echo(wrap(f"{now.step.id}  {now.step.title}", 9, f"  [{_MARKS[now.state]}] "))
    click.echo(wrap(f"Not in this file: {'; '.join(sheet.absent)}."))
    for now in sheet.steps if every else [step] if step is not None else []:
        _step(now, units)
    if step is None and not every:
        click.echo("Every step of this sheet is done.")
    count = summary(sheet.findings)
    click.echo("\n" + "   ".join(f"{count[v]} {v}" for v in ("fail", "unknown", "caution", "pass")))
    click.echo("It advises only. Local codes and a licensed electrician have the last word.")


def _step(now: StepNow, units: str) -> None:
    step = now.step
    click.echo("\n" + rule(f"{step.id}: {now.state}"))
    click.echo(wrap(f"{step.title}   ({step.hands})"))
    for words in now.locked_by:
        click.echo(wrap(f"Cannot be opened: {words}", 4, "  ! "))
    if now.waits:
        click.echo(wrap(wait_words(now), 4, "  ! "))
    if now.state == "stopped":
        click.echo(wrap("STOP. Back to dead, in this order:", 4, "  ! "))
        for words in way_back(now):
            click.echo(wrap(words, 6, "    - "))
    for words in step.cautions:
        click.echo(wrap(words, 4, "  ! "))
    for words in step.acts:
        click.echo(wrap(words, 4, "  - "))
    for box, words in step.boxes:
        click.echo(wrap(f"{words}   {box}", 6, f"  [{'x' if box in now.ticked else ' '}] "))
    for each in now.readings:
        told = f"{place_words(each.due)}: {each.due.words}. Due {due_words(each.due, units)}. {read_words(each, units)}"
        click.echo(wrap(told, 6, f"  [{' ' if each.value is None else 'x'}] "))
    for finding in now.findings:
        if finding.verdict != "pass":
            click.echo("\n".join(finding_lines(finding.number, finding, units)))
