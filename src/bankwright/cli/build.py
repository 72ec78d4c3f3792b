"""`bankwright build FILE`: the building sheet, step by step, with ticks and readings kept in the logbook.

Gives: command. Each way of asking is a function of its own; the first that was asked for is gone, else the sheet.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bankwright.cli.common import BANK_FILE
from bankwright.cli.show.carried import KNOW

if TYPE_CHECKING:
    from bankwright.cli.hands.building import Asked
    from bankwright.job import Job

__all__ = ["command"]

_VIEWS = ("list", "all", "lifts", "labels", "upkeep", "emergency", "settings")


@click.command(help="Go through the building sheet step by step.\n\nExample: bankwright build barn.toml --tick permit")
@click.argument("bank_file", type=BANK_FILE)
@click.option("--step", "step_id", metavar="STEP", help="A step by its id; else the first that is not done.")
@click.option("--tick", "ticks", multiple=True, metavar="BOX", help='Tick a box of the step; "all" for every box.')
@click.option("--untick", "unticks", multiple=True, metavar="BOX", help="Take a tick back.")
@click.option(
    "--read", "readings", multiple=True, metavar="VALUE", help='Store a reading of the step: "52.6 V" or "M1=52.6 V".'
)
@click.option("--meter", help="Instrument of the readings.")
@click.option("--who", default="", help="Who does it.")
@click.option(
    "--show",
    "view",
    type=click.Choice(_VIEWS),
    help="Steps in short, whole sheet, lifts, labels, upkeep, faults and fire, settings by hand.",
)
@click.option(
    "--apart",
    is_flag=False,
    flag_value="",
    metavar="[WHAT]",
    help="The order of taking apart: the whole bank, or one module, cable, device or joint.",
)
@click.option("--anew", metavar="PLACE", help="Begin the baseline of a module, cable or joint anew, from now.")
@click.option("--when", metavar="TIME", help='With --anew: when it was, if not now: "14:02" or "2026-11-24 18:30".')
@click.option("--go", is_flag=True, help="Walk through: Enter goes on, a box's number ticks it, a value is a reading.")
@click.option("--hand-over", is_flag=True, help="Hand the torques to the stages after, when every step is done.")
@click.option("--drop", "drops", multiple=True, metavar="JOINT=VALUE", help='Judge a drop: "L1+@M1+=1.2 mV".')
@click.option("--current", metavar="VALUE", help='Current at which the drops were read: "80 A".')
@click.option("--set", "sets", multiple=True, metavar="ROW=VALUE", help='What was set: "I1 low stop=48.5 V".')
@click.option("--answer", "answers", multiple=True, metavar="TORQUE", help='Lay torques side by side: "80-95 in-lb".')
@click.option("--explain", metavar="CODE", help="One check by code or place: formula, numbers put in, source.")
@click.option("--json", "as_json", is_flag=True, help="Print everything as JSON.")
@click.option("--html", "html_file", type=click.Path(dir_okay=False, path_type=Path), help="Write a page to print.")
@click.option(
    "--booklet",
    "booklet_file",
    type=click.Path(dir_okay=False, path_type=Path),
    help="Write the booklet: bank, fire, parts, steps, labels, upkeep on few sheets of Letter or A4.",
)
@KNOW
@click.option("--strict", is_flag=True, help="Exit with 1 on unknowns, and on passes that rest on assumed values, too.")
def command(**given: Any) -> None:
    """Open the bank, and go the way that was asked for."""
    from bankwright.cli.common import may_write, opened
    from bankwright.cli.hands.building import Asked
    from bankwright.cli.hands.on_sheet import on_sheet

    asked = Asked(**given)
    if asked.when is not None and asked.anew is None:
        raise click.UsageError("--when says when it was of --anew PLACE; without it there is nothing to date")
    may_write({"--html": asked.html_file, "--booklet": asked.booklet_file}, asked.bank_file)
    job = opened(asked.bank_file)
    way = next((way for is_asked, way in _FIRST if is_asked(asked)), None)
    if way is None:
        if asked.know:
            from bankwright.cli.show.carried import know

            know(job, asked.bank_file, asked.who)
        way = next((way for is_asked, way in _NEXT if is_asked(asked)), on_sheet)
    way(job, asked)


def _booklet(job: Job, asked: Asked) -> None:
    """Bank, fire, parts, steps, labels and upkeep on few sheets."""
    from bankwright.cli.common import output
    from bankwright.report.booklet import booklet

    assert asked.booklet_file is not None
    output(asked.booklet_file, booklet(job), "--booklet", asked.bank_file)
    click.echo(f"Written: {asked.booklet_file}. Print it from a browser, on Letter or A4.")


def _explained(job: Job, asked: Asked) -> None:
    from bankwright.cli.show.explained import show_check
    from bankwright.job.explained import explained

    assert asked.explain is not None
    show_check(job, explained(job, asked.explain, "Build"), asked.as_json)


def _judged(job: Job, asked: Asked) -> None:
    """Drops across joints and answers on a torque: judged, not stored."""
    from datetime import date

    from bankwright.cli.common import finish
    from bankwright.cli.hands.judged import show_answers, show_drops

    if asked.answers:
        show_answers(asked.answers, job.bank.units)
    at_drops = asked.drops or asked.current is not None
    finish(show_drops(job, asked.drops, asked.current, date.today()) if at_drops else (), asked.strict)


def _settings(job: Job, asked: Asked) -> None:
    from bankwright.cli.hands.settings import settings

    settings(
        job, asked.bank_file, asked.sets, who=asked.who, as_json=asked.as_json, html_file=asked.html_file,
        strict=asked.strict,
    )  # fmt: skip


def _anew(job: Job, asked: Asked) -> None:
    """The baseline of a place, from now on."""
    from bankwright.cli.show.findings import wrap
    from bankwright.job.joints import begin_anew
    from bankwright.job.logs import SystemClock, moment, open_logbook

    assert asked.anew is not None
    when = moment(asked.when, SystemClock().now()) if asked.when else None
    with open_logbook(asked.bank_file, job.bank) as book:
        count = begin_anew(job.bank, book, asked.anew, asked.who, when)
    since = "now" if when is None else when.wall
    click.echo(wrap(f"From {since} on the first readings at {asked.anew} are its baseline: {count} joints."))


def _apart(job: Job, asked: Asked) -> None:
    """The order of taking apart, printed whole, as JSON, or as a page to print."""
    from bankwright.cli.common import output
    from bankwright.cli.show.findings import wrap
    from bankwright.cli.show.sheet import show_step
    from bankwright.job.building import apart_sheet, progress, sheet_page

    sheet = apart_sheet(job.bank, asked.apart or None, job.solved.currents)
    states = progress(sheet, None)
    if asked.html_file is not None:
        output(asked.html_file, sheet_page(job.bank, sheet), "--html", asked.bank_file)
    if asked.as_json:
        from bankwright.forms.as_json import dumps
        from bankwright.job.documents import sheet_document

        click.echo(dumps(sheet_document(job, states, sheet)))
        return
    click.echo(sheet.title)
    for note in sheet.notes:
        click.echo(wrap(note.text(job.units), 2))
    for state in states:
        show_step(state, job.units, states)
    if asked.html_file is not None:
        click.echo(f"Written: {asked.html_file}")


_Way = tuple[Callable[["Asked"], bool], Callable[["Job", "Asked"], None]]
# what only tells comes before a tick for what is carried over; the rest after it
_FIRST: tuple[_Way, ...] = (
    (lambda asked: asked.booklet_file is not None, _booklet),
    (lambda asked: asked.explain is not None, _explained),
    (lambda asked: bool(asked.drops or asked.answers or asked.current is not None), _judged),
)
_NEXT: tuple[_Way, ...] = (
    (lambda asked: bool(asked.sets) or asked.view == "settings", _settings),
    (lambda asked: asked.anew is not None, _anew),
    (lambda asked: asked.apart is not None, _apart),
)
