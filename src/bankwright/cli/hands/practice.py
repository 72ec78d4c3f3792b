"""A minute of the pretend rack on its own clock: survey, ten polls, what is kept.

Gives: play_minute(). Everything in it is invented; nothing outside the program is opened.
"""

from __future__ import annotations

from pathlib import Path

import click
import numpy as np

from bankwright.cli.show.bus import poll_line, show_survey
from bankwright.cli.show.findings import rule, wrap
from bankwright.forms.quantities import quantity
from bankwright.forms.readings import Columns
from bankwright.forms.wording import amount_text
from bankwright.job.bus import (
    Cycle,
    How,
    Line,
    Listing,
    Poller,
    SunspecSource,
    VirtualWire,
    columns,
    expected_of,
    explain,
    map_of,
    sunspec_of,
    survey,
    targets_of,
)
from bankwright.job.file import Bank

__all__ = ["play_minute"]

MINUTE, POLLS = 60.0, 10


def play_minute(bank: Bank, bank_file: Path, line: Line) -> None:
    """Survey, poll ten times until the minute is over, show what would be kept."""
    wire = VirtualWire(line)
    sun = sunspec_of(bank)
    register_map = map_of(bank, bank_file.parent, needed=sun is None)
    click.echo("A minute of a pretend rack on a clock of its own; all values are invented.\n")
    facts = survey(wire, expected_of(bank, register_map), How())
    show_survey(facts, explain(facts), bank.units)
    click.echo("\n" + rule("ten polls"))
    targets = targets_of(bank)
    if sun is not None:
        source: Poller | SunspecSource = sun.source(wire)
        listing: Listing = sun.listing
    else:
        assert register_map is not None
        source, listing = Poller(wire, register_map, targets, echo=facts.echo), register_map
    period = max((MINUTE - wire.now()) / POLLS, 1.0)
    cycles: list[Cycle] = []
    for _ in range(POLLS):
        begun = wire.now()
        cycles.append(source.cycle())
        stored = sum(each.value.size for each in columns(cycles[-1:], listing))
        click.echo(wrap(f"at {begun:5.1f} s  {poll_line(cycles[-1], len(targets), stored)}", 4, "  "))
        wire.sleep(begun + period - wire.now())
    _kept(columns(cycles, listing))
    counts = line.counts
    click.echo(wrap(f"On the line: {counts.requests} requests, {counts.violations} before the silence was over."))


def _kept(found: tuple[Columns, ...]) -> None:
    """What was heard, by quantity: how many values, from where to where."""
    click.echo(rule("what is kept"))
    for name in dict.fromkeys(each.quantity for each in found):
        tables = [each for each in found if each.quantity == name]
        values = np.concatenate([each.value.ravel() for each in tables])
        good = values[np.isfinite(values)]
        step, word = quantity(name).step, name.removesuffix("_degc").replace("_", " ")
        span = (
            f"{amount_text(float(good.min()), name)} to {amount_text(float(good.max()), name)}" if good.size else "none"
        )
        steps = f", in steps of {amount_text(step, name.removeprefix('cell_'))}" if step else ""
        click.echo(
            wrap(f"{word}: {values.size} values at {sum(len(t.at) for t in tables)} places, {span}{steps}", 4, "  ")
        )
