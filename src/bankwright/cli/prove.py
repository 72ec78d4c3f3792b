"""`bankwright prove`: does the bank do what was computed? The load tests: shares and millivolts."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from bankwright.cli.common import BANK_FILE, finish, opened
from bankwright.cli.show.carried import KNOW, carry

if TYPE_CHECKING:
    from bankwright.job import Job
    from bankwright.job.proving import Typed

__all__ = ["command"]

PLACES: dict[str, Any] = {"multiple": True, "metavar": "PLACE=TEXT"}
SHARED = (
    click.option("--readings", type=click.Path(path_type=Path), help="A CSV file: at, load, age, clamp, bus, ..."),
    click.option("--load", metavar="CURRENT", help="Current out of the bank at which these were read; + discharges."),
    click.option("--age", metavar="TIME", help="How long after the step: 40s."),
    click.option("--on", default="", metavar="NAMES", help="The inverters or loads that carry it; else all alike."),
    click.option("--off", default="", metavar="NAMES", help="Modules that are off."),
    click.option("--zero", **PLACES, help="Current of a module without load: M1=0.1A"),
    click.option("--current", **PLACES, help="Current of a module or main at the load: M1=40.6A, main+=200.4A"),
    click.option("--meter", help='The clamp by name, or its accuracy: "2 % + 5 digits".'),
    click.option("--zeroed", is_flag=True, help="The clamp was zeroed in place before each reading."),
    click.option("--room", metavar="TEMPERATURE", help="Air of the room; else the hottest of the file."),
    click.option("--who", default="", help="Who read them."),
    click.option("--no-log", is_flag=True, help="Keep nothing in the logbook."),
    KNOW,
    click.option("--json", "as_json", is_flag=True, help="Everything as JSON."),
    click.option("--all", "passes", is_flag=True, help="Print what passes too."),
    click.option(
        "--strict", is_flag=True, help="End with exit code 1 when something is unknown, or passes on assumed values."
    ),
)


def _with_shared(function: Callable[..., None]) -> Callable[..., None]:
    for option in reversed(SHARED):
        function = option(function)
    return click.argument("bank_file", type=BANK_FILE)(function)


class _OrFile(click.Group):
    """A group whose first word may also be the bank file: then it is the sheet of first power-up."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command of that name; a name with a dot or a slash is a file."""
        if args and args[0] not in self.commands and not args[0].startswith("-") and set(args[0]) & set("./\\"):
            return super().resolve_command(ctx, ["sheet", *args])
        return super().resolve_command(ctx, args)


@click.group(cls=_OrFile, no_args_is_help=True)
def command() -> None:
    """Prove that the bank does what was computed, by readings.

    Every figure due is printed beside its box before a meter is picked up. Nothing is ever written to a device.

    Example: bankwright prove barn.toml --step B1 --read "M1=52.6 V"
    """


@command.command()
@click.argument("bank_file", type=BANK_FILE)
@click.option("--step", "step_id", metavar="STEP", help="A step by its id (A2, B1 ...); else the one in hand.")
@click.option("--read", "readings", multiple=True, metavar="PLACE=VALUE", help='A reading of the step: "M1=52.6 V".')
@click.option("--tick", "ticks", multiple=True, metavar="BOX", help='Tick a box of the step; "all" for every box.')
@click.option("--untick", "unticks", multiple=True, metavar="BOX", help="Take a tick back.")
@click.option("--meter", help="Instrument of the readings.")
@click.option("--who", default="", help="Who read them.")
@click.option("--all", "every", is_flag=True, help="Every step, not the one in hand alone.")
@KNOW
@click.option("--json", "as_json", is_flag=True, help="Everything as JSON.")
@click.option("--html", "html_file", type=click.Path(dir_okay=False, path_type=Path), help="Write a page to print.")
@click.option("--as-built", is_flag=True, help="Measured values of the baseline, proposed as edits of the bank file.")
@click.option("--put-in", "put_ins", multiple=True, metavar="PLACE", help='With --as-built: take a proposal; "all".')
@click.option("--strict", is_flag=True, help="End with exit code 1 when something is unknown.")
def sheet(bank_file: Path, **given: Any) -> None:
    """Go through first power-up step by step; `bankwright prove FILE` is the same.

    A limit that fails stops the sequence: what waits for it cannot be opened, and the way back to dead is shown.

    Example: bankwright prove barn.toml --step B1 --read "M1=52.6 V" --who Kim
    """
    from bankwright.cli.common import output
    from bankwright.job.logs import open_logbook
    from bankwright.job.powering import keep_readings, keep_ticks, powering, sheet_page, step_named

    job = opened(bank_file)
    if given["as_built"] or given["put_ins"]:
        _as_built(job, given["put_ins"])
        return
    carry(job, bank_file, given)
    bank, writes = job.bank, bool(given["readings"] or given["ticks"] or given["unticks"])
    with open_logbook(bank_file, bank, write=writes) as book:
        now = step_named(powering(job, book), given["step_id"])
        if writes and now is not None:
            if given["readings"]:
                keep_readings(book, bank, now, given["readings"], who=given["who"], meter=given["meter"])
            for boxes, done in ((given["ticks"], True), (given["unticks"], False)):
                if boxes:
                    keep_ticks(book, bank, now, boxes, who=given["who"], done=done)
        found = powering(job, book)
        now = found.here if now is None else step_named(found, now.step.id)
    if given["html_file"] is not None:
        output(given["html_file"], sheet_page(bank, found, job.carried), "--html", bank_file)
    if given["as_json"]:
        from bankwright.forms.as_json import dumps
        from bankwright.job.proof import power_document

        click.echo(dumps(power_document(job, found)))
    else:
        from bankwright.cli.show.powering import show_powering

        show_powering(found, now, job.units, every=given["every"])
    finish(found.findings, given["strict"])


@command.command()
@click.argument("bank_file", type=BANK_FILE)
@click.option("--fault", "faults", multiple=True, metavar="SORT[:PLACE][=VALUE]", help="A fault planted in it.")
@click.option("--faults", "listed", is_flag=True, help="List what can be planted.")
@click.option("--sound", is_flag=True, help="Plant nothing.")
@click.option("--all", "every", is_flag=True, help="Print everything that did not pass.")
def rehearse(bank_file: Path, faults: tuple[str, ...], listed: bool, sound: bool, *, every: bool) -> None:
    """Rehearse first power-up on a pretend bank; nothing is read, and nothing kept.

    Without --fault one of each sort is planted. Each is to be found by the reading that should find it.

    Example: bankwright prove rehearse barn.toml --fault "loose:L3+@M3+=1 mohm"
    """
    from bankwright.cli.show.rehearsal import show_rehearsal
    from bankwright.job.rehearsing import FAULTS, planted, rehearsal, usual_faults

    if listed:
        for name, sort in FAULTS.items():
            click.echo(f"  {name + (f':{sort.place}' if sort.place else ''):16} {sort.words}")
        return
    job = opened(bank_file)
    wanted = tuple(planted(text, job.bank) for text in faults) or (() if sound else usual_faults(job.bank))
    found = rehearsal(job, wanted)
    show_rehearsal(found, wanted, job.units, every=every)
    if found.missed:
        raise SystemExit(1)


@command.command()
@_with_shared
@click.option("--by", type=click.Choice(["clamp", "bus"]), default="clamp", help="What told these currents.")
@click.option("--bus-step", metavar="CURRENT", help="Step of the modules' own sensors: 0.1A.")
@click.option("--temperature", multiple=True, metavar="[MODULE=]TEXT", help="Of the cells: 21degC, or M3=17degC")
def shares(bank_file: Path, **given: Any) -> None:
    """Test how the modules share: zero load first, then one or several loads.

    Without readings it prints the figures due at the load. It says whether a limit is near; it hardly finds a bad
    joint: `prove millivolts` does, and is always made too.

    Example: bankwright prove shares barn.toml --zero M1=0.1A --load 200A --age 40s --current M1=40.6A
    """
    from bankwright.cli.show import prove as show
    from bankwright.job.proving import share_subject_of, share_test

    job = opened(bank_file)
    carry(job, bank_file, given)
    typed = _typed(given)
    subject = share_subject_of(job.bank, job.steady, typed, _known(bank_file, job))
    if not subject.rounds and typed.load is not None:
        show.show_share_plan(job, typed, given["as_json"])
        return
    drops = _drops(job, typed)
    found = share_test(subject, drops)
    kept = None if given["no_log"] else _keep(bank_file, job, "share test", found.record(), given["who"])
    if given["as_json"]:
        from bankwright.forms.as_json import dumps
        from bankwright.job.proof import shares_document

        click.echo(dumps(shares_document(job, found)))
    else:
        show.show_shares(job, found, given["passes"], kept)
    finish(found.findings, given["strict"])


@command.command()
@_with_shared
@click.option("--drop", **PLACES, help="Millivolts over a joint, link or device at the load: L3+@M3+=1.6mV")
@click.option("--zero-drop", **PLACES, help="Millivolts at the same points without load: L3+@M3+=0.1mV")
@click.option("--millivolts", help='The millivoltmeter by name, or its accuracy: "0.5 % + 5 digits".')
@click.option("--step", metavar="VOLTAGE", help="A count of its last digit on that range: 0.1mV.")
def millivolts(bank_file: Path, **given: Any) -> None:
    """Read the millivolts over every joint, link and device.

    Without readings it prints where the tips go, the figure due and the current that settles it. One module alone
    (--off "M1 M2 M4 M5" --load 80A) carries most through its own joints.

    Example: bankwright prove millivolts barn.toml --load 200A --current M3=37.9A --drop L3+=51.7mV
    """
    from bankwright.cli.show import prove as show
    from bankwright.job.proving import millivolt_subject_of, millivolt_test

    job = opened(bank_file)
    carry(job, bank_file, given)
    subject = millivolt_subject_of(job.bank, job.steady, _typed(given), _known(bank_file, job))
    found = millivolt_test(subject)
    log = bool(subject.reads) and not given["no_log"]
    kept = _keep(bank_file, job, "millivolt test", found.record(), given["who"]) if log else None
    if given["as_json"]:
        from bankwright.forms.as_json import dumps
        from bankwright.job.proof import millivolts_document

        click.echo(dumps(millivolts_document(job, found)))
    else:
        show.show_millivolts(job, found, given["passes"], kept)
    finish(found.findings, given["strict"])


@command.command()
@click.argument("bank_file", type=BANK_FILE)
@click.option("--out", metavar="CHARGE", help='Counted while discharging: "496.0 Ah".')
@click.option("--out-time", metavar="TIME", help="How long that took: 5h.")
@click.option("--back", metavar="CHARGE", help="Counted while charging back to the same full.")
@click.option("--back-time", metavar="TIME", help="How long that took.")
@click.option("--module", multiple=True, metavar="MODULE=CHARGE", help="A module's own count, out: M4=86Ah")
@click.option("--module-back", multiple=True, metavar="MODULE=CHARGE", help="The same, back.")
@click.option("--zero", multiple=True, metavar="CURRENT", help="What the sensor shows of nothing, before and after.")
@click.option("--temperature", multiple=True, metavar="[MODULE=]TEXT", help="Of the cells: 21degC, or M3=17degC")
@click.option("--low", multiple=True, metavar="CELL=VOLTAGE", help="Lowest cells at the end: M4.c7=2.80V")
@click.option("--high", multiple=True, metavar="CELL=VOLTAGE", help="Cells at the top: M4.c7=3.52V")
@click.option("--partly", is_flag=True, help="It did not begin at full.")
@click.option("--who", default="", help="Who read them.")
@click.option("--no-log", is_flag=True, help="Keep nothing in the logbook.")
@KNOW
@click.option("--json", "as_json", is_flag=True, help="Everything as JSON.")
@click.option("--all", "passes", is_flag=True, help="Print what passes too.")
@click.option("--strict", is_flag=True, help="End with exit code 1 when something is unknown.")
def capacity(bank_file: Path, **given: Any) -> None:
    """Test the capacity by counted charge, down from full and back up.

    Full first: every highest cell at 3.45 V, current below a twentieth for ten minutes. Then a steady fifth of the
    capacity down to a cell of 2.8 V, an hour's rest, and back to the same full. Stop at once below 2.5 V a cell.

    Example: bankwright prove capacity barn.toml --out 496Ah --out-time 5h --back 500Ah --back-time 5.5h
    """
    from dataclasses import fields

    from bankwright.job.baseline import CapacityTyped, capacity_document, capacity_read, capacity_test

    job = opened(bank_file)
    carry(job, bank_file, given)
    typed = CapacityTyped(**{item.name: given[item.name] for item in fields(CapacityTyped)})
    found = capacity_test(capacity_read(job.bank, typed))
    kept = None if given["no_log"] else _keep(bank_file, job, "capacity test", found.record(), given["who"])
    if given["as_json"]:
        from bankwright.forms.as_json import dumps

        click.echo(dumps(capacity_document(job, found)))
    else:
        from bankwright.cli.show.baseline import show_capacity

        show_capacity(found, job.units, kept, passes=given["passes"])
    finish(found.findings, given["strict"])


@command.command()
@click.argument("bank_file", type=BANK_FILE)
@click.option("--seal", is_flag=True, help="Seal what the logbook holds and the baseline does not.")
@click.option("--anew", metavar="PLACE", help="A module was replaced, a cable or joint remade: its values end.")
@click.option("--who", default="", help="Who seals.")
@click.option("--json", "as_json", is_flag=True, help="Everything as JSON.")
def baseline(bank_file: Path, *, seal: bool, anew: str | None, who: str, as_json: bool) -> None:
    """Show the baseline, seal it, or begin it anew for one place.

    A value is sealed once, with its date, temperature and age of the step. A replaced module begins its own branch
    anew; all other values stay.

    Example: bankwright prove baseline barn.toml --seal --who Kim
    """
    from bankwright.cli.show.baseline import show_baseline
    from bankwright.job.baseline import baseline_document, baseline_of, gathered, seal_baseline
    from bankwright.job.joints import begin_anew
    from bankwright.job.logs import open_logbook

    job = opened(bank_file)
    with open_logbook(bank_file, job.bank, write=seal or anew is not None) as book:
        if anew is not None:
            begin_anew(job.bank, book, anew, who)
            if not as_json:
                click.echo(
                    "A module that was replaced: take the old one's capacity, factor and serial out of the file."
                )
        sealed = seal_baseline(book, job.bank, who) if seal else None
        if as_json:
            from bankwright.forms.as_json import dumps

            click.echo(dumps(baseline_document(job, book)))
            return
        show_baseline(baseline_of(book, job.bank), gathered(book, job.bank), job.units, sealed)


def _as_built(job: Job, put_ins: tuple[str, ...]) -> None:
    """Propose, and take what was named."""
    from bankwright.cli.show.baseline import show_as_built
    from bankwright.job.baseline import proposals, put_in
    from bankwright.job.logs import open_logbook

    with open_logbook(job.path, job.bank, write=False) as book:
        made = proposals(job, book)
    show_as_built(made, put_in(job, made, put_ins) if put_ins else ())


def _typed(given: dict[str, Any]) -> Typed:
    from bankwright.job.proving import Typed

    return Typed(
        zero=given["zero"],
        current=given["current"],
        drop=given.get("drop", ()),
        drop_zero=given.get("zero_drop", ()),
        temperature=given.get("temperature", ()),
        load=given["load"],
        age=given["age"],
        on=given["on"],
        off=given["off"],
        by=given.get("by", "clamp"),
        file=given["readings"],
        meter=given["meter"],
        millivolts=given.get("millivolts"),
        step=given.get("step"),
        bus_step=given.get("bus_step"),
        zeroed=given["zeroed"],
        room=given["room"],
    )


def _drops(job: Job, typed: Typed) -> tuple[Any, ...]:
    """Millivolts of the same file take part in the fit of a share test."""
    from bankwright.job.proving import drops_for_fit, millivolt_subject_of

    return drops_for_fit(millivolt_subject_of(job.bank, job.steady, typed))


def _known(bank_file: Path, job: Job) -> tuple[Any, ...]:
    from bankwright.job.logs import open_logbook

    with open_logbook(bank_file, job.bank, write=False) as book:
        return book.instruments()


def _keep(bank_file: Path, job: Job, kind: str, record: dict[str, Any], who: str) -> int | None:
    """Hand the readings, with the ages of their steps, to later stages; where that fails it is said."""
    from bankwright.forms.faults import QuestionError
    from bankwright.job.logs import open_logbook

    try:
        with open_logbook(bank_file, job.bank, write=True) as book:
            return book.hand_over(kind, record, who=who).seq
    except (QuestionError, OSError) as error:
        click.echo(f"Not kept in the logbook: {error}", err=True)
        return None
