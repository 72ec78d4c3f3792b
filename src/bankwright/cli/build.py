"""`bankwright build FILE`: the building sheet, step by step, with ticks and readings kept in the logbook.

Gives: command. A thin shell over build/; what is printed is in build_show.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bankwright.cli.common import BANK_FILE

if TYPE_CHECKING:
    from bankwright.bank.model import Bank
    from bankwright.build.progress import StepState
    from bankwright.forms.sheets import Sheet, Step
    from bankwright.logbook.logbook import Logbook

__all__ = ["command"]

_VIEWS = ("list", "all", "lifts", "labels", "upkeep", "emergency")


@click.command(
    help="Go through the building sheet step by step.\n\nExample: bankwright build orchard.toml --tick square"
)
@click.argument("bank_file", type=BANK_FILE)
@click.option("--step", "step_id", metavar="STEP", help="A step by its id; else the first that is not done.")
@click.option("--tick", "ticks", multiple=True, metavar="BOX", help='Tick a box of the step; "all" for every box.')
@click.option("--untick", "unticks", multiple=True, metavar="BOX", help="Take a tick back.")
@click.option(
    "--read", "readings", multiple=True, metavar="VALUE", help='Store a reading of the step: "52.6 V" or "M1=52.6 V".'
)
@click.option("--meter", help="Instrument of the readings.")
@click.option("--who", default="", help="Who does it.")
@click.option(
    "--show",
    "view",
    type=click.Choice(_VIEWS),
    help="Steps in short, whole sheet, lifts, labels, upkeep, faults and fire.",
)
@click.option("--go", is_flag=True, help="Walk through: Enter goes on, a box's number ticks it, a value is a reading.")
@click.option("--hand-over", is_flag=True, help="Hand the torques to the stages after, when every step is done.")
@click.option("--drop", "drops", multiple=True, metavar="JOINT=VALUE", help='Judge a drop: "L1+@M1+=1.2 mV".')
@click.option("--current", metavar="VALUE", help='Current at which the drops were read: "80 A".')
@click.option("--answer", "answers", multiple=True, metavar="TORQUE", help='Lay torques side by side: "80-95 in-lb".')
@click.option("--json", "as_json", is_flag=True, help="Print everything as JSON.")
@click.option("--html", "html_file", type=click.Path(dir_okay=False, path_type=Path), help="Write a page to print.")
@click.option("--strict", is_flag=True, help="Exit with 1 on unknowns too.")
def command(
    bank_file: Path,
    step_id: str | None,
    ticks: tuple[str, ...],
    unticks: tuple[str, ...],
    readings: tuple[str, ...],
    meter: str | None,
    who: str,
    view: str | None,
    go: bool,
    hand_over: bool,
    drops: tuple[str, ...],
    current: str | None,
    answers: tuple[str, ...],
    as_json: bool,
    html_file: Path | None,
    strict: bool,
) -> None:
    """Open bank, logbook and sheet; act; show."""
    from datetime import date

    from bankwright.build.labels import labels
    from bankwright.build.pages import build_json, build_page
    from bankwright.build.progress import hand_over as handed
    from bankwright.build.progress import progress, strange_steps
    from bankwright.build.sheet import sheet_findings
    from bankwright.cli import build_show
    from bankwright.cli.build_enter import write_page
    from bankwright.cli.common import finish, opened
    from bankwright.cli.show import wrap
    from bankwright.logbook.logbook import open_logbook

    job = opened(bank_file)
    if drops or answers or current is not None:
        from bankwright.cli.build_typed import show_answers, show_drops

        if answers:
            show_answers(answers, job.bank.units)
        finish(show_drops(job, drops, current, date.today()) if drops or current is not None else (), strict)
        return
    bank, figures, sheet = job.bank, job.solved, job.sheet
    signs = labels(bank, figures.figures, date.today().isoformat())
    writes = bool(ticks or unticks or readings or go or hand_over)
    with open_logbook(bank_file, bank, write=writes) as book:
        step = _step(sheet, progress(sheet, book), step_id)
        if ticks or unticks or readings:
            _act(book, bank, step, ticks, unticks, readings, meter, who)
            _early(progress(sheet, book), step)
        if hand_over:
            receipt = handed(book, sheet, who)
            if any(finding.verdict == "fail" for finding in sheet_findings(sheet)):
                click.echo(wrap(build_show.done_words(sheet)), err=True)
            click.echo(f"Torques handed over, entry {receipt.seq}. Next: bankwright match {bank_file}")
        if go:
            from bankwright.cli.build_walk import walk

            walk(bank, sheet, book, meter, who, bank_file)
        states = progress(sheet, book)
        if html_file is not None:
            write_page(html_file, build_page(bank, sheet, signs), "--html")
        if as_json:
            click.echo(build_json(bank, sheet, states, signs, figures.missing))
        elif not (go or hand_over):
            build_show.show(bank, sheet, states, signs, view, step_id, strange_steps(sheet, book))
    if html_file is not None and not as_json:
        click.echo(f"Written: {html_file}")
    finish(sheet_findings(sheet), strict)


def _step(sheet: Sheet, states: tuple[StepState, ...], step_id: str | None) -> Step:
    """The step that is meant: by id, else the first that is not done."""
    from difflib import get_close_matches

    from bankwright.build.progress import next_step
    from bankwright.forms.faults import Fault, QuestionError

    if step_id is None:
        state = next_step(states)
        return sheet.steps[-1] if state is None else state.step
    ids = [step.id for step in sheet.steps]
    if step_id in ids:
        return sheet.steps[ids.index(step_id)]
    near = get_close_matches(step_id, ids, 3, 0.4)
    hint = f"Nearest: {', '.join(near)}" if near else "bankwright build FILE --show list names the steps"
    raise QuestionError((Fault("--step", "unknown-step", f'there is no step "{step_id}"', hint),), "the options")


def _early(states: tuple[StepState, ...], step: Step) -> None:
    """Say that a step was ticked while a check of it fails, or before what it waits for."""
    failing = ", ".join(dict.fromkeys(f.code for f in step.findings if f.verdict == "fail"))
    if failing:
        click.echo(f"Stored; but {failing} fails at {step.id}: settle it before the work goes on.", err=True)
    waits = next(state.waits_for for state in states if state.step.id == step.id)
    if waits:
        click.echo(f"Stored; but {step.id} comes after {', '.join(waits)}, which is not done.", err=True)


def _act(
    book: Logbook,
    bank: Bank,
    step: Step,
    ticks: tuple[str, ...],
    unticks: tuple[str, ...],
    readings: tuple[str, ...],
    meter: str | None,
    who: str,
) -> None:
    from bankwright.build.progress import tick_every, tick_step
    from bankwright.cli.build_enter import say_refused, store_readings

    store_readings(book, bank, step, readings, meter, who)
    for box in ticks:
        if box != "all":
            tick_step(book, step, box, who=who)
    if "all" in ticks:
        say_refused(tick_every(book, step, who=who))
    for box in unticks:
        tick_step(book, step, box, who=who, done=False)
