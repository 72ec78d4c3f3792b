"""Currents, drops and losses of one case on the terminal.

Gives: show_case(). Names of cases are those of circuit/cases; `list` prints them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from bankwright.cli.show.findings import wrap
from bankwright.forms.wording import amount_text

if TYPE_CHECKING:
    from bankwright.job import Job

__all__ = ["show_case"]


def show_case(job: Job, name: str, as_json: bool) -> None:
    """Print one case: what it assumes, each module with its share, each link with current, drop and heat."""
    names = job.steady.names
    if name == "list":
        click.echo("\n".join(names))
        return
    solution = job.solution(name)
    if as_json:
        from bankwright.forms.as_json import dumps
        from bankwright.job.documents import case_document

        click.echo(dumps(case_document(job, name)))
        return
    from bankwright.job.planning import case_rows

    rows = case_rows(job, solution)
    click.echo(wrap(f"{name}; a minus sign: into a module, or against the way from the link's first end to its second"))
    for assumed in solution.assumed:
        click.echo(wrap(f"{assumed.text.text(job.units)}.", 4))
    click.echo("")
    click.echo(f"{'':<14}{'current':>12}{'drop':>12}{'heat':>12}")
    for thing, current, drop, loss in rows:
        amounts = (amount_text(current, "current"), amount_text(drop, "voltage_drop"), amount_text(loss, "power"))
        click.echo(f"{thing:<14}" + "".join(f"{text:>12}" for text in amounts))
