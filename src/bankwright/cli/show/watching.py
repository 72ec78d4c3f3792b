"""The report of Watch on a terminal of 80 columns.

Gives: show_watching(), show_due(), show_week(). Limits: no engineering; words and figures come from watch/.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

import click

from bankwright.cli.show.findings import finding_lines, rule, tally, wrap
from bankwright.forms.finding import summary
from bankwright.forms.wording import figure_text
from bankwright.job.watching import band_text, due_words, fact_text

if TYPE_CHECKING:
    from bankwright.job import Job
    from bankwright.job.watching import Row, Section, Watching, Week

__all__ = ["show_due", "show_watching", "show_week"]

CLOSING = "It advises only. Local codes and a licensed electrician have the last word."


def show_watching(job: Job, found: Watching, passes: bool = False) -> None:
    """First the one sentence and whether anybody listens, then the findings, then each section."""
    bank, units = job.bank, job.units
    click.echo(f"{bank.title or bank.file}  ({bank.file}, {len(bank.modules)} modules)\n")
    click.echo(wrap(found.standing.sentence))
    click.echo("")
    click.echo(wrap(f"Watch: heard until {_moment(found.until)}, shown since {_moment(found.since)} (UTC)"))
    if not found.listener.runs:
        click.echo(wrap("NO LISTENER RUNS: nothing new is stored, no alarm is raised.", 4, "  ! "))
    click.echo("")
    _findings(found, units, passes)
    for section in found.sections:
        _section(section, units)
    click.echo(f"\n{CLOSING}")


def show_due(job: Job, found: Watching) -> None:
    """The sentence, then what is due."""
    click.echo(wrap(found.standing.sentence))
    for section in found.sections:
        if section.name == "due":
            _section(section, job.units)
    click.echo(f"\n{CLOSING}")


def show_week(job: Job, week: Week) -> None:
    """The week in plain words."""
    click.echo(f"{_moment(week.begin)} to {_moment(week.end)} (UTC)\n")
    click.echo(wrap(week.standing.sentence))
    click.echo("")
    for fact in week.facts:
        click.echo(wrap(f"{fact_text(fact, job.units)}.", 4, "  - "))
    for one in week.due:
        click.echo(wrap(f"{due_words(one)}.", 4, "  ! "))
    click.echo(f"\n{CLOSING}")


def _findings(found: Watching, units: str, passes: bool) -> None:
    """The tally, then every finding that is no pass, worst first."""
    listed = found.findings
    click.echo(wrap(tally(summary(listed))))
    click.echo(rule())
    for finding in listed:
        if passes or finding.verdict != "pass":
            click.echo("\n".join(finding_lines(finding.number, finding, units)))
            click.echo("")
    count = sum(finding.verdict == "pass" for finding in listed)
    if count and not passes:
        click.echo(f"Passes folded: {count}; --all prints them.")


def _section(section: Section, units: str) -> None:
    click.echo("\n" + rule(section.title))
    for row in section.rows:
        click.echo(wrap(_row(row, units), 12, f"{row.name:<12}" if len(row.name) < 12 else f"{row.name} "))
    for note in section.notes:
        click.echo(wrap(note.text(units), 4, "  - "))
    if not section.rows and not section.notes:
        click.echo("Nothing to show.")


def _row(row: Row, units: str) -> str:
    figure, limit = row.figure, row.limit
    words = row.words.text(units)
    if figure is None:
        return words
    told = figure_text(figure, units) if figure.high is None else band_text(figure, units)
    wall = "" if limit is None else f", limit {figure_text(limit, units)}"
    return words if row.name in words and not wall else f"{told}{wall}: {words}"


def _moment(seconds: float) -> str:
    return datetime.fromtimestamp(seconds, UTC).strftime("%Y-%m-%d %H:%M")
