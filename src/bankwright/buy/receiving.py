"""The receiving card: each module as it came, and how long it may wait before it is read and topped up.

Gives: Received, receive(), received_of(), Card rows by card_rows(), CARD_HEAD, card_part() for the print.
A card is one event of the logbook (serial number, damage, date) and a reading of its volts, both at the module.
Limits: volts at delivery tell whether it is far too low, not how full it is. What it uses while it waits is known only
where the kind gives `standby_power`.
Sources: cell limits of the handbook (published ranges); a fifth of the charge, three months: common practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from bankwright.bank.model import Bank, Module
from bankwright.forms.faults import Fault
from bankwright.forms.paper import heading, paragraph, table
from bankwright.forms.readings import Instant
from bankwright.forms.wording import amount_text
from bankwright.handbook.cells import cell_voltage
from bankwright.logbook.errors import EntryRefused
from bankwright.logbook.logbook import Logbook
from bankwright.logbook.typed import typed_reading

__all__ = ["CARD_HEAD", "Received", "card_part", "card_rows", "receive", "received_of", "waits"]

STEP, CODE = "buy.receiving", "module received"
NO_DAMAGE = ("", "none", "no", "no damage")
READ_AGAIN = 92  # days between readings of a module that waits; common practice, no source
FIFTH = 0.2  # of its charge, that a waiting module may use before it is topped up; common practice, no source
CARD_HEAD = ("Module", "Serial number", "Damage", "At delivery", "Date", "While it waits")


@dataclass(frozen=True, slots=True)
class Received:
    """One module as it came."""

    module: str
    serial: str
    damage: str
    volts: float
    on: date

    @property
    def damaged(self) -> bool:
        """Was any damage written down."""
        return self.damage.strip().casefold() not in NO_DAMAGE


def receive(
    book: Logbook,
    bank: Bank,
    module: str,
    *,
    serial: str,
    damage: str,
    volts: str,
    on: date,
    now: Instant,
    who: str = "",
    meter: str | None = None,
) -> Received:
    """Write a card down; EntryRefused for what cannot be: no such module, no number, a number of another module."""
    names = [item.name for item in bank.modules]
    faults = []
    if module not in names:
        faults.append(
            Fault(
                "module", "module-unknown", f"{module} is no module of this bank", hint=f"Modules: {', '.join(names)}"
            )
        )
    if not serial.strip():
        faults.append(Fault("serial", "serial-missing", "the serial number is empty", hint="It is on the type plate"))
    for other in received_of(book).values():
        if other.module != module and other.serial.casefold() == serial.strip().casefold():
            faults.append(
                Fault("serial", "serial-doubled", f"{other.module} was received with {other.serial}", hint="Look again")
            )
    if on > date.fromisoformat(now.wall[:10]):
        faults.append(Fault("date", "time-ahead", f"{on} lies ahead of today"))
    if faults:
        raise EntryRefused(*faults)
    known = (*bank.instruments, *book.instruments())
    typed = typed_reading(module, volts, now, bank=bank, quantity="voltage", meter=meter, instruments=known, who=who)
    book.append_reading(typed.reading, typed.instrument, step=STEP, note="at delivery")
    body = {"serial": serial.strip(), "damage": damage.strip() or "none", "date": on.isoformat()}
    told: dict[str, Any] = {"volts": typed.reading.value, **body}
    book.event(CODE, at=module, who=who, **told)
    return Received(module, body["serial"], body["damage"], typed.reading.value, on)


def received_of(book: Logbook | None) -> dict[str, Received]:
    """The newest card of each module."""
    found = {}
    for entry in book.entries(kind="event") if book is not None else ():
        body = entry.body
        if body.get("code") == CODE and entry.at is not None:
            on = date.fromisoformat(str(body["date"]))
            found[entry.at] = Received(entry.at, str(body["serial"]), str(body["damage"]), float(body["volts"]), on)
    return found


def waits(module: Module, card: Received) -> str:
    """What to do with it until it is joined: words with dates."""
    kind = module.kind
    empty = kind.cells * (kind.discharge.cell_trip.nominal if kind.discharge.cell_trip else cell_voltage("empty").value)
    low = kind.cells * cell_voltage("low working").value
    if card.damaged:
        return (
            "Damaged: do not lift it into the rack, do not charge it. Photograph it, keep it outside, tell the seller."
        )
    if card.volts < 0:
        return "Below zero: leads swapped, or reversed. Read again; reversed, it goes back."
    if card.volts < empty:
        return "Below its cut-off: neither charge nor join it. It goes back to its seller."
    if card.volts < low:
        return "Nearly empty: read its cells, then charge it alone, gently, this week."
    read = card.on + timedelta(days=READ_AGAIN)
    days = _standing_days(module)
    if days is None:
        ask = f"{kind.name}: its own consumption is not given (standby_power), so when to top up is not known"
        return f"Read it by {read}, switched off; top up what has fallen. {ask}."
    top = card.on + timedelta(days=int(days))
    return f"Off. Read it by {min(read, top)}; top it up by {top} if it stays on: a fifth of its charge is gone then."


def _standing_days(module: Module) -> float | None:
    """Days in which a module's own consumption takes a fifth of its charge; None where that is not given."""
    charge, power = module.capacity_ah or module.kind.capacity_ah, module.kind.standby_power
    if not charge or not power:
        return None
    return charge * FIFTH * module.kind.nominal_voltage / power / 24


def card_rows(bank: Bank, cards: dict[str, Received]) -> list[tuple[str, ...]]:
    """One row a module; blanks to fill where nothing was written down yet."""
    rows: list[tuple[str, ...]] = []
    for module in bank.modules:
        card = cards.get(module.name)
        if card is None:
            rows.append((module.name, "________", "________", "________", "________", ""))
            continue
        volts = amount_text(card.volts, "voltage", bank.units, 4)
        rows.append((module.name, card.serial, card.damage, volts, card.on.isoformat(), waits(module, card)))
    return rows


def card_part(bank: Bank, cards: dict[str, Received]) -> list[str]:
    """The card for a printed page."""
    words = (
        "Each module before it is signed for: the box, the corners, the posts; its number; its volts, alone, switched "
        "on, then off again. Damage: sign for nothing, photograph it, do not bring it inside."
    )
    return [heading("Receiving card"), paragraph(words, "note"), table(CARD_HEAD, card_rows(bank, cards), (3,))]
