"""`bankwright compare`: what differs between two banks, or after changes that are not written."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from bankwright.cli.common import BANK_FILE, change_of, opened

if TYPE_CHECKING:
    from bankwright.forms.finding import Finding

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
    from bankwright.plan.compare import changed_keys

    before = opened(bank_file)
    if len(others) == 1 and Path(others[0]).is_file():
        after = opened(Path(others[0]))
    else:
        after = before
        for text in others:
            try:
                after = after.changed(*change_of(text))
            except ValueError as error:
                raise click.BadParameter(f"{text}: {error}") from error
        _ = after.bank
    keys = changed_keys(before.document.data, after.document.data)
    rows = differences(before, after)
    if as_json:
        from bankwright.cli.common import json_head
        from bankwright.forms.as_json import dumps

        click.echo(dumps({**json_head(before, "differences"), "keys": keys, "differences": rows}))
        return
    from bankwright.cli.show import hung, rule, wrap

    for key in keys:
        click.echo(wrap(f"{key.path}: {key.before or 'not given'} -> {key.after or 'not given'}", 4))
    click.echo(rule())
    for row in rows:
        click.echo(hung(f"{row.title} [{row.code}]"))
        click.echo(wrap(_said(row.before, before.units), 12, "    before"))
        click.echo(wrap(_said(row.after, after.units), 12, "    after"))
    differ = "1 check differs" if len(rows) == 1 else f"{len(rows)} checks differ"
    same = f"{differ}; all others stay as they were." if rows else "The findings are the same."
    click.echo(same)


def _said(finding: Finding | None, units: str) -> str:
    from bankwright.cli.show import verdict_word
    from bankwright.forms.finding_text import against, places_text

    if finding is None:
        return "not found"
    where = places_text((*finding.at, *finding.more), 2)
    return f"{verdict_word(finding.verdict, 10)}{against(finding, units)}  at {where}"
