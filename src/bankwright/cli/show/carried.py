"""What Plan fails, on top of what the later stages print.

Gives: show_carried(), carry(), open_pole(), show_not_earthed(), know(), KNOW.
Limits: words are those of forms/carried and build/progress; the tick "I know" stands in the logbook.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bankwright.cli.show.findings import verdict_word, wrap

if TYPE_CHECKING:
    from bankwright.forms.carried import Carried
    from bankwright.job import Job

__all__ = ["KNOW", "carry", "know", "open_pole", "show_carried", "show_not_earthed"]

KNOW = click.option("--know", is_flag=True, help='Tick "I know" under what Plan fails; kept in the logbook.')


def show_carried(job: Job, bank_file: Path) -> Carried:
    """Print what Plan fails, with its box; nothing where nothing fails. Returns it for the marks."""
    from bankwright.job.logs import knows_fails, open_logbook

    carried = job.carried
    if not carried:
        return carried
    with open_logbook(bank_file, job.bank, write=False) as book:
        known = knows_fails(book, carried)
    click.echo(wrap(f"{verdict_word('fail')}: {carried.headline}"))
    for line in carried.lines(job.units):
        click.echo(wrap(line, 4, "  - "))
    click.echo("[x] I know\n" if known else "[ ] I know   (--know ticks it)\n")
    return carried


def know(job: Job, bank_file: Path, who: str = "") -> None:
    """Tick "I know", where something fails."""
    from bankwright.forms.carried import BOX
    from bankwright.job.logs import open_logbook

    if job.carried:
        with open_logbook(bank_file, job.bank) as book:
            book.tick(*BOX, digest=job.carried.digest, who=who)


def carry(job: Job, bank_file: Path, given: dict[str, Any]) -> None:
    """Above an answer: tick "I know" where asked, then say what fails; an answer in JSON carries it itself."""
    if given["know"]:
        know(job, bank_file, given["who"])
    if not given["as_json"]:
        show_carried(job, bank_file)


def open_pole(job: Job, bank_file: Path) -> str:
    """The sentence while a pole that is to be earthed is not; else empty."""
    from bankwright.job.building import not_earthed
    from bankwright.job.logs import open_logbook

    with open_logbook(bank_file, job.bank, write=False) as book:
        return not_earthed(job.bank, book)


def show_not_earthed(job: Job, bank_file: Path) -> None:
    """Print that a pole waits for its earthing, and that the main switch stays open until then."""
    if words := open_pole(job, bank_file):
        click.echo(wrap(f"{verdict_word('caution')}: {words} After joining: bankwright build FILE --step build.live"))
