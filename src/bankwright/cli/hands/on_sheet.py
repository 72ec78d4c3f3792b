"""`bankwright build` on the building sheet: ticks and readings of a step, hand-over, the walk, and what is shown of it.

Gives: on_sheet().
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bankwright.cli.hands.building import Asked
    from bankwright.forms.sheets import Sheet, Step
    from bankwright.job import Job
    from bankwright.job.building import Label, StepState
    from bankwright.job.logs import Logbook

__all__ = ["on_sheet"]


def on_sheet(job: Job, asked: Asked) -> None:
    """Open the logbook, act, show; ends as the findings of the sheet say."""
    from datetime import date

    from bankwright.cli.common import finish, output
    from bankwright.job.building import build_page, labels, progress, sheet_findings
    from bankwright.job.logs import open_logbook

    bank, sheet = job.bank, job.sheet
    signs = labels(bank, job.solved.figures, date.today().isoformat())
    with open_logbook(asked.bank_file, bank, write=asked.writes) as book:
        _acted(job, asked, sheet, book)
        states = progress(sheet, book)
        if asked.html_file is not None:
            output(asked.html_file, build_page(bank, sheet, signs, job.carried), "--html", asked.bank_file)
        _shown(job, asked, book, states, signs)
    if asked.html_file is not None and not asked.as_json:
        click.echo(f"Written: {asked.html_file}")
    finish(sheet_findings(sheet), asked.strict)


def _acted(job: Job, asked: Asked, sheet: Sheet, book: Logbook) -> None:
    from bankwright.job.building import progress

    step = _step(sheet, progress(sheet, book), asked.step_id)
    if asked.enters:
        _enter(job, asked, step, book)
        _early(progress(sheet, book), step)
    if asked.hand_over:
        _hand_over(job, asked, sheet, book)
    if asked.go:
        from bankwright.cli.hands.walk import walk

        walk(job.bank, sheet, book, asked.meter, asked.who, bank_file=asked.bank_file)


def _shown(job: Job, asked: Asked, book: Logbook, states: tuple[StepState, ...], signs: Sequence[Label]) -> None:
    if asked.as_json:
        from bankwright.forms.as_json import dumps
        from bankwright.job.building import not_earthed
        from bankwright.job.documents import build_document

        click.echo(dumps(build_document(job, states, signs, not_earthed(job.bank, book))))
    elif not (asked.go or asked.hand_over):
        from bankwright.cli.show.carried import show_carried
        from bankwright.cli.show.sheet import show
        from bankwright.forms.carried import NOTHING
        from bankwright.job.building import strange_steps

        carried = show_carried(job, asked.bank_file) if asked.view != "emergency" else NOTHING
        strange = strange_steps(job.sheet, book)
        show(job.bank, job.sheet, states, signs, asked.view, step_id=asked.step_id, strange=strange, carried=carried)


def _step(sheet: Sheet, states: tuple[StepState, ...], step_id: str | None) -> Step:
    """The step that is meant: by id, else the first that is not done."""
    from bankwright.forms.faults import Fault, QuestionError
    from bankwright.forms.nearest import did_you_mean
    from bankwright.job.building import next_step

    if step_id is None:
        state = next_step(states)
        return sheet.steps[-1] if state is None else state.step
    ids = [step.id for step in sheet.steps]
    if step_id in ids:
        return sheet.steps[ids.index(step_id)]
    hint = did_you_mean(step_id, ids, "bankwright build FILE --show list names the steps", 3)
    raise QuestionError((Fault("--step", "unknown-step", f'there is no step "{step_id}"', hint),), "the options")


def _early(states: tuple[StepState, ...], step: Step) -> None:
    """Say that a step was ticked while a check of it fails, or before what it waits for."""
    failing = ", ".join(dict.fromkeys(f.place for f in step.findings if f.verdict == "fail"))
    if failing:
        click.echo(f"Stored; but {failing} fails at {step.id}: settle it before the work goes on.", err=True)
    waits = next(state.waits_for for state in states if state.step.id == step.id)
    if waits:
        click.echo(f"Stored; but {step.id} comes after {', '.join(waits)}, which is not done.", err=True)


def _enter(job: Job, asked: Asked, step: Step, book: Logbook) -> None:
    from bankwright.cli.hands.reading import say_refused, store_readings
    from bankwright.job.building import tick_every, tick_step

    store_readings(book, job.bank, step, asked.readings, asked.meter, who=asked.who)
    for box in asked.ticks:
        if box != "all":
            tick_step(book, step, box, who=asked.who)
    if "all" in asked.ticks:
        say_refused(tick_every(book, step, who=asked.who))
    for box in asked.unticks:
        tick_step(book, step, box, who=asked.who, done=False)


def _hand_over(job: Job, asked: Asked, sheet: Sheet, book: Logbook) -> None:
    """Torques to the stages after; what still fails, and a pole not yet earthed, are said."""
    from bankwright.cli.common import typed
    from bankwright.cli.show.findings import wrap
    from bankwright.cli.show.sheet import done_words
    from bankwright.job.building import hand_over, not_earthed, sheet_findings

    receipt = hand_over(book, sheet, asked.who)
    if any(finding.verdict == "fail" for finding in sheet_findings(sheet)):
        click.echo(wrap(done_words(sheet)), err=True)
    click.echo(f"Torques handed over, entry {receipt.seq}. Next: bankwright match {typed(asked.bank_file)}")
    if open_pole := not_earthed(job.bank, book):
        click.echo(wrap(open_pole))
