"""`bankwright watch FILE`: is the bank still well? A thin shell over watch/."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bankwright.cli.common import BANK_FILE, finish, opened

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bankwright.job import Job
    from bankwright.job.charting import Charted
    from bankwright.job.telemetry import Telemetry
    from bankwright.job.watching import Step, Watching

__all__ = ["command"]

FILE = click.Path(dir_okay=False, path_type=Path)
FEW, SAY_EVERY = 3, 5.0  # days that are taken without a word; s from one word of progress to the next


@click.command(
    help="Tell whether the bank is still well, from what was heard.\n\n"
    "Who is heard and who is not, growth of joints, alarms. It reads the logbook; bankwright listen fills it.\n\n"
    "Example: bankwright watch orchard.toml --since 2026-03-01"
)
@click.argument("bank_file", type=BANK_FILE)
@click.option("--since", metavar="TIME", help="Show from then on: 2026-03-01, or 30d, 12h; else the last 30 days.")
@click.option(
    "--show", "view", type=click.Choice(("due", "week")), help="What is due alone, or the last week in words."
)
@click.option(
    "--html", "html_file", type=FILE, help="Write a page to print: what is due, or the week with --show week."
)
@click.option(
    "--charts",
    "folder",
    type=click.Path(file_okay=False, path_type=Path),
    help="Write every chart as SVG into a folder.",
)
@click.option("--send", is_flag=True, help="Send the week, in short, once by every way that [watch] names.")
@click.option("--done", "done", multiple=True, metavar="TASK", help="Write down that a task of what is due is done.")
@click.option("--who", default="", help="Who did it.")
@click.option(
    "--again", is_flag=True, help="Evaluate every day anew: joints, charge, cells, capacity; it may be stopped."
)
@click.option("--json", "as_json", is_flag=True, help="Everything as JSON.")
@click.option("--all", "passes", is_flag=True, help="Print what passes too.")
@click.option(
    "--strict", is_flag=True, help="End with exit code 1 when something is unknown, or passes on assumed values."
)
def command(bank_file: Path, since: str | None, **given: Any) -> None:
    """Look, print, end."""
    from bankwright.cli.common import may_write
    from bankwright.cli.hands.since import seconds_of
    from bankwright.job.charting import charted
    from bankwright.job.telemetry import open_telemetry
    from bankwright.job.watching import watching, write_done

    may_write({"--html": given["html_file"]}, bank_file)
    job = opened(bank_file)
    if given["done"]:
        write_done(job, given["done"], given["who"])
    start = None if since is None else seconds_of("--since", since)
    _bring_up_to_date(job, again=given["again"])
    with open_telemetry(bank_file, write=False) as telemetry:
        found = watching(job, telemetry, start, week=given["view"] == "week" or given["send"])
        shown = charted(job, telemetry, found) if given["folder"] is not None else None
    _told(job, found, given)
    if given["html_file"] is not None:
        _written(job, found, given["view"], given["html_file"], bank_file)
    if shown is not None:
        _drawn(job, found, shown, given["folder"])
    sent = not given["send"] or _sent(job, found)
    finish(found.findings, given["strict"])
    if not sent:
        raise SystemExit(1)


def _told(job: Job, found: Watching, given: dict[str, Any]) -> None:
    """On the terminal, or as JSON."""
    from bankwright.cli.show.watching import show_due, show_watching, show_week
    from bankwright.forms.as_json import dumps
    from bankwright.job.watching import due_document, watching_document, week_document

    if given["view"] == "due":
        show_due(job, found) if not given["as_json"] else click.echo(dumps(due_document(job, found)))
    elif given["view"] == "week" and found.week is not None:
        show_week(job, found.week) if not given["as_json"] else click.echo(dumps(week_document(job, found.week)))
    elif given["as_json"]:
        click.echo(dumps(watching_document(job, found)))
    else:
        show_watching(job, found, given["passes"])


def _written(job: Job, found: Watching, view: str | None, html_file: Path, bank_file: Path) -> None:
    from bankwright.cli.common import output
    from bankwright.job.watching import due_page, week_page

    if view == "week" and found.week is not None:
        text = week_page(job.bank, found.week)
    else:
        text = due_page(job.bank, found.standing, found.due)
    output(html_file, text, "--html", bank_file)
    click.echo(f"Written: {html_file}", err=True)


def _drawn(job: Job, found: Watching, shown: Charted, folder: Path) -> None:
    """Every chart at both widths; says which were written."""
    from bankwright.cli.common import output
    from bankwright.report.charts import charts

    folder.mkdir(parents=True, exist_ok=True)
    names = []
    for chart in charts(found, shown, job.units):
        output(folder / f"watch-{chart.name}.svg", chart.drawing.text + "\n", "--charts")
        names.append(f"watch-{chart.name}.svg")
    click.echo(f"Written into {folder}: {', '.join(names) or 'nothing, there is nothing to draw yet'}", err=True)


def _sent(job: Job, found: Watching) -> bool:
    """Whether every way took the week; says which did not, and where there is none."""
    from bankwright.job.watching import send_week

    told = send_week(job, found.week) if found.week is not None else ()
    if not told:
        click.echo("The bank file names no way out: [watch] mqtt, post, mail or command.", err=True)
    for way, why in told:
        click.echo(f"{way}: not delivered: {why}" if why else f"{way}: delivered", err=True)
    return bool(told) and not any(why for _, why in told)


def _bring_up_to_date(job: Job, *, again: bool) -> None:
    """Take the days that are over; where the logbook may not be written they stay, and Ctrl-C leaves the rest."""
    from bankwright.forms.faults import QuestionError
    from bankwright.job.logs import logbook_path
    from bankwright.job.telemetry import open_telemetry
    from bankwright.job.watching import lasting, pending

    if not logbook_path(job.path).exists():
        return
    try:
        with open_telemetry(job.path) as telemetry:
            left = lasting(job.bank, telemetry)
            if left.by and (left.days or again):
                click.echo(f"{left.days} days that are over are not evaluated yet: {left.by}.", err=True)
                return
            if left.days > FEW or again:
                _stands_first(job, telemetry, left.days)
            _progress(pending(job.bank, telemetry, again=again))
    except (QuestionError, OSError) as error:
        click.echo(f"Days were not kept: {error}", err=True)
    except KeyboardInterrupt:
        click.echo("Stopped; what was reduced is kept, the rest is taken up next time.", err=True)


def _stands_first(job: Job, telemetry: Telemetry, days: int) -> None:
    """Before many days are taken: what can be said without them."""
    from bankwright.job.watching import watching

    click.echo(
        f"Without {days} days that are not evaluated yet: {watching(job, telemetry).standing.sentence}", err=True
    )
    click.echo("They are evaluated now. Ctrl-C stops it, shows what stands, and keeps what was done.", err=True)


def _progress(steps: Iterator[Step]) -> None:
    """Say every few seconds how far it is."""
    said = time.monotonic()
    for step in steps:
        if time.monotonic() - said > SAY_EVERY:
            said = time.monotonic()
            click.echo(f"Days evaluated for {step.room}: {step.done} of {step.of}", err=True)
