"""Walking through the building sheet at the keyboard.

Gives: walk(). Enter goes on, b back, a number ticks a box, "all" ticks every box, f shows faults and fire, q ends;
anything with a unit is a reading. Nothing is stored after the bank file changed under the walk.
"""

from __future__ import annotations

from pathlib import Path

import click

from bankwright.cli.hands.reading import say_refused, store_readings
from bankwright.cli.show.sheet import show, show_step
from bankwright.forms.faults import QuestionError
from bankwright.forms.sheets import Sheet, Step
from bankwright.job.building import next_step, progress, tick_every, tick_step
from bankwright.job.file import Bank
from bankwright.job.logs import Logbook

__all__ = ["walk"]


def walk(bank: Bank, sheet: Sheet, book: Logbook, meter: str | None, who: str, *, bank_file: Path) -> None:
    """Go from step to step until the end of the sheet or of the input."""
    begun = _written(bank_file)
    first = next_step(progress(sheet, book))
    number = len(sheet.steps) - 1 if first is None else [s.id for s in sheet.steps].index(first.step.id)
    while 0 <= number < len(sheet.steps):
        states = progress(sheet, book)
        show_step(states[number], bank.units, states)
        answer = _asked("Enter on, b back, number ticks, all, value, f fire, q end")
        if answer is None or answer == "q":
            return
        if answer == "f":
            show(bank, sheet, states, (), "emergency", step_id=None)
            if _asked("Enter") is None:
                return
        elif answer in ("", "b"):
            number = max(number - 1, 0) if answer == "b" else number + 1
        elif _written(bank_file) != begun:
            click.echo(f"Not stored: {bank_file} was changed or taken away meanwhile. Start again.", err=True)
            return
        else:
            _answer(bank, book, sheet.steps[number], answer, meter, who=who)


def _written(bank_file: Path) -> bytes | None:
    try:
        return bank_file.read_bytes()
    except OSError:
        return None


def _asked(prompt: str) -> str | None:
    """What was typed, without blanks around it; None at the end of the input or after Ctrl-C."""
    try:
        answer: str = click.prompt(prompt, default="", show_default=False)
    except click.Abort:
        click.echo("")
        return None
    answer = answer.strip()
    return answer.lower() if answer in ("B", "Q", "F", "ALL", "All") else answer


def _answer(bank: Bank, book: Logbook, step: Step, answer: str, meter: str | None, *, who: str) -> None:
    try:
        if answer == "all":
            say_refused(tick_every(book, step, who=who))
        elif answer.isdecimal() and 1 <= int(answer) <= len(step.ticks):
            tick_step(book, step, step.ticks[int(answer) - 1].id, who=who)
        else:
            store_readings(book, bank, step, (answer,), meter, who=who)
    except QuestionError as error:
        click.echo(str(error), err=True)
