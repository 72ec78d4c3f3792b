"""`bankwright listen FILE`: poll the modules and keep what they say in the logbook.

Gives: command. A thin shell over watch/service; a service of the system starts it (docs/bus.md).
"""

from __future__ import annotations

import contextlib
import itertools
import signal
import time
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bankwright.cli.common import BANK_FILE

if TYPE_CHECKING:
    from bankwright.job.bus import Listener
    from bankwright.job.file import Bank
    from bankwright.job.telemetry import Telemetry

__all__ = ["command"]


@click.command(
    help="Poll the modules and keep what they say in the logbook.\n\n"
    "Reading requests only; a bus that speaks by itself is only listened to. "
    "It raises alarms and tells them by the ways of [watch]. Ends with Ctrl-C, after --polls "
    "(with exit code 2 when the source was never reached), or when the system stops it.\n\n"
    "Example: bankwright listen barn.toml"
)
@click.argument("bank_file", type=BANK_FILE)
@click.option("--port", metavar="PATH", help="Another serial port or CAN interface than the file names.")
@click.option("--host", metavar="HOST[:PORT]", help="Another network address than the file names.")
@click.option("--polls", type=click.IntRange(1), help="End after so many.")
@click.option("--no-log", is_flag=True, help="Show only; keep nothing.")
@click.option("--quiet", is_flag=True, help="Say only what goes wrong.")
@click.option("--test-message", is_flag=True, help="Send a test by every way that [watch] names, and end.")
def command(bank_file: Path, polls: int | None, quiet: bool, test_message: bool, **given: Any) -> None:
    """Open, poll, store, raise alarms, until it is stopped."""
    from bankwright.cli.common import opened
    from bankwright.cli.show.bus import poll_line
    from bankwright.job.bus import Service
    from bankwright.job.telemetry import open_telemetry
    from bankwright.job.watching import week_message

    job = opened(bank_file)
    bank = job.bank
    if test_message:
        _test(bank, bank_file)
        return
    listener = _listener(bank, bank_file, given)
    targets = listener.targets
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # a service that is stopped ends as with Ctrl-C
    with contextlib.ExitStack() as stack:
        keep = None if given["no_log"] else stack.enter_context(open_telemetry(bank_file))
        listener.keep = keep
        service = None
        if keep is not None:
            _alone(stack, keep)
            service = Service(bank, listener.register_map, listener, keep, week=partial(week_message, job))
        run = listener.run(time.sleep) if service is None else service.run(time.sleep)
        stack.callback(run.close)
        with contextlib.suppress(KeyboardInterrupt):
            for told in itertools.islice(run, polls):
                if told.cycle is None:
                    click.echo(told.words, err=True)
                elif not quiet:
                    click.echo(poll_line(told.cycle, len(targets), told.stored))
            if not listener.reached:
                click.echo("The source was never reached; nothing was heard.", err=True)
                raise SystemExit(2)


def _alone(stack: contextlib.ExitStack, keep: Telemetry) -> None:
    """One listener a logbook: a second one would store everything twice and talk into the first one's line."""
    from bankwright.forms.faults import Fault, QuestionError
    from bankwright.job.telemetry import held

    if not stack.enter_context(held(keep.path, "listen")):
        found = f"another listener writes into {keep.path.name}"
        hint = "Stop that one first, or look with --no-log where the line allows two"
        raise QuestionError((Fault(keep.path.name, "listener-runs", found, "", hint),))


def _listener(bank: Bank, bank_file: Path, given: dict[str, Any]) -> Listener:
    """What polls the line of the file, or hears the bus that speaks by itself."""
    from bankwright.job.bus import Listener, map_of, opened_wire, policy_of, speaking_of, sunspec_of, targets_of

    speaking = speaking_of(bank, bank_file.parent)
    if speaking is not None:
        port = given["port"] or given["host"]
        return Listener(lambda: speaking.open(port), speaking.listing, speaking.targets, speaking.every, None)
    every = bank.bus.every if bank.bus is not None and bank.bus.every is not None else 1.0
    sun = sunspec_of(bank)
    if sun is not None:
        return Listener(
            lambda: sun.source(opened_wire(bank, given["port"], given["host"])),
            sun.listing,
            targets_of(bank),
            every,
            None,
        )
    register_map = map_of(bank, bank_file.parent, needed=True)
    assert register_map is not None
    return Listener(
        lambda: opened_wire(bank, given["port"], given["host"]),
        register_map,
        targets_of(bank),
        every,
        None,
        policy_of(bank),
    )


def _test(bank: Bank, bank_file: Path) -> None:
    """One message by every way; ends with 1 where one is not delivered."""
    from bankwright.job.bus import Message, NotDelivered, topics_read, ways_of
    from bankwright.job.logs import SystemClock

    ways, lost = ways_of(bank, topics_read(bank, bank_file.parent)), False
    if not ways:
        click.echo("The bank file names no way out: [watch] mqtt, post, mail or command.", err=True)
    title = bank.title or bank.file
    message = Message(title, SystemClock().now().wall, "test", "test", "", "A test: nothing is wrong")
    for way in ways:
        try:
            way.deliver(message)
            click.echo(f"{way.name}: delivered")
        except NotDelivered as error:
            lost = True
            click.echo(f"{way.name}: not delivered: {error}", err=True)
    if lost or not ways:
        raise SystemExit(1)
