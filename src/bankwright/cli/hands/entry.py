"""`bankwright log add`: a reading as one would say it, a note, a photo, a correction.

Gives: add (a click command that cli/log.py puts into its group), existing(), wrong(), FILE. Wrong input is named
and nothing is stored; the entry is on the disk when "Stored" is printed.
Limits: a thin shell over logbook/.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from bankwright.forms.faults import QuestionError
    from bankwright.job.file import Bank
    from bankwright.job.logs import Logbook, Stored

__all__ = ["FILE", "add", "existing", "wrong"]

FILE = click.Path(dir_okay=False, path_type=Path)


class _Signed(click.Command):
    """A value below zero is no option: `-52.6 V` is read as the number that it is."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        return super().parse_args(ctx, [re.sub(r"^-(?=[\d.])", "\u2212", arg) for arg in args])


@click.command(cls=_Signed)
@click.argument("bank_file", type=FILE)
@click.argument("place", required=False)
@click.argument("value", required=False)
@click.option("--meter", help="Instrument it was read with; one of the bank file or of the logbook.")
@click.option("--accuracy", help='Write the instrument down: "0.5 % + 2 digits".')
@click.option("--range", "span", help='The range that this accuracy holds for: "0 V to 60 V".')
@click.option("--quantity", help="What was measured, where the unit does not tell it.")
@click.option("--to", type=click.Choice(["frame"]), help="Against the frame: the volts of a pole to bare metal.")
@click.option("--note", default="", help="A note; without a value the entry is the note.")
@click.option("--photo", type=FILE, help="Refer to a photo.")
@click.option("--step", help="The step of a sheet that it belongs to.")
@click.option("--who", help="Who read it; otherwise the name of the login.")
@click.option("--when", help='When, if not now: "14:02" or "2026-11-24 18:30".')
@click.option("--corrects", type=int, metavar="NUMBER", help="The entry that this one replaces.")
@click.option("--strike", type=int, metavar="NUMBER", help="Strike an entry out; --note says why.")
@click.option("--id", "id_", help="An id of your own: the same one is stored once.")
def add(bank_file: Path, **given: Any) -> None:
    """Store a reading, a note or a photo.

    Example: bankwright log add barn.toml M1 "52.6 V" --meter "bench meter"
    """
    from bankwright.cli.common import opened
    from bankwright.job.logs import open_logbook
    from bankwright.job.steps import step_exists

    job = opened(existing(bank_file))
    bank = job.bank
    given["who"] = given["who"] or _login()
    act = _chosen(given)
    with open_logbook(bank_file, bank) as book:
        if given["step"]:
            step_exists(job, book, given["step"])
        receipt = act(book, bank, given)
        entry = book.entry(receipt.seq)
    from bankwright.cli.show.findings import wrap
    from bankwright.cli.show.log import entry_words

    click.echo(
        wrap(f"{'Stored before' if receipt.again else 'Stored'} as {entry.seq}: {entry_words(entry, bank.units)}.")
    )
    if entry.quantity in ("voltage", "cell_voltage") and (entry.value or 0.0) < 0:
        click.echo(
            wrap("Below zero: the leads were swapped, or this is reversed. Measure again before anything is joined.")
        )
    if entry.quantity == "frame_voltage":
        _say_frame(bank, entry.at or "", entry.value or 0.0)
    if entry.quantity == "cell_voltage":
        _say_cell(bank, entry.at or "", entry.value or 0.0)


def _say_frame(bank: Bank, at: str, volts: float) -> None:
    """What a pole's volts against the frame say."""
    from bankwright.cli.show.findings import verdict_word, wrap
    from bankwright.job.building import frame_words
    from bankwright.job.logs import pole_place

    pole = pole_place(bank, at)
    if pole is not None:
        verdict, words = frame_words(bank, pole, volts)
        click.echo(wrap(f"{verdict_word(verdict)}: {words}"))


def _say_cell(bank: Bank, at: str, volts: float) -> None:
    """Say at once what Match will stop at."""
    from bankwright.cli.show.findings import wrap
    from bankwright.job.logs import cell_place
    from bankwright.job.matching import cell_word

    place = cell_place(bank, at)
    word = cell_word(place[0].kind, volts) if place is not None else ""
    if place is not None and word:
        stop = f"At rest, {place[0].name} is neither joined nor charged on this: Match will stop it."
        click.echo(wrap(f"{at} reads {volts:.3g} V, {word}. Read it again at the cell. {stop}"))


Act = Callable[["Logbook", "Bank", dict[str, Any]], "Stored"]


def _chosen(given: dict[str, Any]) -> Act:
    """Which kind of entry the options speak of."""
    if given["strike"] is not None:
        if given["value"] or given["photo"] or given["corrects"]:
            raise wrong("--strike", "an entry is struck out by a note alone", "Leave out value, photo and --corrects")
        return lambda book, _, g: book.strike(g["strike"], g["note"], who=g["who"], id=g["id_"] or "")
    if given["photo"] is not None:
        if given["value"]:
            raise wrong("--photo", "a photo and a value are two entries", "Enter them one after the other")
        return lambda book, _, g: book.photo(
            g["photo"], at=g["place"], step=g["step"], who=g["who"], note=g["note"], id=g["id_"] or ""
        )
    if given["value"] is not None:
        return _add_reading
    if not given["note"]:
        raise wrong("value", "nothing was said", 'Write a place and a value: M1 "52.6 V"; or --note, --photo, --strike')
    return _add_note


def _add_note(book: Logbook, _: Bank, given: dict[str, Any]) -> Stored:
    if given["corrects"] is not None:
        raise wrong("--corrects", "a note replaces nothing", "Write the right value too, or use --strike")
    when = _moment(given["when"]) if given["when"] else None
    return book.note(
        given["note"], at=given["place"], step=given["step"], who=given["who"], id=given["id_"] or "", when=when
    )


def _add_reading(book: Logbook, bank: Bank, given: dict[str, Any]) -> Stored:
    from bankwright.job.logs import described, quantity_of, typed_reading

    at, text, meter = given["place"], given["value"], given["meter"]
    if given["to"] == "frame" and given["quantity"]:
        raise wrong("--to", "is given with --quantity", "--to frame says what was measured")
    quantity = "frame_voltage" if given["to"] else given["quantity"] or quantity_of(text, at, bank)
    if given["accuracy"]:
        if not meter:
            raise wrong("--accuracy", "no instrument is named", "Name it: --meter clamp")
        instruments = [described(meter, quantity, given["accuracy"], given["span"])]
    elif given["span"]:
        raise wrong("--range", "a range without an accuracy", 'Write --accuracy "0.5 % + 2 digits" with it')
    else:
        instruments = [*bank.instruments, *(i for i in book.instruments() if i not in bank.instruments)]
    corrects = book.entry(given["corrects"]).id if given["corrects"] is not None else None
    typed = typed_reading(
        at, text, _moment(given["when"]), bank=bank, quantity=quantity, meter=meter, instruments=instruments,
        who=given["who"], id=given["id_"] or "", corrects=corrects,
    )  # fmt: skip
    return book.append_reading(typed.reading, typed.instrument, step=given["step"], note=given["note"])


def existing(bank_file: Path) -> Path:
    """Return the bank file, or refuse one that is not there."""
    if not bank_file.is_file():
        raise wrong(str(bank_file), "there is no such bank file")
    return bank_file


def _moment(text: str | None) -> Any:
    from bankwright.job.logs import SystemClock, moment

    now = SystemClock().now()
    return moment(text, now) if text else now


def _login() -> str:
    import getpass

    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return ""


def wrong(what: str, found: str, hint: str = "") -> QuestionError:
    """Make the fault of an option."""
    from bankwright.forms.faults import Fault
    from bankwright.job.logs import EntryRefused

    return EntryRefused(Fault(what, "option", found, hint=hint))
