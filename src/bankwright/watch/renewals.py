"""What was begun anew in a bank: a module that was replaced, a cable or joint that was remade, and when.

Gives: Renewal, renewals_of(). Two things tell: the event of the logbook (`bankwright build FILE --anew PLACE`, with
which a sheet of taking apart ends), and another serial number heard at a module's address.
Limits: a module whose map reads no serial number, and that nobody writes down, is not known to be another one. A serial
number is heard when a listener runs; between two of its runs the exchange is dated to the first hearing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from bankwright.bank.model import Bank
from bankwright.logbook.baseline import ANEW, anew_places
from bankwright.logbook.logbook import Logbook
from bankwright.logbook.telemetry.store import Telemetry

__all__ = ["SERIAL", "Renewal", "renewals_of"]

SERIAL = "module-serial"  # event of telemetry: this serial number was heard at a module
SAME = 3 * 86400.0  # s within which a serial number that changed and a hand that wrote it down mean one exchange


@dataclass(frozen=True, slots=True)
class Renewal:
    """From `time` (s since 1970) on everything of `parts` is another thing than before; `module`: it was replaced."""

    time: float
    place: str  # as it was named
    parts: frozenset[str]  # names in the bank: module, links, joints
    module: str | None


def renewals_of(bank: Bank, telemetry: Telemetry) -> tuple[Renewal, ...]:
    """All of them, in the order of time."""
    written = list(_written(bank, telemetry))
    heard = [
        each
        for each in _heard(bank, telemetry)
        if not any(other.place == each.place and abs(other.time - each.time) < SAME for other in written)
    ]
    return tuple(sorted((*written, *heard), key=lambda each: each.time))


def _renewal(bank: Bank, place: str, time: float) -> Renewal:
    modules = {module.name for module in bank.modules}
    return Renewal(time, place, anew_places(bank, place), place if place in modules else None)


def _written(bank: Bank, telemetry: Telemetry) -> Iterator[Renewal]:
    """What a hand wrote down."""
    with Logbook(telemetry.path, bank, write=False) as book:
        for entry in book.entries(kind="event", standing=True):
            if entry.body.get("code") == ANEW and entry.at is not None and entry.at in bank:
                yield _renewal(bank, entry.at, datetime.fromisoformat(entry.moment.wall).timestamp())


def _heard(bank: Bank, telemetry: Telemetry) -> Iterator[Renewal]:
    """Serial numbers that followed another one at the same module."""
    last: dict[str, str] = {}
    modules = {module.name for module in bank.modules}
    for event in telemetry.events(SERIAL):
        serial = str(event.detail.get("words", ""))
        if event.at in modules and serial:
            if last.get(event.at, serial) != serial:
                yield _renewal(bank, event.at, event.time)
            last[event.at] = serial
