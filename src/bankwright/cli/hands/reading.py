"""A reading typed for a step of the building sheet.

Gives: store_readings(), say_refused(). "M1=52.6 V", or "52.6 V" where the step asks for one reading;
a reading at a place that the step does not ask for is refused (`bankwright log add` takes it).
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from bankwright.forms.faults import QuestionError
    from bankwright.forms.sheets import ReadingWanted, Step
    from bankwright.job.file import Bank
    from bankwright.job.logs import Logbook, TypedReading

__all__ = ["say_refused", "store_readings"]


def store_readings(book: Logbook, bank: Bank, step: Step, texts: Iterable[str], meter: str | None, *, who: str) -> None:
    """Store "M1=52.6 V", or "52.6 V" where the step asks for one reading; all of them, or none where one is wrong."""
    read = [_read(book, bank, step, text, meter, who=who) for text in texts]
    for typed, wanted in read:
        book.append_reading(typed.reading, typed.instrument, step=step.id)
        _outside(wanted.low, wanted.high, typed.reading.value, wanted.at)


def _read(
    book: Logbook, bank: Bank, step: Step, text: str, meter: str | None, *, who: str
) -> tuple[TypedReading, ReadingWanted]:
    from bankwright.forms.faults import Fault, QuestionError
    from bankwright.job.logs import SystemClock, typed_reading

    if not step.readings:
        right = "This step takes no reading. Other readings: bankwright log add"
        raise QuestionError((Fault("--read", "which-place", f'found "{text}"', right),), "the options")
    places = ", ".join(dict.fromkeys(wanted.at for wanted in step.readings))
    at, equals, value = text.partition("=")
    if not equals:
        if len(step.readings) != 1:
            fault = Fault("--read", "which-place", f'found "{text}"', f"Write PLACE=VALUE; this step reads: {places}")
            raise QuestionError((fault,), "the options")
        at, value = step.readings[0].at, text
    here = [w for w in step.readings if w.at == at.strip()]
    if not here:
        right = f"This step reads: {places}. Other readings: bankwright log add"
        raise QuestionError((Fault("--read", "which-place", f'found "{text}"', right),), "the options")
    known = (*bank.instruments, *(item for item in book.instruments() if item not in bank.instruments))
    found, refused = [], []
    for wanted in here:  # a place may be read twice: its unit says which reading it is
        try:
            typed = typed_reading(
                wanted.at, value, SystemClock().now(), bank=bank, quantity=wanted.quantity, meter=meter,
                instruments=known, who=who,
            )  # fmt: skip
        except QuestionError as error:
            refused.append(error)
        else:
            found.append((typed, wanted))
    if not found:
        raise refused[0]
    if len(found) > 1:
        kinds = " and ".join(w.quantity.replace("_", " ") for _, w in found)
        right = f"Write the unit: this step reads {kinds} at {here[0].at}"
        fault = Fault("--read", "which-quantity", f'found "{text}"', right)
        raise QuestionError((fault,), "the options")
    return found[0]


def say_refused(refused: Iterable[QuestionError]) -> None:
    """Say which boxes stay open, and why."""
    for error in refused:
        for fault in error.faults:
            click.echo(f"Stays open: {fault.found}. {fault.expected}.", err=True)


def _outside(low: float | None, high: float | None, value: float, at: str) -> None:
    if (low is not None and value < low) or (high is not None and value > high):
        click.echo(f"Stored; but {at} lies outside what this step expects. Stop and find out why.", err=True)
