"""The door of the faces: what the faces need of the logbook.

Gives: the names in __all__, from the rooms below; knows_fails(): is the box under what Plan fails ticked.
"""

from __future__ import annotations

from bankwright.forms.carried import BOX, Carried
from bankwright.logbook import check_repair
from bankwright.logbook.clocks import SystemClock, corrected
from bankwright.logbook.connect import logbook_path
from bankwright.logbook.entries import KINDS, Entry, Stored
from bankwright.logbook.errors import EntryRefused
from bankwright.logbook.export import as_json, backup, write_csv
from bankwright.logbook.logbook import Logbook, open_logbook
from bankwright.logbook.meters import described
from bankwright.logbook.plausible import cell_place, pole_place
from bankwright.logbook.typed import TypedReading, moment, quantity_of, typed_reading

__all__ = [
    "KINDS",
    "Entry",
    "EntryRefused",
    "Logbook",
    "Stored",
    "SystemClock",
    "TypedReading",
    "as_json",
    "backup",
    "cell_place",
    "check_repair",
    "corrected",
    "described",
    "knows_fails",
    "logbook_path",
    "moment",
    "open_logbook",
    "pole_place",
    "quantity_of",
    "typed_reading",
    "write_csv",
]


def knows_fails(book: Logbook | None, carried: Carried) -> bool:
    """Was "I know" ticked under just these fails of Plan."""
    tick = book.ticks().get(BOX) if book is not None else None
    return tick is not None and tick.done and tick.digest == carried.digest
