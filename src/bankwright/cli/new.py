"""`bankwright new`: a commented bank file that plans, from a conversation or from options."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bankwright.cli.common import BANK_FILE, may_write, typed

if TYPE_CHECKING:
    from bankwright.job.file import Document
    from bankwright.job.start import Start
    from bankwright.job.talking import Talk

__all__ = ["command"]

SHEET = click.Path(path_type=Path)


@click.command()
@click.argument("bank_file", type=BANK_FILE, required=False)
@click.option("--title", help="What the bank is called.")
@click.option("--modules", help="Number of alike modules.")
@click.option("--capacity", help='Capacity of one module: "100 Ah".')
@click.option("--cells", help="Cells in series in one module.")
@click.option("--discharge", help='Continuous discharge current: "100 A".')
@click.option("--charge", help='Continuous charge current: "50 A".')
@click.option("--mass", help='Mass of one module: "46 kg".')
@click.option("--height", help='Height of one module: "3 U".')
@click.option("--stud", help='Thread of its posts: "M8".')
@click.option("--pairs", help="Posts a pole: 1 or 2.")
@click.option("--breaker", help='Rating of the breaker inside one: "125 A".')
@click.option("--interrupts", help='What that breaker interrupts, DC: "10 kA".')
@click.option("--inverters", help="Number of inverters.")
@click.option("--power", help='Continuous power of one inverter: "5 kW".')
@click.option("--lowest-voltage", help='Lowest voltage at rated power: "48 V".')
@click.option("--pattern", help="Wiring: chain or busbar.")
@click.option("--feed", help="Where the mains meet it: opposite ends, same end, both ends.")
@click.option("--rules", help="Rule book: nec-2023 or iec-60364.")
@click.option("--units", help="Units of the output: metric or us.")
@click.option("--place", help="Where it stands.")
@click.option("--sheet", "sheets", multiple=True, type=SHEET, help="A maker's data sheet, PDF or text, to ask with.")
@click.option("--module-kind", help="A module that a file of kinds beside BANK_FILE gives; the file is included.")
@click.option("--inverter-kind", help="An inverter of such a file.")
@click.option("--ask/--no-ask", default=None, help="Ask for what is not given; without a terminal: do not.")
@click.option("--demo", is_flag=True, help="Write the invented demo banks instead, into this folder or BANK_FILE.")
def command(
    bank_file: Path | None, ask: bool | None, *, sheets: tuple[Path, ...], demo: bool, **given: str | None
) -> None:
    """Write a commented bank file that plans.

    A conversation, one question at a time; or the options, each heard as an
    answer is. What is not known stands in the file as a comment with the key
    to fill in. Stopping keeps the answers; the same command goes on with them.
    Example: bankwright new barn.toml
    """
    from bankwright.job.talking import Talk, kept, start_of

    if demo:
        _demo(bank_file, {**given, "sheet": str(sheets[0]) if sheets else None}, ask)
        return
    if bank_file is None:
        raise click.UsageError("Missing argument 'BANK_FILE'.", click.get_current_context())
    kinds = {family: given.pop(f"{family}_kind") for family in ("module", "inverter")}
    if bank_file.exists():
        raise click.BadParameter(f"{bank_file} exists; nothing was written. Name another file.", param_hint="BANK_FILE")
    may_write({"BANK_FILE": bank_file})
    answers = {key: value for key, value in given.items() if value is not None}
    if ask is None:
        ask = not answers and not any(kinds.values()) and sys.stdin is not None and sys.stdin.isatty()
    if sheets and not ask:
        raise click.UsageError("What a sheet says is confirmed by a person: --sheet goes with the conversation.")
    talk = _with_kinds(bank_file, kept(bank_file) if ask else Talk(), kinds)
    talk = _with_options(talk, answers)
    talk = _with_sheets(talk, sheets)
    agreed = _asked(bank_file, talk) if ask else None
    if ask and agreed is None:
        click.echo(f"Stopped. Nothing was written; bankwright new {typed(bank_file)} goes on with these answers.")
        return
    _begun(bank_file, _given(talk) if agreed is None else start_of(agreed), sheets)


def _begun(bank_file: Path, start: Start, sheets: tuple[Path, ...]) -> None:
    """The first file, and what comes next."""
    from bankwright.job.start import first_document
    from bankwright.job.talking import forget

    _write(first_document(start, bank_file), bank_file)
    forget(bank_file)
    click.echo(f"Written: {bank_file}. Next: bankwright plan {typed(bank_file)}")
    click.echo(f"What is still open: bankwright ask {typed(bank_file)}")
    for path in sheets:
        click.echo(f"The rest of a sheet: bankwright datasheet {typed(path)} --into {typed(bank_file)} --name KIND")


def _demo(folder: Path | None, given: dict[str, str | None], ask: bool | None) -> None:
    from bankwright.job.start import write_demo

    named = [f"--{key.replace('_', '-')}" for key, value in given.items() if value is not None]
    named += [] if ask is None else ["--ask" if ask else "--no-ask"]
    if named:
        raise click.UsageError(f"--demo takes no answers; leave out {', '.join(named)}.", click.get_current_context())
    if folder is not None and (folder.is_file() or folder.suffix == ".toml"):
        raise click.BadParameter(f"with --demo name a folder, not {folder}", param_hint="BANK_FILE")
    for path in write_demo(folder or Path()):
        click.echo(f"Written: {path}")
    click.echo(f"All data in them is invented. Next: bankwright plan {typed((folder or Path()) / 'four.toml')}")


def _with_options(talk: Talk, answers: dict[str, str]) -> Talk:
    """Hear the options as answers; all that cannot be taken are said at once."""
    from bankwright.forms.faults import Fault, QuestionError
    from bankwright.job.talking import ANSWERS, QUESTIONS, said

    faults = []
    for each in sorted(QUESTIONS, key=lambda q: q.key != "units"):
        if each.key not in answers:
            continue
        kind = next((kind for kind in talk.kinds if each.key in ANSWERS[kind.family]), None)
        option = f"--{each.key.replace('_', '-')}"
        if kind is not None:
            found = f"{kind.name} of {kind.file} is taken, which gives this"
            faults.append(Fault(option, "twice", found, hint=f"Change it there, or leave out --{kind.family}-kind"))
            continue
        after = said(_at(talk, each.key), answers[each.key])
        if after.heard is not None:
            found = after.heard.words.rstrip(".")
            hint = " or ".join(f'"{offer}"' for offer in after.heard.offers)
            faults.append(Fault(option, "not-taken", found, hint=f"Write {hint}" if hint else ""))
        else:
            talk = after
    if faults:
        raise QuestionError(tuple(faults))
    return talk


def _with_kinds(bank_file: Path, talk: Talk, named: dict[str, str | None]) -> Talk:
    """Take kinds that files of kinds beside the bank give, by their names."""
    from bankwright.forms.nearest import did_you_mean
    from bankwright.job.talking import shelf_of, using

    shelf = shelf_of(bank_file.parent)
    for family, name in named.items():
        if name is None:
            continue
        found = next((kind for kind in shelf if (kind.family, kind.name) == (family, name)), None)
        if found is None:
            there = [kind.name for kind in shelf if kind.family == family]
            hint = did_you_mean(name, there, f"There are: {', '.join(there)}" if there else "", 3)
            told = f'no file of kinds beside {bank_file.name} gives {_an(family)} "{name}". {hint}'.rstrip()
            raise click.BadParameter(told, param_hint=f"--{family}-kind")
        talk = using(talk, family, found)
    return talk


def _with_sheets(talk: Talk, sheets: tuple[Path, ...]) -> Talk:
    """Read data sheets: what they say stands ready at its question."""
    from bankwright.job.sheets import NotReadable, offers_of, proposed_of
    from bankwright.job.talking import offering

    for path in sheets:
        try:
            found = proposed_of(path)
        except NotReadable as error:
            raise click.BadParameter(f"{path}: {error}.", param_hint="--sheet") from error
        offers = offers_of(found)
        if len(found.models) > 1:
            raise click.BadParameter(f"{path} holds several models: bankwright datasheet {path}", param_hint="--sheet")
        click.echo(f"{path.name}: a sheet of {_an(found.kind)}, {len(offers)} questions are answered by it.")
        talk = offering(talk, offers)
    return talk


def _an(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"


def _at(talk: Talk, key: str) -> Talk:
    from dataclasses import replace

    return replace(talk, at=key, heard=None)


def _given(talk: Talk) -> Any:
    """The answers over the defaults of the starter file."""
    from dataclasses import fields, replace

    from bankwright.job.start import Start

    whole = {field.name for field in fields(Start) if field.type in ("int", "int | None")}
    answers = (*talk.answers, *(answer for kind in talk.kinds for answer in kind.answers))
    start = Start(**{key: int(text) if key in whole else text for key, text in answers if text is not None})  # type: ignore[arg-type]
    return replace(start, kinds=talk.kinds)


def _asked(bank_file: Path, talk: Talk) -> Talk | None:
    from bankwright.cli.hands.talking import converse
    from bankwright.job.talking import known, shelf_of

    count = sum(row.given for row in known(talk))
    if count:
        click.echo(f"Going on after {count} answers; nothing is lost.")
    return converse(bank_file, talk, shelf_of(bank_file.parent))


def _write(document: Document, bank_file: Path) -> None:
    from bankwright.job.file import ChangedOutside, bank_from

    _ = bank_from(document)  # a fault here is one of this program: every answer was heard
    try:
        document.save()
    except ChangedOutside as error:
        raise click.ClickException(str(error)) from error
    except OSError as error:
        raise click.BadParameter(f"{bank_file} cannot be written: {error.strerror}", param_hint="BANK_FILE") from error
