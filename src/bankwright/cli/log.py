"""`bankwright log`: read and write the bank's logbook; FILE is the bank file.

Gives: command (a click group; `log FILE` is `log show FILE`). Exit codes: 0 done, 1 damage found by `log check`, 2
the question was wrong; then nothing was stored.
Limits: a thin shell over logbook/; `log add` is in cli/hands/entry.py, how entries are printed in cli/show/log.py.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bankwright.cli.common import may_write, output
from bankwright.cli.hands.entry import FILE, add, existing, wrong

if TYPE_CHECKING:
    from bankwright.job.telemetry import Rescued

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

    The logbook stands beside the bank file: barn.toml, barn.logbook. Nothing in it is ever changed; a
    correction is a new entry that points to the old one.

    Example: bankwright log barn.toml
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
    bank_file: Path, by: str, at: str | None, step: str | None, kind: str | None, *, standing: bool, last: int | None
) -> None:
    """Print the logbook (`log FILE` does the same)."""
    from bankwright.cli.show import log as log_show
    from bankwright.job.logs import open_logbook

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
@click.option(
    "--format",
    "form",
    type=click.Choice(["csv", "json", "parquet"]),
    default="csv",
    help="CSV or JSON; telemetry: CSV or Parquet.",
)
@click.option("--out", type=FILE, help="Write to this file (Parquet: folder), otherwise to the terminal.")
@click.option("--kind", help="Only readings, ticks, notes, photos, events, results or instruments.")
@click.option("--telemetry", is_flag=True, help="Write what the modules sent, not what was entered.")
@click.option(
    "--since", metavar="TIME", help="Telemetry from this time on (2026-03-01, or with hours; UTC if no zone)."
)
@click.option("--until", metavar="TIME", help="Telemetry before this time.")
def export(
    bank_file: Path,
    form: str,
    out: Path | None,
    kind: str | None,
    telemetry: bool,
    *,
    since: str | None,
    until: str | None,
) -> None:
    """Write all entries as CSV or JSON, or telemetry as CSV or Parquet.

    Example: bankwright log export barn.toml --format json --out log.json
    """
    if telemetry:
        from bankwright.cli.hands.telemetry import exported

        if kind is not None:
            raise wrong("--kind", "is given with --telemetry", "Kinds are of entries")
        click.echo(exported(existing(bank_file), form, out, (since, until)), nl=out is not None)
        return
    if form == "parquet" or since or until:
        raise wrong("--telemetry", "is missing", "Parquet, --since and --until are for telemetry")
    _export_entries(bank_file, form, out, kind)


def _export_entries(bank_file: Path, form: str, out: Path | None, kind: str | None) -> None:
    import io

    from bankwright.forms.as_json import dumps
    from bankwright.job.logs import as_json, open_logbook, write_csv

    wanted = _kind(kind)
    may_write({"--out": out}, bank_file)
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
    output(out, text.getvalue(), "--out", bank_file)
    click.echo(f"Written: {out}")


@command.command()
@click.argument("bank_file", type=FILE)
@click.option("--salvage", type=FILE, metavar="NEW", help="Write what can be read into a new logbook.")
def check(bank_file: Path, salvage: Path | None) -> None:
    """Look for damage, name it, and save what can be read; the old file is not touched.

    Example: bankwright log check barn.toml --salvage saved.logbook
    """
    from bankwright.cli.show.findings import wrap
    from bankwright.job.logs import check_repair, logbook_path

    path = logbook_path(existing(bank_file))
    if not path.exists():
        click.echo(f"{path.name}: nothing was entered yet")
        return
    report = check_repair.check(path)
    if report.is_whole:
        words = f"{path.name}: {report.entries} entries, all whole, in both copies."
        click.echo(wrap(f"{words}{_rows(report.rows)}"))
    else:
        words = f"{path.name}: {report.entries} entries can be read; {len(report.damage)} things are wrong."
        click.echo(wrap(f"{words}{_rows(report.rows)}"))
        for damage in report.damage:
            where = f" Entries {_numbers(damage.entries)}." if damage.entries else ""
            click.echo(wrap(f"{damage.words}.{where} [{damage.code}]", 2, "- "))
    if salvage is not None:
        saved = check_repair.salvage(path, salvage)
        click.echo(f"Saved {saved.entries} entries into {saved.path}. {path.name} was not touched.")
        for words in _saved_telemetry(saved.telemetry):
            click.echo(wrap(words))
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

    Example: bankwright log backup barn.toml /media/stick/barn.logbook
    """
    from bankwright.job.logs import backup as copied
    from bankwright.job.logs import logbook_path

    count = copied(logbook_path(existing(bank_file)), target)
    click.echo(f"Copied {count} entries and all telemetry to {target}; the copy was checked.")


def _rows(count: int) -> str:
    return f" {count} rows of telemetry can be read whole." if count else ""


def _saved_telemetry(saved: Rescued) -> list[str]:
    """What came over of telemetry, in words."""
    words = []
    if saved.rows or saved.lost_rows or saved.lost_blocks or saved.damaged_blocks:
        words.append(
            f"Saved {saved.rows} rows of telemetry, in {saved.blocks} sealed hours and the hours not yet sealed."
        )
    if saved.lost_rows or saved.lost_blocks:
        words.append(
            f"Not found: {saved.lost_rows} rows of telemetry; of {saved.lost_blocks} hours only the sums are left."
        )
    if saved.damaged_blocks:
        words.append(f"Of {saved.damaged_blocks} hours some signals could not be read; they are marked as damaged.")
    if not saved.count_known:
        words.append("How many rows of telemetry the old file held cannot be read; later ones may be lost.")
    return words


def _units(bank_file: Path) -> str:
    """The file's units; a bank file with faults does not keep the logbook from being read."""
    from bankwright.forms.faults import QuestionError
    from bankwright.job.file import read_bank

    try:
        return read_bank(bank_file).units
    except QuestionError:
        return "metric"


def _kind(text: str | None) -> Any:
    from bankwright.job.logs import KINDS

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
