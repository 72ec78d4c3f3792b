"""`bankwright match`: may these modules be joined, and are they equally charged? Two answers, never merged."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bankwright.cli.common import BANK_FILE, may_write, opened, output, stop_if_crashed
from bankwright.cli.show.carried import KNOW

if TYPE_CHECKING:
    from bankwright.draw.pen.paper import Drawing
    from bankwright.job import Job
    from bankwright.job.matching import Match, Typed

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
@click.option(
    "--discharging",
    multiple=True,
    metavar="MODULE=CURRENT",
    help="The same while discharging; for each further load level one text: M1=20A,M2=22A",
)
@click.option(
    "--currents",
    type=click.Path(path_type=Path),
    help="A CSV file of several load levels; columns level, module, current; plus while discharging.",
)
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
@KNOW
@click.option("--explain", metavar="CODE", help="One check by code or place: formula, numbers put in, source.")
@click.option("--json", "as_json", is_flag=True, help="Everything as JSON.")
@click.option("--all", "passes", is_flag=True, help="Print what passes too.")
@click.option(
    "--strict", is_flag=True, help="End with exit code 1 when something is unknown, or passes on assumed values."
)
def command(bank_file: Path, **given: Any) -> None:
    """Tell whether the modules may be joined, and are equally charged.

    Example: bankwright match barn.toml --reading M1=52.61V --reading M2=52.58V
    --meter "0.5 % + 2 digits" --rested 6h --temperature 15degC
    """
    from bankwright.job.matching import collected, match_of, tools_of

    charts = _chart_files(given["settle"])
    may_write(dict(zip(("--settle", "--settle, second chart"), charts, strict=False)), bank_file, *_sheets(given))
    job = opened(bank_file)
    if given["know"]:
        from bankwright.cli.show.carried import know

        know(job, bank_file, given["who"])
    typed = _typed(given)
    with _book(bank_file, job, write=False) as book:
        readings = collected(job.bank, typed, book)
    tools = tools_of(given["charger"], given["resistor"])
    found = match_of(job.bank, readings, tools=tools, **_currents(given), cycle=True if given["cycle"] else None)
    kept = None if given["no_log"] or not readings else _keep(bank_file, job, found, typed)
    if charts:
        for path, drawing in zip(charts, _charts(found), strict=True):
            output(path, drawing.text + "\n", "--settle", bank_file, *_sheets(given))
    if given["explain"] is not None:
        from bankwright.cli.show.explained import show_check
        from bankwright.job.explained import explained

        show_check(job, explained(job, given["explain"], "Match", found.findings), given["as_json"])
        return
    _show(job, bank_file, found, kept, given)
    stop_if_crashed(found.findings)
    raise SystemExit(_ending(found, given["strict"]))


def _chart_files(chart: Path | None) -> tuple[Path, ...]:
    """Currents, and volts beside them."""
    return () if chart is None else (chart, chart.with_name(f"{chart.stem}-volts{chart.suffix}"))


def _sheets(given: dict[str, Any]) -> tuple[Path | None, Path | None]:
    """What is read besides the bank file, and so never written over."""
    return given["readings"], given["currents"]


def _show(job: Job, bank_file: Path, found: Match, kept: int | None, given: dict[str, Any]) -> None:
    if given["as_json"]:
        from bankwright.cli.show.carried import open_pole
        from bankwright.forms.as_json import dumps
        from bankwright.job.documents import match_document

        click.echo(dumps(match_document(job, found, open_pole(job, bank_file))))
        return
    from bankwright.cli.show.carried import show_carried, show_not_earthed
    from bankwright.cli.show.match import show_match

    show_carried(job, bank_file)
    show_not_earthed(job, bank_file)
    show_match(job, found, given["passes"], kept, given["settle"])


def _ending(found: Match, strict: bool) -> int:
    """0 where the modules may be joined, in an order where that matters; 1 for "no" and for "cannot be told" alike."""
    if strict and any(finding.verdict in ("unknown", "assumed") for finding in found.findings):
        return 1
    if len(found.bank.modules) == 1:
        return 0  # nothing to join
    may = found.may_join == "pass" or (found.may_join == "caution" and bool(found.order))
    return 0 if may else 1


def _typed(given: dict[str, Any]) -> Typed:
    from dataclasses import replace

    from bankwright.job.matching import Typed, from_csv

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
    from bankwright.job.logs import open_logbook

    return open_logbook(bank_file, job.bank, write=write)


def _keep(bank_file: Path, job: Job, found: Match, typed: Typed) -> int | None:
    """Write readings and verdicts down; a logbook that cannot be written is said, and the answer still stands."""
    from bankwright.forms.faults import QuestionError
    from bankwright.job.logs import SystemClock
    from bankwright.job.matching import keep

    fresh = [text.partition("=")[0].strip() for text in typed.voltage]
    try:
        with _book(bank_file, job, write=True) as book:
            return keep(book, found, SystemClock().now(), fresh)
    except (QuestionError, OSError) as error:
        click.echo(f"Not kept in the logbook: {error}", err=True)
        return None


def _currents(given: dict[str, Any]) -> dict[str, Any]:
    """The first level of each direction, and all further ones."""
    from bankwright.job.matching import levels_from, levels_from_csv

    into = levels_from(given["charging"], -1.0, "--charging")
    out = levels_from(given["discharging"], 1.0, "--discharging")
    more = levels_from_csv(given["currents"]) if given["currents"] else ()
    first = {"charging": into[0] if into else None, "discharging": out[0] if out else None}
    return {**first, "levels": (*into[1:], *out[1:], *more)}


def _charts(found: Match) -> tuple[Drawing, Drawing]:
    """Currents and voltages after joining."""
    from bankwright.draw.settle import Curve, settle, settle_volts
    from bankwright.job.matching import chart_rows

    if found.settled is None or found.inrush is None:
        raise click.ClickException("There is nothing to draw: fewer than two modules, or voltages no curve reaches.")
    times, rows = chart_rows(found.settled)
    takes = [limit.value for limit in found.inrush.charge if limit.value is not None]
    gives = [limit.value for limit in found.inrush.discharge if limit.value is not None]
    stops = (-min(takes) if takes else None, min(gives) if gives else None)
    currents = settle(times, [Curve(*row) for row in rows], stops, embedded=False)
    times, rows = chart_rows(found.settled, volts=True)
    return currents, settle_volts(times, [Curve(*row) for row in rows], embedded=False)
