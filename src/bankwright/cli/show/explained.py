"""One check explained on the terminal, or as JSON.

Gives: show_check(). Every command that tells findings takes --explain; the words are those of the check itself.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from bankwright.cli.show.behind import show_behind
from bankwright.cli.show.findings import show_explained, wrap

if TYPE_CHECKING:
    from bankwright.job import Job
    from bankwright.job.explained import Explained

__all__ = ["show_check"]


def show_check(job: Job, told: Explained, as_json: bool) -> None:
    """Print what a check tests and why, and its findings in full."""
    if as_json:
        from bankwright.forms.as_json import dumps
        from bankwright.job.documents import explained_document

        click.echo(dumps(explained_document(job, told)))
        return
    click.echo(wrap(f"{told.place}  {told.title} ({told.code})") + "\n")
    show_explained(told.findings, told.why, job.units)
    for made in told.behind:
        show_behind(made)
    _closing(told)
    click.echo("\n" + wrap(f"The same without a bank: bankwright manual {told.code}"))


def _closing(told: Explained) -> None:
    if told.findings:
        _apart(told)
        return
    if told.formula:
        click.echo("\n" + wrap(told.formula, 9, "formula"))
    if told.asked:
        click.echo("\nThis check found nothing to speak of in this bank: what it looks at is\nnot there.")
    elif told.code.startswith("M-"):
        click.echo("\n" + wrap("This check looks at readings: bankwright match FILE --explain prints it with them."))


def _apart(told: Explained) -> None:
    """Say how one place is taken apart, or that nothing was solved for it."""
    if told.at is None and told.code.startswith("P-") and told.places:
        click.echo("\n" + wrap(f'One place alone, with every number solved for it: --at "{told.places[-1]}".'))
    elif told.at is not None and not told.behind and any(finding.case for finding in told.findings):
        click.echo("\n" + wrap("No single solved case stands behind this: what went in is listed above."))
