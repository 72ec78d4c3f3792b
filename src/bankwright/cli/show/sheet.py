"""How the building sheet looks on a terminal of 80 columns.

Gives: show(), show_step(), done_words(). Caution before the act, then acts, figure, boxes, readings.
"""

from __future__ import annotations

from collections.abc import Sequence

import click

from bankwright.cli.show.findings import rule, tally, wrap
from bankwright.forms.carried import NOTHING, Carried
from bankwright.forms.finding import summary
from bankwright.forms.sheets import Sheet
from bankwright.job.building import (
    JOINT_RULE,
    LIFT_HEAD,
    Label,
    StepState,
    emergency,
    finding_words,
    lift_rows,
    next_step,
    no_lifts,
    occasions,
    sheet_findings,
    upkeep,
    wanted_words,
)
from bankwright.job.file import Bank

__all__ = ["done_words", "show", "show_step"]

_MARKS = {"done": "x", "begun": "/", "open": " ", "open again": "!"}


def show(
    bank: Bank,
    sheet: Sheet,
    states: Sequence[StepState],
    labels: Sequence[Label],
    view: str | None,
    *,
    step_id: str | None,
    strange: Sequence[str] = (),
    carried: Carried = NOTHING,
) -> None:
    """Print what was asked for; without a view the step in hand."""
    if view == "list":
        _list(sheet, states, strange, carried)
    elif view == "all":
        for state in states:
            show_step(state, bank.units, states, carried)
    elif view == "lifts":
        _lifts(bank)
    elif view == "labels":
        _labels(labels)
    elif view == "upkeep":
        _upkeep(bank)
    elif view == "emergency":
        _emergency(bank)
    else:
        _head(sheet, states, strange)
        here = next((s for s in states if s.step.id == step_id), None) if step_id else next_step(tuple(states))
        if here is None:
            click.echo(wrap(done_words(sheet)))
        else:
            show_step(here, bank.units, states, carried)


def done_words(sheet: Sheet) -> str:
    """What to say when every step is done: failing checks first."""
    failing = [f"{f.place} at {f.at[0]}" if f.at else f.place for f in sheet_findings(sheet) if f.verdict == "fail"]
    if failing:
        return f"Every step is done, but what fails is still to be settled: {', '.join(failing)}. Then --hand-over."
    return "Every step is done. Next: bankwright build FILE --hand-over, then bankwright match FILE"


def _head(sheet: Sheet, states: Sequence[StepState], strange: Sequence[str]) -> None:
    done = sum(state.state == "done" for state in states)
    count = summary(sheet_findings(sheet))
    click.echo(sheet.title)
    click.echo(f"{done} of {len(states)} steps done.   " + tally(count, ("fail", "unknown", "caution")))
    if strange:
        names = ", ".join(strange[:3]) + (f" and {len(strange) - 3} more" if len(strange) > 3 else "")
        words = f"The logbook has ticks of steps that this bank does not have: {names}. Things taken out since, or the "
        click.echo(
            wrap(words + "logbook of another bank? Then take it away, and none of its ticks count.", 6, "    ! ")
        )
    for state in states:
        if state.state == "open again":
            click.echo(wrap(f"{state.step.title}: open again. {'; '.join(state.why)}", 6, "    ! "))


def _list(sheet: Sheet, states: Sequence[StepState], strange: Sequence[str], carried: Carried) -> None:
    _head(sheet, states, strange)
    click.echo(rule("steps: x done, / begun, ! open again"))
    for number, state in enumerate(states, 1):
        worst = [f.verdict for f in state.step.findings]
        flag = next((v for v in ("fail", "unknown", "caution") if v in worst), "")
        click.echo(
            wrap(f"{state.step.title}{'  (' + flag + ')' if flag else ''}", 9, f"{number:>4} [{_MARKS[state.state]}] ")
        )
        failed = carried.mark(state.step.at)
        click.echo(f"         {state.step.id}")
        if failed:
            click.echo(wrap(failed, 11, "         ! "))


def show_step(state: StepState, units: str, states: Sequence[StepState], carried: Carried = NOTHING) -> None:
    """One step, as the hand needs it."""
    step = state.step
    number = next(n for n, other in enumerate(states, 1) if other.step.id == step.id)
    click.echo("\n" + rule(f"{number} of {len(states)}: {step.id}"))
    click.echo(wrap(step.title))
    click.echo(wrap(f"{step.hands}; {', '.join(step.tools)}" if step.tools else step.hands, 2))
    if failed := carried.mark(step.at):
        click.echo(wrap(f"This step is {failed}.", 4, "  x "))
    for why in state.why:
        click.echo(wrap(f"Open again: {why}", 4, "  ! "))
    for words in state.outside:
        click.echo(wrap(f"{words}. Stop and find out why.", 4, "  ! "))
    if state.waits_for:
        click.echo(wrap(f"Waits for {', '.join(state.waits_for)}.", 4, "  ! "))
    for caution in step.cautions:
        click.echo(wrap(caution.words.text(units), 4, "  ! "))
    for finding in step.findings:
        click.echo(
            wrap(
                f"{finding_words(finding, units)} [{finding.place}]",
                4,
                "  ? " if finding.verdict == "unknown" else "  ! ",
            )
        )
    for act in step.acts:
        click.echo(wrap(act.text(units), 4, "  - "))
    for number, tick in enumerate(step.ticks, 1):
        mark = "x" if tick.id in state.ticked else " "
        click.echo(wrap(f"{tick.words}   {tick.id}", 9, f"  {number:>2} [{mark}] "))
    for wanted in step.readings:
        mark = " " if wanted in state.readings else "x"
        click.echo(wrap(f"read {wanted_words(wanted, units)}", 9, f"     [{mark}] "))
    click.echo(wrap(f"Done when: {step.done.text(units)}", 4, "  = "))


def _lifts(bank: Bank) -> None:
    widths = (8, 9, 8, 8, 13, 8, 5, 9, 9)
    if why := no_lifts(bank):
        click.echo(wrap(why))
    for row in [LIFT_HEAD, *lift_rows(bank)]:
        cells = (cell.ljust(width - 1) + " " for cell, width in zip(row, widths, strict=True))
        click.echo("".join(cells).rstrip())
    click.echo(
        wrap(
            "NIOSH 94-110 (rev. 2021), metric, fair coupling, few lifts; team factors UK HSE L23. Index: goal 1, "
            "above 3 not by hand. Low slots and kneeling lie outside the equation: a lower bound."
        )
    )


def _labels(labels: Sequence[Label]) -> None:
    for label in labels:
        click.echo(rule(label.place))
        for line in label.lines:
            click.echo(wrap(line, 2))
        click.echo(wrap(f"{label.source}. {label.note}".rstrip(), 4, "    "))


def _upkeep(bank: Bank) -> None:
    for task in upkeep(bank):
        click.echo(rule(task.when))
        click.echo(wrap(task.task, 2))
        click.echo(wrap(str(task.source), 4, "    "))
    click.echo(rule("joints"))
    click.echo(wrap(JOINT_RULE))
    for occasion in occasions(bank):
        click.echo(rule(occasion.title.lower()))
        for number, act in enumerate(occasion.acts, 1):
            click.echo(wrap(act, 5, f"  {number}. "))


def _emergency(bank: Bank) -> None:
    sheet = emergency(bank)
    click.echo(sheet.title.upper())
    click.echo(f"Emergency number: {sheet.number or 'not in the bank file: [site] emergency_number'}")
    for head, lines in sheet.parts:
        click.echo("\n" + rule(head))
        for line in lines:
            click.echo(wrap(line, 4, "  - "))
    click.echo("")
    click.echo(wrap(sheet.closing))
    click.echo(wrap(str(sheet.source)))
