"""`bankwright buy FILE --receive M3 ...` and `--receiving`: the receiving card, kept in the logbook.

Gives: receiving_options(), receiving(). Limits: a thin shell over buy/receiving.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from bankwright.job import Job

__all__ = ["receiving", "receiving_options"]

C = TypeVar("C", bound=Callable[..., Any])
OPTIONS = (
    click.option("--receiving", is_flag=True, help="The receiving card: what came, when to read and top up."),
    click.option("--receive", metavar="MODULE", help="Write down a module that came; with the four options below."),
    click.option("--serial", default="", help="Its serial number."),
    click.option("--damage", default="none", help='Damage in words; "none" if none.'),
    click.option("--volts", metavar="VALUE", help='Voltage at delivery: "52.8 V".'),
    click.option("--on", "on", metavar="DATE", help="Day of delivery, year first; else today."),
)


def receiving_options(command: C) -> C:
    """Put the options of the card on a command."""
    for option in reversed(OPTIONS):
        command = option(command)
    return command


def receiving(job: Job, bank_file: Path, given: dict[str, Any]) -> bool:
    """Store and show the card where it is asked for; False where it is not."""
    from bankwright.cli.show.findings import wrap
    from bankwright.job.buying import CARD_HEAD, card_rows, received_of
    from bankwright.job.logs import open_logbook

    if given["receive"] is None and not given["receiving"]:
        return False
    with open_logbook(bank_file, job.bank, write=given["receive"] is not None) as book:
        if given["receive"] is not None:
            _store(book, job, given)
        rows = card_rows(job.bank, received_of(book))
    click.echo("Receiving card")
    for row in rows:
        if given["receive"] not in (None, row[0]) and not given["receiving"]:
            continue
        said = "; ".join(f"{head.lower()} {cell}" for head, cell in zip(CARD_HEAD[1:5], row[1:5], strict=True))
        click.echo(wrap(said, 8, f"{row[0]:<7} "))
        if row[5]:
            click.echo(wrap(row[5], 8, "        "))
    return True


def _store(book: Any, job: Job, given: dict[str, Any]) -> None:
    from datetime import date

    from bankwright.cli.hands.entry import wrong
    from bankwright.job.buying import receive
    from bankwright.job.logs import SystemClock

    if not given["volts"]:
        raise wrong("--volts", "the voltage at delivery is missing", 'Read it alone at its posts: --volts "52.8 V"')
    now = SystemClock().now()
    try:
        on = date.fromisoformat(given["on"] or now.wall[:10])
    except ValueError as error:
        raise wrong("--on", f"found {given['on']!r}", "Write the year first: 2026-11-27") from error
    receive(
        book, job.bank, given["receive"], serial=given["serial"], damage=given["damage"], volts=given["volts"], on=on,
        now=now,
    )  # fmt: skip
