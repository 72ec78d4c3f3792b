"""`bankwright pretend FILE`: the bank's modules on a port that is made for it, for practice; or a minute at once.

Gives: command. A thin shell. It opens only what it makes itself: a pseudo-terminal, a port on the loopback address,
a CAN bus inside the machine, a broker on the loopback address.
"""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bankwright.cli.common import BANK_FILE

if TYPE_CHECKING:
    from bankwright.job import Job
    from bankwright.job.bus import Line
    from bankwright.job.file import Bank

__all__ = ["command"]


@click.command(
    help="Pretend the bank's modules on a port made for practice.\n\n"
    "Or put days of them into a new logbook: --days.\n\n"
    "Troubles on command, such as late:M3=0.4s, doubled:M4=M3, unplug:M2@30, echo, noise=10%; "
    "--troubles lists all.\n\nExample: bankwright pretend barn.toml --trouble off:M2"
)
@click.argument("bank_file", type=BANK_FILE)
@click.option(
    "--trouble", "troubles", multiple=True, metavar="KIND[:MODULE][=VALUE][@SECONDS]", help="What goes wrong."
)
@click.option("--troubles", "listed", is_flag=True, help="List what can go wrong.")
@click.option("--tcp", is_flag=True, help="On a network port of this machine instead of a serial one.")
@click.option(
    "--minute", is_flag=True, help="A minute on a clock of its own, at once: survey, ten polls, what is kept."
)
@click.option(
    "--days",
    type=click.IntRange(10, 3660),
    help="Put so many pretend days into a new logbook beside the file, for bankwright watch to look at; a year is 365.",
)
@click.option("--grow", metavar="JOINT=OHMS", help='With --days: a joint that goes bad, "L3+@M3+=0.25 mohm".')
@click.option("--seconds", type=click.FloatRange(0.1), help="End after so long; else with Ctrl-C.")
def command(bank_file: Path, troubles: tuple[str, ...], listed: bool, tcp: bool, minute: bool, **given: Any) -> None:
    """Make the rack, then serve it, play a minute, or live some days."""
    from bankwright.cli.common import opened
    from bankwright.job.bus import TROUBLES, TroubleFault

    if listed:
        for name, (wants, words) in TROUBLES.items():
            click.echo(f"  {name + (f'={wants}' if wants else ''):18} {words}")
        return
    job = opened(bank_file)
    bank = job.bank
    if given["days"] is not None:
        _days(job, given["days"], given["grow"])
        return
    if given["grow"] is not None:
        raise click.BadParameter("a joint grows over days: add --days", param_hint="--grow")
    if bank.bus is not None and bank.bus.wire in ("can", "mqtt"):
        from bankwright.cli.hands.broadcasting import serve_can, serve_topics

        if tcp or minute:
            raise click.UsageError("--tcp and --minute are for a line on which modules are asked")
        serve = serve_can if bank.bus.wire == "can" else serve_topics
        serve(bank, bank_file, troubles, given["seconds"])
        return
    try:
        line = _line(bank, bank_file, troubles)
    except TroubleFault as fault:
        raise click.BadParameter(str(fault), param_hint="--trouble") from None
    if minute:
        from bankwright.cli.hands.practice import play_minute

        play_minute(bank, bank_file, line)
        return
    _serve(line, tcp, given["seconds"])


def _days(job: Job, days: int, grow: str | None) -> None:
    """Pretend days into a new logbook; says what stands in it."""
    from bankwright.cli.show.findings import wrap
    from bankwright.job.year import RAW, STEP, growth_of, live_year

    grows = None if grow is None else growth_of(job.bank, grow)
    for day in live_year(job, days, grows):
        if day % 60 == 0:
            click.echo(f"Day {day} of {days}", err=True)
    bad = "No joint goes bad." if grows is None else f"From their middle on {grows.element} grows."
    words = (
        f"{days} pretend days are in the logbook: an invented house on this bank's own network, with errors of "
        f"sensors, read every {STEP:g} s. The last {RAW} days and today are raw readings; of those before them only "
        f"the sums stand there that a listener keeps of a day for the joints. {bad} Now: bankwright watch FILE --since "
        f"{days}d"
    )
    click.echo(wrap(words))


def _line(bank: Bank, bank_file: Path, troubles: tuple[str, ...]) -> Line:
    from bankwright.forms.faults import Fault, QuestionError
    from bankwright.job.bus import (
        DEVICE,
        START,
        Place,
        framing_of,
        map_of,
        practice,
        pretend_line,
        sunspec_line,
        targets_of,
        trouble,
    )

    line = bank.bus
    is_sunspec = line is not None and line.protocol == "sunspec"
    register_map = None if is_sunspec else map_of(bank, bank_file.parent, needed=True)
    places = [Place(target.name, target.unit) for target in targets_of(bank)]
    if not places:
        fault = Fault("kinds.module", "key-missing", "no module has an address", "", "Write address.first of its kind")
        raise QuestionError((fault,), bank_file.name)
    alone = is_sunspec and line is not None and line.device is not None
    names = (DEVICE,) if alone else tuple(place.name for place in places)
    wrong = [trouble(text, names) for text in troubles]
    framing = framing_of(bank) or START
    if line is not None and register_map is None:
        cells = bank.modules[0].kind.cells or 16
        return sunspec_line(
            places, framing, practice(bank), wrong, device=line.device, positive=line.positive, cells=cells
        )
    assert register_map is not None
    return pretend_line(places, register_map, framing, practice(bank), wrong)


def _serve(line: Line, tcp: bool, seconds: float | None) -> None:
    from bankwright.job.bus import Loopback, Terminal

    door = Loopback(line) if tcp else Terminal(line)
    where = f"--host 127.0.0.1:{door.port}" if isinstance(door, Loopback) else f"--port {door.path}"
    count = len(line.modules)
    who = f"{count} pretend {'device' if count == 1 else 'modules'}"
    click.echo(f"{who}, all values invented. In another window: bankwright survey FILE {where}")
    end = None if seconds is None else time.monotonic() + seconds
    try:
        door.serve(lambda: end is None or time.monotonic() < end)
    except KeyboardInterrupt:
        pass
    finally:
        door.close()
    counts = line.counts
    click.echo(f"{counts.requests} requests heard, {counts.violations} of them before the silence was over.")
