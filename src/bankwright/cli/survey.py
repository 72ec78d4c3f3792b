"""`bankwright survey FILE`: who answers on the data bus, and why the others do not.

Gives: command. A thin shell: reading requests only, and none where another master is heard.
"""

from __future__ import annotations

import dataclasses
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bankwright.cli.common import BANK_FILE

if TYPE_CHECKING:
    from bankwright.job.bus import Explanation, Facts, How
    from bankwright.job.file import Bank

__all__ = ["command"]


@click.command(
    help="Find who answers on the data bus, and say why others do not.\n\n"
    "Listens first; asks with reading requests only, and not at all where another master is heard. "
    "Docs: your first evening on the bus.\n\nExample: bankwright survey barn.toml --port /dev/ttyUSB0"
)
@click.argument("bank_file", type=BANK_FILE)
@click.option("--port", metavar="PATH", help="Another serial port or CAN interface than the file names.")
@click.option("--host", metavar="HOST[:PORT]", help="Another network address than the file names.")
@click.option("--listen", type=click.FloatRange(0.2, 3600), default=3.0, show_default=True, help="Seconds, first.")
@click.option(
    "--to", "up_to", type=click.IntRange(1, 247), default=16, show_default=True, help="Highest address asked."
)
@click.option(
    "--watch",
    type=click.FloatRange(0, 600),
    default=3.0,
    show_default=True,
    help="Seconds in which all are read again.",
)
@click.option("--this-speed", is_flag=True, help="Do not try other speeds and parities at silent modules.")
@click.option("--who", default="", help="Who surveyed.")
@click.option("--no-log", is_flag=True, help="Keep nothing in the logbook.")
@click.option("--json", "as_json", is_flag=True, help="What was heard, and what it means, as JSON.")
@click.option("--ask-anyway", is_flag=True, help="Ask although another master is on the line: it may be disturbed.")
def command(
    bank_file: Path,
    port: str | None,
    host: str | None,
    *,
    this_speed: bool,
    who: str,
    no_log: bool,
    as_json: bool,
    **asked: Any,
) -> None:
    """Open, survey, explain."""
    from bankwright.cli.common import opened
    from bankwright.cli.show.bus import show_survey
    from bankwright.forms.as_json import dumps
    from bankwright.job.bus_documents import survey_document

    job = opened(bank_file)
    bank = job.bank
    facts, told = _surveyed(bank, bank_file, (port, host), _how(bank, {**asked, "other_speeds": not this_speed}))
    if as_json:
        click.echo(dumps(survey_document(job, facts, told)))
    else:
        show_survey(facts, told, bank.units)
    if not no_log:
        _keep(bank_file, bank, facts, told, who, aside=as_json)
    if any(each.verdict == "fail" for each in told):
        sys.exit(1)


def _surveyed(
    bank: Bank, bank_file: Path, at: tuple[str | None, str | None], how: How
) -> tuple[Facts, tuple[Explanation, ...]]:
    """Ask and explain; a bus that speaks by itself is only listened to, for --listen and --watch together."""
    from bankwright.job.bus import WireGone, expected_of, explain, map_of, opened_wire, speaking_of, survey

    def tell(words: str) -> None:
        click.echo(f"  {words}", err=True)

    speaking = speaking_of(bank, bank_file.parent)
    try:
        if speaking is not None:
            return speaking.survey(at[0] or at[1], how.listen + how.watch, tell)
        expected = expected_of(bank, map_of(bank, bank_file.parent), at[0])
        wire = opened_wire(bank, *at)
        try:
            facts = survey(wire, expected, how, tell)
        finally:
            wire.close()
    except WireGone as gone:
        raise click.UsageError(str(gone)) from None
    return facts, explain(facts)


def _how(bank: Bank, asked: dict[str, Any]) -> How:
    """How to ask: as the options say, and as patiently as the file does."""
    from bankwright.job.bus import How

    how = dataclasses.replace(How(), **asked)
    if bank.bus is not None and bank.bus.timeout is not None:
        how = dataclasses.replace(how, patience=dataclasses.replace(how.patience, timeout=bank.bus.timeout))
    return how


def _keep(bank_file: Path, bank: Bank, facts: Facts, told: tuple[Explanation, ...], who: str, *, aside: bool) -> None:
    """Hand the survey on to first power-up; where that fails it is said."""
    from bankwright.forms.faults import QuestionError
    from bankwright.job.bus import keep_survey
    from bankwright.job.logs import open_logbook

    try:
        with open_logbook(bank_file, bank, write=True) as book:
            number = keep_survey(book, facts, told, who)
    except (QuestionError, OSError) as error:
        click.echo(f"Not kept in the logbook: {error}", err=True)
        return
    click.echo(f"\nKept in the logbook as {number}; first power-up (B5) shows it.", err=aside)
