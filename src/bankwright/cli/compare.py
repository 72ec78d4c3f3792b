"""`bankwright compare`: what differs between two banks, or after changes that are not written."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bankwright.cli.common import BANK_FILE, change_of, opened, stop_if_crashed

if TYPE_CHECKING:
    from bankwright.forms.finding import Finding
    from bankwright.job import Job
    from bankwright.job.planning import ChangedKey, Difference

__all__ = ["command"]


@click.command()
@click.argument("bank_file", type=BANK_FILE)
@click.argument("others", nargs=-1, required=True, metavar="OTHER_FILE | KEY=VALUE...")
@click.option("--json", "as_json", is_flag=True, help="Differences as JSON.")
def command(bank_file: Path, others: tuple[str, ...], as_json: bool) -> None:
    """Show what differs between two banks, or after one change.

    Nothing is written. Example: bankwright compare barn.toml wiring.feed="opposite ends"
    """
    from bankwright.job import differences
    from bankwright.job.planning import changed_keys

    before = opened(bank_file)
    if len(others) == 1 and Path(others[0]).is_file():
        after = opened(Path(others[0]))
    else:
        try:
            after = before.changed(dict(change_of(text) for text in others))
        except ValueError as error:
            raise click.BadParameter(str(error)) from error
    keys = changed_keys(before.document.data, after.document.data)
    rows = differences(before, after)
    if as_json:
        from bankwright.forms.as_json import dumps
        from bankwright.job.documents import differences_document

        click.echo(dumps(differences_document(before, after)))
    else:
        _show(keys, rows, before.units, after)
    stop_if_crashed((*before.findings, *after.findings))


def _show(keys: Sequence[ChangedKey], rows: Sequence[Difference], was: str, after: Job) -> None:
    from bankwright.cli.show.findings import hung, rule, wrap

    for key in keys:
        click.echo(wrap(f"{key.path}: {key.before or 'not given'} -> {key.after or 'not given'}", 4))
    click.echo(rule())
    for row in rows:
        click.echo(hung(f"{row.title} [{row.place}]"))
        click.echo(wrap(_said(row.before, was), 12, "    before"))
        click.echo(wrap(_said(row.after, after.units), 12, "    after"))
        there = _moved(row, after)
        if there is not None:
            click.echo(wrap(_said(there, after.units), 12, "    there"))
    differ = "1 check differs" if len(rows) == 1 else f"{len(rows)} checks differ"
    same = f"{differ}; all others stay as they were." if rows else "The findings are the same."
    click.echo(same)


def _moved(row: Difference, after: Job) -> Finding | None:
    """How the place stands now that was the worst before, where another one is the worst after."""
    from bankwright.job.explained import there

    if row.before is None or row.after is None or not row.before.at:
        return None
    place = row.before.at[0]
    return None if place in row.after.at else there(after, row.code, place)


def _said(finding: Finding | None, units: str) -> str:
    from bankwright.cli.show.findings import verdict_word
    from bankwright.forms.finding_text import against, places_text

    if finding is None:
        return "not found"
    where = places_text((*finding.at, *finding.more), 2)
    return f"{verdict_word(finding.verdict, 10).ljust(10)} {against(finding, units)}  at {where}"
