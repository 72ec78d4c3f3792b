"""`bankwright new`: a commented bank file that plans, from a short dialogue or from options."""

from __future__ import annotations

import sys
from dataclasses import fields
from pathlib import Path
from typing import Any

import click

from bankwright.cli.common import BANK_FILE

__all__ = ["command"]

# answer -> question; the options carry the same names
_QUESTIONS = {
    "title": "What is the bank called?",
    "modules": "How many modules?",
    "capacity": "Capacity of one module",
    "discharge": "Continuous discharge current of one module",
    "charge": "Continuous charge current of one module",
    "mass": "Mass of one module (a dash if you do not know)",
    "inverters": "How many inverters?",
    "power": "Continuous power of one inverter",
    "lowest_voltage": "Lowest battery voltage at which it still gives that power",
    "pattern": "Wiring: chain (module to module) or busbar (each to a bar)",
    "rules": "Rule book: nec-2023 or iec-60364",
    "units": "Units of the output: metric or us",
}


@click.command()
@click.argument("bank_file", type=BANK_FILE)
@click.option("--title", help="What the bank is called.")
@click.option("--modules", type=click.IntRange(1, 64), help="Number of modules.")
@click.option("--capacity", help='Capacity of one module: "100 Ah".')
@click.option("--discharge", help='Continuous discharge current: "100 A".')
@click.option("--charge", help='Continuous charge current: "50 A".')
@click.option("--mass", help='Mass of one module: "46 kg".')
@click.option("--inverters", type=click.IntRange(0, 16), help="Number of inverters.")
@click.option("--power", help='Continuous power of one inverter: "5 kW".')
@click.option("--lowest-voltage", help='Lowest voltage at rated power: "48 V".')
@click.option("--pattern", type=click.Choice(["chain", "busbar"]), help="Wiring.")
@click.option("--feed", type=click.Choice(["same end", "opposite ends", "both ends"]), help="Where the mains meet it.")
@click.option("--rules", type=click.Choice(["nec-2023", "iec-60364"]), help="Rule book.")
@click.option("--units", type=click.Choice(["metric", "us"]), help="Units of the output.")
@click.option("--ask/--no-ask", default=None, help="Ask for what is not given; without a terminal: do not.")
def command(bank_file: Path, ask: bool | None, **given: Any) -> None:
    """Write a commented bank file that plans.

    Asks a few questions, or takes the options. What only the maker's sheet can
    tell stands in the file as a comment with the key to fill in.
    Example: bankwright new barn.toml
    """
    from bankwright.bank.document import ChangedOutside
    from bankwright.bank.new import Start, first_document
    from bankwright.bank.read import BankFileError, bank_from
    from bankwright.forms.faults import QuestionError

    if bank_file.exists():
        raise click.BadParameter(f"{bank_file} exists; nothing was written. Name another file.", param_hint="BANK_FILE")
    answers = {key: value for key, value in given.items() if value is not None}
    if ask is None:
        ask = not answers and sys.stdin.isatty()
    if ask:
        answers = _asked(answers, Start())
    document = first_document(Start(**answers), bank_file)
    try:
        _ = bank_from(document)  # faults in the answers are named before anything is written
    except BankFileError as error:
        raise QuestionError(tuple(_about_answer(fault) for fault in error.faults)) from error
    try:
        document.save()
    except ChangedOutside as error:
        raise click.ClickException(str(error)) from error
    except OSError as error:
        raise click.BadParameter(f"{bank_file} cannot be written: {error.strerror}", param_hint="BANK_FILE") from error
    click.echo(f"Written: {bank_file}. Next: bankwright plan {bank_file}")
    click.echo("Read it through: what stands there as a comment is still to be looked up.")


def _about_answer(fault: Any) -> Any:
    """A fault of the file that would be written, said of the answer it comes from."""
    from dataclasses import replace

    last = fault.path.rsplit(".", 1)[-1]
    option = {"continuous": "charge" if ".charge." in fault.path else "discharge"}.get(last, last)
    return replace(fault, path=f"--{option.replace('_', '-')}", place=None, also=None)


def _asked(given: dict[str, Any], defaults: Any) -> dict[str, Any]:
    """Ask for every answer that is not given; Enter keeps the default."""
    answers = dict(given)
    kinds = {field.name: field for field in fields(defaults)}
    for key, question in _QUESTIONS.items():
        if key in answers or key not in kinds:
            continue
        default = getattr(defaults, key)
        typed = click.prompt(
            question, default="-" if default is None else default, type=type(default) if default else str
        )
        if typed != "-":
            answers[key] = typed
    return answers
