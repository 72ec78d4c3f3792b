"""What is set in words: behaviour without the message, chemistry, and the cable that carries the message.

Gives: word_rows(), LOST. Limits: what the message says is not read here; the sheets of the devices are quoted.
Sources: sheets, as written in the bank file.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.bank.model_kinds import Message
from bankwright.forms.finding import Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import say
from bankwright.prove.settings.setting import Setting

__all__ = ["LOST", "word_rows"]

SHEET = Source("data sheet of the device, as written in the bank file", how_known="read")
MODULE = Source("data sheet of the module, as written in the bank file", how_known="read")
LOST = ("stops", "own limits", "goes on")
_WIRE = ("socket", "cable", "pins", "terminator", "first")


def word_rows(bank: Bank, name: str, path: str, message: Message) -> Iterator[Setting]:
    """Rows in words of one device; `path`: the key of its kind."""
    yield _chemistry(bank, name)
    if bank.site.control_message is False:
        why = say("No device obeys a message of the modules here: every figure of this card is the only guard.")
        yield Setting(
            f"{name} without the message", name, "without the message", "words", "not used", (None, None), why, SHEET
        )
        return
    yield _lost(bank, name, path, message)
    yield _wire(name, path, message)


def _chemistry(bank: Bank, name: str) -> Setting:
    kinds = {(module.kind.chemistry, module.kind.cells) for module in bank.modules}
    text = " / ".join(f"{chemistry}, {cells} cells in series" for chemistry, cells in sorted(kinds))
    why = say(
        "A type of battery that brings its own voltages overrules what was set: take the one whose voltages are set by "
        "hand, and read them all again afterwards."
    )
    return Setting(f"{name} chemistry", name, "chemistry", "words", text, (None, None), why, MODULE)


def _lost(bank: Bank, name: str, path: str, message: Message) -> Setting:
    missing: tuple[Missing, ...] = () if message.lost is not None else (asking(f"{path}.message.lost"),)
    if bank.site.control_message is None:
        missing = (asking("site.control_message"), *missing)
    why = say(
        "When the message is lost it stops, or falls back to the figures of this card; one that goes on as before runs "
        "on whatever was set last. Proved by pulling the cable."
    )
    to_set = None if missing else "stops, or own limits; by its sheet: " + str(message.lost)
    return Setting(
        f"{name} without the message",
        name,
        "without the message",
        "words",
        to_set,
        (None, None),
        why,
        SHEET,
        missing=missing,
    )


def _wire(name: str, path: str, message: Message) -> Setting:
    given = {
        "socket": message.socket,
        "cable": message.cable,
        "pins": message.pins,
        "terminator": message.terminator,
        "first": message.first,
    }
    missing = tuple(asking(f"{path}.message.{key}") for key in _WIRE if given[key] is None)
    labels = {"first": "asked first"}
    known = [f"{labels.get(key, key)} {given[key]}" for key in _WIRE if given[key] is not None]
    why = say(
        "Known so far: {known}. One wrong pin is silence, and silence is the message lost.",
        known="; ".join(known) or "nothing",
    )
    to_set = None if missing else "; ".join(known)
    return Setting(f"{name} message", name, "message", "words", to_set, (None, None), why, SHEET, missing=missing)
