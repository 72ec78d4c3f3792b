"""A reading typed for a step of the building sheet.

Gives: store_reading(). "M1=52.6 V", or "52.6 V" where the step asks for one reading.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from bankwright.bank.model import Bank
    from bankwright.forms.sheets import Step
    from bankwright.logbook.logbook import Logbook

__all__ = ["store_reading"]


def store_reading(book: Logbook, bank: Bank, step: Step, text: str, meter: str | None, who: str) -> None:
    """Store "M1=52.6 V", or "52.6 V" where the step asks for one reading."""
    from bankwright.forms.faults import Fault, QuestionError
    from bankwright.logbook.clocks import SystemClock
    from bankwright.logbook.typed import typed_reading

    at, equals, value = text.partition("=")
    if not equals:
        if len(step.readings) != 1:
            places = ", ".join(wanted.at for wanted in step.readings) or "none"
            fault = Fault("--read", "which-place", f'found "{text}"', f"Write PLACE=VALUE; this step reads: {places}")
            raise QuestionError((fault,), "the options")
        at, value = step.readings[0].at, text
    wanted = next((w for w in step.readings if w.at == at.strip()), None)
    known = (*bank.instruments, *(item for item in book.instruments() if item not in bank.instruments))
    typed = typed_reading(
        at.strip(), value, SystemClock().now(), bank=bank, quantity=wanted.quantity if wanted else None, meter=meter,
        instruments=known, who=who,
    )  # fmt: skip
    book.append_reading(typed.reading, typed.instrument, step=step.id)
    if wanted is not None:
        _outside(wanted.low, wanted.high, typed.reading.value, at)


def _outside(low: float | None, high: float | None, value: float, at: str) -> None:
    if (low is not None and value < low) or (high is not None and value > high):
        click.echo(f"Stored; but {at} lies outside what this step expects. Stop and find out why.", err=True)
