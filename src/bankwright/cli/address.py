"""`bankwright address FILE`: addresses, switches, cable order, what to measure, how fast a poll can be.

Gives: command. A thin shell; nothing is opened.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from bankwright.cli.common import BANK_FILE

if TYPE_CHECKING:
    from bankwright.job.file import Bank

__all__ = ["command"]


def _untimed(bank: Bank) -> str:
    """Why the poll is not timed."""
    if bank.bus is not None and bank.bus.protocol == "sunspec":
        said = "SunSpec: the devices tell their own registers; bankwright listen tells how long a poll takes."
        if bank.bus.device is not None:
            said += f" The device at {bank.bus.device} speaks for all modules: the addresses above are their numbers of"
            said += " string in it, and switches are as its manual says."
        return said
    return "No map is named (bus.map): the poll cannot be timed."


@click.command(help="Plan addresses, switches and the data line.\n\nExample: bankwright address barn.toml")
@click.argument("bank_file", type=BANK_FILE)
@click.option("--json", "as_json", is_flag=True, help="The sheet as JSON.")
def command(bank_file: Path, as_json: bool) -> None:
    """Read, plan, print; 1 when something on the sheet fails."""
    from bankwright.cli.common import opened
    from bankwright.cli.show.bus import show_addresses, show_heard, show_poll
    from bankwright.cli.show.findings import wrap
    from bankwright.forms.as_json import dumps
    from bankwright.job.bus import (
        address_plan,
        double_addresses,
        framing_of,
        line_plan,
        map_of,
        poll_plan,
        speaking_of,
    )
    from bankwright.job.bus_documents import address_document

    job = opened(bank_file)
    bank = job.bank
    rows, line = address_plan(bank), line_plan(bank)
    named = bank.bus is not None and bank.bus.map is not None
    speaking = speaking_of(bank, bank_file.parent) if named else None
    register_map = None if speaking else map_of(bank, bank_file.parent)
    plan = None if register_map is None else poll_plan(bank, register_map)
    if as_json:
        click.echo(dumps(address_document(job, rows, line, plan)))
    else:
        click.echo(f"Address sheet of {bank.title}")
        show_addresses(rows, line, bank.units, wires=bank.bus is None or bank.bus.wire != "mqtt")
        if speaking is not None:
            show_heard(speaking)
        elif plan is not None and register_map is not None:
            show_poll(plan, register_map, framing_of(bank), bank.units)
        else:
            click.echo(wrap(_untimed(bank), 2))
    failed = any(each.verdict == "fail" for each in line.remarks) or bool(double_addresses(rows))
    if failed or any(row.fault for row in rows) or (plan is not None and plan.fits is False):
        sys.exit(1)
