"""`bankwright datasheet`: a maker's sheet as proposals for a kind, confirmed one by one into a bank file."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bankwright.cli.common import opened
from bankwright.cli.show.findings import wrap

if TYPE_CHECKING:
    from bankwright.job.sheets import Answer, Proposals

__all__ = ["command"]

FAMILIES = ("module", "inverter", "charger", "device")


@click.command()
@click.argument("sheet", type=click.Path(path_type=Path))
@click.option("--kind", type=click.Choice(FAMILIES), help="What the sheet is of; guessed when not given.")
@click.option("--model", help="Which model, where the sheet holds several.")
@click.option("--into", type=click.Path(path_type=Path), help="Confirm value by value into this bank file.")
@click.option("--name", help="Name of the kind in the bank file.")
@click.option("--json", "as_json", is_flag=True, help="Print the proposals as JSON.")
def command(
    sheet: Path, kind: str | None, model: str | None, into: Path | None, name: str | None, *, as_json: bool
) -> None:
    """Read a maker's data sheet, PDF or text, and propose values for a kind.

    Each value stands with the line it came from; what the sheet leaves open
    is a question. Nothing enters a file that was not confirmed. PDF needs the
    extra: pip install "bankwright[sheets]".
    Example: bankwright datasheet module.pdf --into barn.toml --name M100
    """
    from bankwright.job.sheets import NotReadable, proposed_of, sheet_document

    if as_json and into is not None:
        raise click.UsageError("--json and --into do not go together.")
    try:
        found = proposed_of(sheet, kind or "")
    except NotReadable as error:
        if as_json:
            click.echo(json.dumps(sheet_document(None, str(error)), indent=2, ensure_ascii=False))
        else:
            click.echo(wrap(f"{sheet}: {error}" + "." * (not str(error).endswith(("?", "."))), 2), err=True)
        sys.exit(2)
    if as_json:
        click.echo(json.dumps(sheet_document(found), indent=2, ensure_ascii=False))
        return
    chosen = _models(found, model)
    if into is None:
        from bankwright.cli.show.data_sheet import data_sheet_lines

        for each, answers in chosen.items():
            click.echo("\n".join(data_sheet_lines(found.kind, each or found.title, answers)))
        return
    _confirm(found, chosen, into, name)


def _models(found: Proposals, model: str | None) -> dict[str, dict[str, Answer]]:
    if model is None:
        return found.models
    if model not in found.models:
        names = ", ".join(n for n in found.models if n)
        said = f"The sheet holds {names}." if names else "The sheet is of one model."
        raise click.BadParameter(f"no model {model!r}. {said}", param_hint="--model")
    return {model: found.models[model]}


def _terminal() -> bool:
    return sys.stdin.isatty()


def _confirm(found: Proposals, chosen: dict[str, dict[str, Answer]], into: Path, name: str | None) -> None:
    from bankwright.cli.hands.data_sheet import confirm

    if len(chosen) > 1:
        raise click.UsageError(f"The sheet holds several models: choose with --model: {', '.join(chosen)}.")
    if not _terminal():
        raise click.UsageError("Each value is confirmed by a person: --into needs a terminal.")
    model, answers = next(iter(chosen.items()))
    called = name or model or ""
    if not called:
        raise click.UsageError("Name the kind in the bank file with --name, for example --name M100.")
    confirm(opened(into), found.kind, called, answers)
