"""`bankwright log`: read and write the bank's logbook; FILE is the bank file.

Gives: command (a click group; `log FILE` is `log show FILE`). Exit codes: 0 done, 1 damage found by `log check`, 2
the question was wrong; then nothing was stored.
Limits: a thin shell over logbook/; `log add` is in cli/log_add.py, how entries are printed in cli/log_show.py.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from bankwright.cli.log_add import FILE, add, existing, wrong

__all__ = ["command"]


class _ShowFirst(click.Group):
    """`log FILE` without the name of a command shows the logbook."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        if args and args[0] not in self.commands and args[0] not in ("-h", "--help"):
            args = ["show", *args]
        return super().parse_args(ctx, args)


@click.group(cls=_ShowFirst, no_args_is_help=True)
def command() -> None:
    """Read and write the bank's logbook.

    The logbook stands beside the bank file: orchard.toml, orchard.logbook. Nothing in it is ever changed; a
    correction is a new entry that points to the old one.

    Example: bankwright log orchard.toml
    """


command.add_command(add)


@command.command()
@click.argument("bank_file", type=FILE)
@click.option("--by", type=click.Choice(["time", "place", "step"]), default="time", help="How to order it.")
@click.option("--at", metavar="PLACE", help="Only this place.")
@click.option("--step", help="Only this step.")
@click.option("--kind", help="Only readings, ticks, notes, photos, events, results or instruments.")
@click.option("--standing", is_flag=True, help="Leave out what was corrected.")
@click.option("--last", type=click.IntRange(min=1), metavar="N", help="Only the last N entries.")
def show(
    bank_file: Path, by: str, at: str | None, step: str | None, kind: str | None, standing: bool, last: int | None
) -> None:
    """Print the logbook (`log FILE` does the same)."""
    from bankwright.cli import log_show
    from bankwright.logbook.logbook import open_logbook

    wanted = _kind(kind)
    with open_logbook(existing(bank_file), write=False) as book:
        every = list(book.entries())
    newer = {e.corrects: f"{'struck out' if e.kind == 'note' else 'corrected'} by {e.seq}" for e in every if e.corrects}
    shown = [
        entry
        for entry in every
        if (at is None or entry.at == at)
        and (step is None or entry.step == step)
        and (wanted is None or entry.kind == wanted)
        and not (standing and entry.id in newer)
    ]
    shown = shown[-last:] if last else shown
    count = f"{len(shown)} of {len(every)} entries" if len(shown) < len(every) else f"{len(every)} entries"
    click.echo(f"{book.path.name}: {count}" if every else f"{book.path.name}: nothing was entered yet")
    {"time": log_show.show_by_time, "place": log_show.show_by_place, "step": log_show.show_by_step}[by](
        shown, every, newer, _units(bank_file)
    )


@command.command()
@click.argument("bank_file", type=FILE)
@click.option("--format", "form", type=click.Choice(["csv", "json"]), default="csv", help="CSV or JSON.")
@click.option("--out", type=FILE, help="Write to this file, otherwise to the terminal.")
@click.option("--kind", help="Only readings, ticks, notes, photos, events, results or instruments.")
def export(bank_file: Path, form: str, out: Path | None, kind: str | None) -> None:
    """Write all entries as CSV or JSON.

    Example: bankwright log export orchard.toml --format json --out log.json
    """
    import io

    from bankwright.forms.as_json import dumps
    from bankwright.logbook.export import as_json, write_csv
    from bankwright.logbook.logbook import open_logbook

    wanted = _kind(kind)
    with open_logbook(existing(bank_file), write=False) as book:
        entries = list(book.entries())
    text = io.StringIO()
    if form == "csv":
        write_csv(entries, text, wanted)
    else:
        text.write(dumps(as_json(entries, wanted)) + "\n")
    if out is None:
        click.echo(text.getvalue(), nl=False)
        return
    try:
        out.write_text(text.getvalue(), encoding="utf-8", newline="")
    except OSError as error:
        raise wrong("--out", f"{out} cannot be written ({error.strerror})") from error
    click.echo(f"Written: {out}")


@command.command()
@click.argument("bank_file", type=FILE)
@click.option("--salvage", type=FILE, metavar="NEW", help="Write what can be read into a new logbook.")
def check(bank_file: Path, salvage: Path | None) -> None:
    """Look for damage, name it, and save what can be read; the old file is not touched.

    Example: bankwright log check orchard.toml --salvage saved.logbook
    """
    from bankwright.cli.show import wrap
    from bankwright.logbook import check_repair
    from bankwright.logbook.connect import logbook_path

    path = logbook_path(existing(bank_file))
    if not path.exists():
        click.echo(f"{path.name}: nothing was entered yet")
        return
    report = check_repair.check(path)
    if report.is_whole:
        click.echo(f"{path.name}: {report.entries} entries, all whole, in both copies.")
    else:
        click.echo(f"{path.name}: {report.entries} entries can be read; {len(report.damage)} things are wrong.")
        for damage in report.damage:
            where = f" Entries {_numbers(damage.entries)}." if damage.entries else ""
            click.echo(wrap(f"{damage.words}.{where} [{damage.code}]", 2, "- "))
    if salvage is not None:
        saved = check_repair.salvage(path, salvage)
        click.echo(f"Saved {saved.entries} entries into {saved.path}. {path.name} was not touched.")
        if saved.lost:
            click.echo(wrap(f"Not found: entries {_numbers(saved.lost)}."))
        if not saved.count_known:
            click.echo(wrap("How many entries the old file held cannot be read; later ones may be lost."))
    elif not report.is_whole:
        click.echo(wrap("`bankwright log check FILE --salvage NEW.logbook` saves what can be read into a new file."))
    raise SystemExit(0 if report.is_whole else 1)


@command.command()
@click.argument("bank_file", type=FILE)
@click.argument("target", type=FILE)
def backup(bank_file: Path, target: Path) -> None:
    """Copy the whole logbook into one new file, also while others write.

    Example: bankwright log backup orchard.toml /media/stick/orchard.logbook
    """
    from bankwright.logbook.connect import logbook_path
    from bankwright.logbook.export import backup as copied

    count = copied(logbook_path(existing(bank_file)), target)
    click.echo(f"Copied {count} entries to {target}; the copy was checked.")


def _units(bank_file: Path) -> str:
    """The file's units; a bank file with faults does not keep the logbook from being read."""
    from bankwright.bank.read import read_bank
    from bankwright.forms.faults import QuestionError

    try:
        return read_bank(bank_file).units
    except QuestionError:
        return "metric"


def _kind(text: str | None) -> Any:
    from bankwright.logbook.entries import KINDS

    if text is None:
        return None
    kind = text.removesuffix("s")
    if kind not in KINDS:
        raise wrong("--kind", f"found {text!r}", f"Kinds: {', '.join(KINDS)}")
    return kind


def _numbers(numbers: tuple[int, ...]) -> str:
    """`3, 5 to 9`."""
    parts: list[list[int]] = []
    for number in sorted(numbers):
        if parts and number == parts[-1][-1] + 1:
            parts[-1] = [parts[-1][0], number]
        else:
            parts.append([number])
    return ", ".join(f"{p[0]} to {p[-1]}" if len(p) > 1 else f"{p[0]}" for p in parts)
