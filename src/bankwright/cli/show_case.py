"""Currents, drops and losses of one case on the terminal.

Gives: show_case(). Names of cases are those of circuit/cases; `list` prints them.
"""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING

import click

from bankwright.cli.show import wrap
from bankwright.forms.wording import amount_text

if TYPE_CHECKING:
    from bankwright.circuit.solution import Solution
    from bankwright.job import Job

__all__ = ["show_case"]


def show_case(job: Job, name: str, as_json: bool) -> None:
    """Print one case: each module with its share, each link with current, drop and heat."""
    names = job.steady.names
    if name == "list":
        click.echo("\n".join(names))
        return
    if name not in names:
        near = difflib.get_close_matches(name, names, 3)
        hint = f"Nearest: {'; '.join(near)}." if near else "--case list names them all."
        raise click.BadParameter(f"there is no case {name!r}. {hint}", param_hint="--case")
    from bankwright.circuit.errors import CircuitError

    try:
        solution = job.steady.case(name)
    except CircuitError as error:
        raise click.UsageError(f"{name} cannot be solved: {error}") from error
    rows = _rows(job, solution)
    if as_json:
        from bankwright.cli.common import json_head
        from bankwright.forms.as_json import dumps

        body = [{"name": n, "current": i, "drop": u, "loss": p} for n, i, u, p in rows]
        click.echo(dumps({**json_head(job, "case"), "case": name, "edges": body}))
        return
    click.echo(wrap(f"{name}; a minus sign: into a module, or against the way from the link's first end to its second"))
    click.echo("")
    click.echo(f"{'':<14}{'current':>12}{'drop':>12}{'heat':>12}")
    for thing, current, drop, loss in rows:
        amounts = (amount_text(current, "current"), amount_text(drop, "voltage_drop"), amount_text(loss, "power"))
        click.echo(f"{thing:<14}" + "".join(f"{text:>12}" for text in amounts))


def _rows(job: Job, solution: Solution) -> list[tuple[str, float, float, float]]:
    bank, rows = job.bank, []
    sources = [*(m.name for m in bank.modules), *(x.name for x in bank.links), *(x.name for x in bank.pieces)]
    takers = [*(x.name for x in bank.inverters), *(x.name for x in bank.chargers), *(x.name for x in bank.loads)]
    for name in (*sources, *takers):
        if name not in solution.network.edge_index:
            continue
        current = float(solution.current(name))
        drop = float(solution.drop(name)) if name in sources else float(solution.voltage(name))
        rows.append((name, current, drop, abs(current * drop)))
    return rows
