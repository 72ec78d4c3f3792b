"""The settings card on a terminal of 80 columns.

Gives: show_settings(). Limits: no engineering; words and figures come from prove/settings.
"""

from __future__ import annotations

import click

from bankwright.cli.show.findings import rule, wrap
from bankwright.forms.finding import summary
from bankwright.job.settings import SettingsCard, row_lines, set_to_words, window_words

__all__ = ["show_settings"]

_MARKS = {"pass": "x", "fail": "!", "caution": "!", "unknown": " "}


def show_settings(title: str, card: SettingsCard, units: str) -> None:
    """Every device with its rows."""
    click.echo(f"Settings by hand: {title}")
    for note in card.notes:
        click.echo(wrap(note.text(units), 4, "  ! "))
    device = ""
    for row in card.rows:
        if row.device != device:
            device = row.device
            click.echo("\n" + rule(device))
        window = window_words(row, units)
        mark = _MARKS.get(card.verdicts[row.id], "!") if row.id in card.entered else " "
        margin = "" if row.margin is None else f", margin x {row.margin:.2f}"
        told = f"{row.id}: {set_to_words(row, units)}" + (f"   ({window}{margin})" if window else "")
        click.echo(wrap(told, 6, f"  [{mark}] "))
        for line in row_lines(card, row, units):
            click.echo(wrap(line, 6, "      "))
    if not card.rows:
        click.echo("This file has no inverter and no charger: there is nothing to set.")
    count = summary(tuple(card.findings))
    click.echo("\n" + "   ".join(f"{count[v]} {v}" for v in ("fail", "unknown", "caution", "pass")))
