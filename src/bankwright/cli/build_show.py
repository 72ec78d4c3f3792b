"""How the building sheet looks on a terminal of 80 columns.

Gives: show(), show_step(), done_words(). Caution before the act, then acts, figure, boxes, readings.
"""

from __future__ import annotations

from collections.abc import Sequence

import click

from bankwright.bank.model import Bank
from bankwright.build.emergency import emergency
from bankwright.build.labels import Label
from bankwright.build.pages import LIFT_HEAD, finding_words, lift_rows, wanted_words
from bankwright.build.progress import StepState, next_step
from bankwright.build.sheet import sheet_findings
from bankwright.build.upkeep import JOINT_RULE, upkeep
from bankwright.cli.show import rule, wrap
from bankwright.forms.finding import summary
from bankwright.forms.sheets import Sheet

__all__ = ["done_words", "show", "show_step"]

_MARKS = {"done": "x", "begun": "/", "open": " ", "open again": "!"}


def show(
    bank: Bank,
    sheet: Sheet,
    states: Sequence[StepState],
    labels: Sequence[Label],
    view: str | None,
    step_id: str | None,
    strange: Sequence[str] = (),
) -> None:
    """Print what was asked for; without a view the step in hand."""
    if view == "list":
        _list(sheet, states, strange)
    elif view == "all":
        for state in states:
            show_step(state, bank.units, states)
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
            show_step(here, bank.units, states)


def done_words(sheet: Sheet) -> str:
    """What to say when every step is done: failing checks first."""
    failing = [f"{f.code} at {f.at[0]}" if f.at else f.code for f in sheet_findings(sheet) if f.verdict == "fail"]
    if failing:
        return f"Every step is done, but what fails is still to be settled: {', '.join(failing)}. Then --hand-over."
    return "Every step is done. Next: bankwright build FILE --hand-over, then bankwright match FILE"


def _head(sheet: Sheet, states: Sequence[StepState], strange: Sequence[str]) -> None:
    done = sum(state.state == "done" for state in states)
    count = summary(sheet_findings(sheet))
    click.echo(sheet.title)
    click.echo(
        f"{done} of {len(states)} steps done.   "
        + "   ".join(f"{count[v]} {v}" for v in ("fail", "unknown", "caution"))
    )
    if strange:
        names = ", ".join(strange[:3]) + (f" and {len(strange) - 3} more" if len(strange) > 3 else "")
        words = f"The logbook has ticks of steps that this bank does not have: {names}. Things taken out since, or the "
        click.echo(
            wrap(words + "logbook of another bank? Then take it away, and none of its ticks count.", 6, "    ! ")
        )
    for state in states:
        if state.state == "open again":
            click.echo(wrap(f"{state.step.title}: open again. {'; '.join(state.why)}", 6, "    ! "))


def _list(sheet: Sheet, states: Sequence[StepState], strange: Sequence[str]) -> None:
    _head(sheet, states, strange)
    click.echo(rule("steps: x done, / begun, ! open again"))
    for number, state in enumerate(states, 1):
        worst = [f.verdict for f in state.step.findings]
        flag = next((v for v in ("fail", "unknown", "caution") if v in worst), "")
        click.echo(
            wrap(f"{state.step.title}{'  (' + flag + ')' if flag else ''}", 9, f"{number:>4} [{_MARKS[state.state]}] ")
        )
        click.echo(f"         {state.step.id}")


def show_step(state: StepState, units: str, states: Sequence[StepState]) -> None:
    """One step, as the hand needs it."""
    step = state.step
    number = next(n for n, other in enumerate(states, 1) if other.step.id == step.id)
    click.echo("\n" + rule(f"{number} of {len(states)}: {step.id}"))
    click.echo(wrap(step.title))
    click.echo(wrap(f"{step.hands}; {', '.join(step.tools)}" if step.tools else step.hands, 2))
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
                f"{finding_words(finding, units)} [{finding.code}]",
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
