"""`bankwright import FILE LOG`: an old log of another program, looked through, shown, and stored when it is confirmed.

Gives: command. A thin shell over logbook/elsewhere.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bankwright.cli.common import BANK_FILE

if TYPE_CHECKING:
    from bankwright.job.bringing import Asked, Brought, Facts, Look

__all__ = ["command"]


@click.command(
    help="Bring an old log of another program into the logbook.\n\n"
    "FILE is the bank file, LOG a table of text (CSV and its kin). Shows what was understood, why, three rows as they "
    "would be stored, and what is open; writes nothing unless --store is given or you say yes.\n\n"
    "Example: bankwright import orchard.toml old-log.csv --module M1 --zone Europe/Berlin"
)
@click.argument("bank_file", type=BANK_FILE)
@click.argument("log", type=BANK_FILE)
@click.option("--store", is_flag=True, help="Store the rows; without it nothing is written.")
@click.option("--zone", metavar="ZONE", help="Zone of times that name none: UTC, +01:00, Europe/Berlin.")
@click.option("--module", metavar="NAME", help="What columns without a number belong to: a module, or bank.")
@click.option("--positive", type=click.Choice(["charging", "discharging"]), help="What a positive current means.")
@click.option("--start", multiple=True, metavar="TIME", help="When an elapsed time began; once more for each reset.")
@click.option("--dates", metavar="ORDER", help="day-first, month-first or year-first.")
@click.option("--decimal", metavar="MARK", help="point or comma.")
@click.option("--unit", "units", multiple=True, metavar="HEADING=UNIT", help='Unit of a column: "Strom=0.1 A".')
@click.option("--take", "takes", multiple=True, metavar="HEADING=WHAT", help='"X=voltage at M1 in mV", or "X=nothing".')
@click.option("--count-from", type=click.IntRange(0, 1), help="Whether numbers of cells count from 0 or 1.")
@click.option("--delimiter", metavar="MARK", help="comma, semicolon, tab, pipe or blank.")
@click.option("--header", type=click.IntRange(1), metavar="LINE", help="Line of the headings.")
@click.option("--columns", metavar="NAMES", help='Headings where there are none: "time,voltage V,current A".')
@click.option("--encoding", metavar="NAME", help="utf-8, utf-16, cp1252, gb18030.")
@click.option("--map", "kept", type=BANK_FILE, help="Read it as another file was read (see --keep-map).")
@click.option("--keep-map", type=BANK_FILE, help="Write what was understood to this file.")
@click.option("--again", is_flag=True, help="Store rows a second time that are stored already.")
@click.option("--json", "as_json", is_flag=True, help="Everything as JSON.")
def command(bank_file: Path, log: Path, store: bool, kept: Path | None, keep_map: Path | None, *, again: bool,
            as_json: bool, **answers: Any) -> None:  # fmt: skip
    """Look through, show, ask, store."""
    from bankwright.cli.common import may_write, opened, output
    from bankwright.forms.as_json import dumps
    from bankwright.job.bringing import as_toml, facts_of, import_document

    _refuse_exchanged(bank_file, log)
    job = opened(bank_file)
    may_write({"--keep-map": keep_map}, bank_file, log)
    facts = facts_of(job.bank)
    look = _looked(bank_file, log, facts, _asked(answers), kept, again=again)
    if not as_json:
        from bankwright.cli.show.bring import show_look

        show_look(log, look, store)
    if keep_map is not None:
        output(keep_map, as_toml(look.mapping), "--keep-map", bank_file, log)
        click.echo(f"Written: {keep_map}", err=as_json)
    stored = _stored(bank_file, log, look, facts, store, again=again, as_json=as_json)
    if as_json:
        click.echo(dumps(import_document(job, log, look, stored)))
    if look.looked is None or (store and look.told.open):
        sys.exit(2)


def _refuse_exchanged(bank_file: Path, log: Path) -> None:
    if log.suffix.lower() == ".toml" and bank_file.suffix.lower() != ".toml":
        raise click.UsageError(f"The bank file comes first: bankwright import {log} {bank_file}")


def _asked(answers: dict[str, Any]) -> Asked:
    """Answers as they were typed."""
    from bankwright.job.bringing import Asked

    columns = tuple(name.strip() for name in (answers.pop("columns") or "").split(",") if name.strip())
    pairs: dict[str, Any] = {
        name: dict(_pair(f"--{name[:-1]}", text) for text in answers.pop(name)) for name in ("units", "takes")
    }
    return Asked(**{**answers, "start": tuple(answers["start"])}, columns=columns, **pairs)


def _pair(option: str, text: str) -> tuple[str, str]:
    heading, equals, what = text.rpartition("=")
    if not equals or not heading.strip() or not what.strip():
        raise click.BadParameter(f'found {text!r}; write {option} "HEADING=..."')
    return heading.strip(), what.strip()


def _looked(bank_file: Path, log: Path, facts: Facts, asked: Asked, kept: Path | None, *, again: bool) -> Look:
    from bankwright.job.bringing import looked_at, mapping_of
    from bankwright.job.telemetry import open_telemetry

    mapping = mapping_of(kept) if kept is not None else None
    with open_telemetry(bank_file, write=False) as store:
        look = looked_at(log, facts, asked, kept=mapping, store=store, again=again, progress=_reading)
    _clear()
    return look


def _stored(
    bank_file: Path, log: Path, look: Look, facts: Facts, store: bool, *, again: bool, as_json: bool
) -> Brought | None:
    """Store if it was asked for, or if a person at the terminal says so."""
    from bankwright.job.bringing import brought
    from bankwright.job.logs import logbook_path
    from bankwright.job.telemetry import open_telemetry

    name = logbook_path(bank_file).name
    if look.may_store and not store and not as_json and _at_a_terminal():
        store = click.confirm(f"Store these rows in {name}?", default=False)
    if not store or not look.may_store:
        return None
    with open_telemetry(bank_file) as telemetry:
        try:
            done = brought(look, facts, telemetry, again=again, progress=_storing)
        except KeyboardInterrupt:
            _clear()
            click.echo("Stopped. What was stored stays; the same command goes on from there.", err=True)
            raise
    _clear()
    if not as_json:
        words = f"Stored: {done.rows} rows in {name}, under the name {done.source}."
        click.echo(
            words if done.rows or not done.went_on else f"Nothing new: every row of {log.name} is in {name} already."
        )
    return done


def _at_a_terminal() -> bool:
    """A person can be asked."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def _reading(done: int, size: int) -> None:
    _progress("read", done, size)


def _storing(done: int, size: int) -> None:
    _progress("stored", done, size)


def _progress(word: str, done: int, size: int) -> None:
    from bankwright.cli.terminal import progress

    if size > 1 << 22:
        progress(f"{word}: {done / 1e6:.0f} of {size / 1e6:.0f} MB ({done / size:.0%})")


def _clear() -> None:
    from bankwright.cli.terminal import progress

    progress("")
