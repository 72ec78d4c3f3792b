"""Every number of one solved case on the terminal, to five digits: enough to solve it again by hand.

Gives: show_behind(). Always ohms, volts, amperes and degrees Celsius, whatever units the bank file is shown in.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from bankwright.cli.show.findings import rule, wrap

if TYPE_CHECKING:
    from bankwright.job.explained import Behind

__all__ = ["show_behind"]

LAWS = (
    "By hand: at every place the currents add to zero; around every loop the volts of the sources equal the sum of "
    "ohms times amperes (Kirchhoff). A part's ohms are those at 20 degC (a module's at 25 degC) times its factor: "
    "1 + 0.00393 (T - 20) for copper, f(T) for cells (handbook table lfp/resistance-temperature)."
)


def _five(value: float) -> str:
    return f"{value:.5g}"


def show_behind(made: Behind) -> None:
    """Print rows and draws of a solved case."""
    click.echo("\n" + rule("solved"))
    click.echo(wrap(f"{made.case}; {made.words}; cells at {_five(made.cells_degc)} degC."))
    for row in made.rows:
        source = f"{_five(row.emf)} V behind " if row.kind == "module" else ""
        line = f"[{row.start}] to [{row.end}]: {source}{_five(row.ohm * 1e3)} mohm, {_five(row.ampere)} A"
        click.echo(wrap(f"{row.name} {line}", 4, "  -"))
        for part in row.parts:
            degc = "" if part.factor == 1.0 and not part.note else f" at {_five(part.degc)} degC"
            how = f"{_five(part.base_ohm * 1e3)} mohm x {_five(part.factor)}{degc}"
            note = f"; {part.note}" if part.note else ""
            click.echo(wrap(f"{part.kind} {part.name}: {_five(part.ohm * 1e3)} mohm = {how}{note}", 8, "      ."))
    for draw in made.draws:
        volts = "" if draw.volt is None else f" at {_five(draw.volt)} V"
        line = f"draws {_five(draw.ampere)} A{volts}: {draw.law}"
        click.echo(wrap(f"{draw.name} [{draw.start}] to [{draw.end}] {line}", 4, "  -"))
    click.echo(wrap(LAWS))
