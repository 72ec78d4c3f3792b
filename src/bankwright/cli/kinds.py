"""`bankwright kinds`: what is known of each kind and what is still missing; kinds moved to a file that banks share."""

from __future__ import annotations

from pathlib import Path

import click

from bankwright.cli.common import BANK_FILE, opened

__all__ = ["command"]

SHOWN = 3  # questions of one kind


@click.command()
@click.argument("bank_file", type=BANK_FILE)
@click.option("--into", type=click.Path(path_type=Path), help="Move them into this file, which banks may share.")
@click.option("--all", "everything", is_flag=True, help="Print every value and every question.")
def command(bank_file: Path, into: Path | None, everything: bool) -> None:
    """List the kinds of a bank: what is known of each, what is missing.

    With --into kinds.toml they move to a file of their own; a second bank
    that gives the same kinds includes them from there.
    Example: bankwright kinds barn.toml
    """
    from bankwright.cli.show.findings import rule, wrap
    from bankwright.job.kinds import kind_sheets, share

    job = opened(bank_file)
    if into is not None:
        target = bank_file.parent / into if not into.is_absolute() else into
        names = share(job, target)
        if names:
            click.echo(wrap(f"Moved to {target.name}: {', '.join(names)}. {bank_file.name} includes it."))
        else:
            click.echo(f"{bank_file.name} gives no kinds itself; nothing was moved.")
        return
    for sheet in kind_sheets(job):
        users = f"; {', '.join(sheet.users)}" if sheet.users else ""
        click.echo(rule(f"{_called(sheet.family, sheet.name)} ({sheet.file}{users})"))
        shown = sheet.known if everything else sheet.known[:12]
        rest = f" and {len(sheet.known) - len(shown)} more" if len(shown) < len(sheet.known) else ""
        values = ", ".join(f"{key} {value}" for key, value in shown)
        click.echo(wrap(f"{values}{rest}." if values else "nothing but its name.", 9, "known"))
        missing = sheet.missing if everything else sheet.missing[:SHOWN]
        for question in missing:
            click.echo(wrap(f"{question.text} (settles {question.settles})", 9, "missing"))
        if len(missing) < len(sheet.missing):
            click.echo(wrap(f"{len(sheet.missing) - len(missing)} more that settle fewer; --all prints them.", 9, " "))


def _called(family: str, name: str) -> str:
    return family if name == family else f"{family} {name}"
