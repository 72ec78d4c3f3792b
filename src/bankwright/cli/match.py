"""`bankwright match`: may these modules be joined, and are they equally charged? Two answers, never merged."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bankwright.cli.common import BANK_FILE, finish, opened

if TYPE_CHECKING:
    from bankwright.job import Job
    from bankwright.match.collect import Typed
    from bankwright.match.verdicts import Match

__all__ = ["command"]

MANY: dict[str, Any] = {"multiple": True, "metavar": "[MODULE=]TEXT"}


@click.command()
@click.argument("bank_file", type=BANK_FILE)
@click.option("--reading", multiple=True, metavar="MODULE=VOLTAGE", help="A module read alone: --reading M1=52.6V")
@click.option("--readings", type=click.Path(path_type=Path), help="A CSV file; columns module, voltage, rested, ...")
@click.option("--from-log", is_flag=True, help="Take the newest readings from the logbook.")
@click.option("--meter", help='The meter by name, or its accuracy: "0.5 % + 2 digits".')
@click.option("--rested", **MANY, help="How long without current: 6h, or M3=20min")
@click.option("--temperature", **MANY, help="Of the modules: 15degC, or M3=2degC")
@click.option("--last", **MANY, help="Last charged or discharged: charged, or M3=discharged")
@click.option("--soc", **MANY, help="What the module's own display says: M1=55%")
@click.option("--charging", multiple=True, metavar="MODULE=CURRENT", help="Current of each module while charging.")
@click.option("--discharging", multiple=True, metavar="MODULE=CURRENT", help="The same while discharging.")
@click.option("--charger", metavar="CURRENT,VOLTAGE", help='Yours, for the times of a plan: "20 A, 56.8 V"')
@click.option("--resistor", metavar="OHM,WATT", help='One at hand, for levelling: "10 ohm, 0.5 W"')
@click.option("--cycle", is_flag=True, help="Run a whole cycle: who carries what, where a limit is hit first.")
@click.option(
    "--settle",
    type=click.Path(path_type=Path),
    help="Write charts of what follows: FILE.svg, FILE-volts.svg.",
)
@click.option("--who", default="", help="Who read them.")
@click.option("--no-log", is_flag=True, help="Keep nothing in the logbook.")
@click.option("--json", "as_json", is_flag=True, help="Everything as JSON.")
@click.option("--all", "passes", is_flag=True, help="Print what passes too.")
@click.option("--strict", is_flag=True, help="End with exit code 1 when something is unknown.")
def command(bank_file: Path, **given: Any) -> None:
    """Tell whether the modules may be joined, and are equally charged.

    Example: bankwright match barn.toml --reading M1=52.61V --reading M2=52.58V
    --meter "0.5 % + 2 digits" --rested 6h --temperature 15degC
    """
    from bankwright.match.collect import collected
    from bankwright.match.timed import tools_of
    from bankwright.match.verdicts import match_of

    job = opened(bank_file)
    typed = _typed(given)
    with _book(bank_file, job, write=False) as book:
        readings = collected(job.bank, typed, book)
    found = match_of(
        job.bank,
        readings,
        tools=tools_of(given["charger"], given["resistor"]),
        charging=_currents(given["charging"]),
        discharging=_currents(given["discharging"]),
        cycle=True if given["cycle"] else None,
    )
    kept = None if given["no_log"] or not readings else _keep(bank_file, job, found, typed)
    if given["settle"]:
        _chart(found, given["settle"])
    if given["as_json"]:
        from bankwright.cli.show_match import as_json

        click.echo(as_json(job, found))
    else:
        from bankwright.cli.show_match import show_match

        show_match(job, found, given["passes"], kept, given["settle"])
    finish(found.findings, given["strict"])


def _typed(given: dict[str, Any]) -> Typed:
    from dataclasses import replace

    from bankwright.match.collect import Typed, from_csv

    file = from_csv(given["readings"]) if given["readings"] else Typed()
    return replace(
        file,
        voltage=(*file.voltage, *given["reading"]),
        rested=(*file.rested, *given["rested"]),
        temperature=(*file.temperature, *given["temperature"]),
        last=(*file.last, *given["last"]),
        soc=(*file.soc, *given["soc"]),
        meter=given["meter"],
        who=given["who"],
        from_log=given["from_log"],
    )


def _book(bank_file: Path, job: Job, write: bool) -> Any:
    from bankwright.logbook.logbook import open_logbook

    return open_logbook(bank_file, job.bank, write=write)


def _keep(bank_file: Path, job: Job, found: Match, typed: Typed) -> int | None:
    """Write readings and verdicts down; a logbook that cannot be written is said, and the answer still stands."""
    from bankwright.forms.faults import QuestionError
    from bankwright.logbook.clocks import SystemClock
    from bankwright.match.collect import keep

    fresh = [text.partition("=")[0].strip() for text in typed.voltage]
    try:
        with _book(bank_file, job, write=True) as book:
            return keep(book, found, SystemClock().now(), fresh)
    except (QuestionError, OSError) as error:
        click.echo(f"Not kept in the logbook: {error}", err=True)
        return None


def _currents(texts: tuple[str, ...]) -> dict[str, float] | None:
    from bankwright.bank.quantity_text import QuantityFault, parse

    found = {}
    for text in texts:
        name, _, value = text.partition("=")
        try:
            found[name.strip()] = parse(value, "current").nominal
        except QuantityFault as fault:
            raise click.BadParameter(f"{text}: {fault}", param_hint="a current") from fault
    return found or None


def _chart(found: Match, target: Path) -> None:
    from bankwright.draw.settle import Curve, settle, settle_volts
    from bankwright.match.settle import chart_rows

    if found.settled is None or found.inrush is None:
        raise click.ClickException("There is nothing to draw: fewer than two modules, or voltages no curve reaches.")
    times, rows = chart_rows(found.settled)
    takes = [limit.value for limit in found.inrush.charge if limit.value is not None]
    gives = [limit.value for limit in found.inrush.discharge if limit.value is not None]
    stops = (-min(takes) if takes else None, min(gives) if gives else None)
    settle(times, [Curve(*row) for row in rows], stops, embedded=False).save(target)
    times, rows = chart_rows(found.settled, volts=True)
    beside = target.with_name(f"{target.stem}-volts{target.suffix}")
    settle_volts(times, [Curve(*row) for row in rows], embedded=False).save(beside)
