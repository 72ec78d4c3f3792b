"""Room to work, way out, distances: what the place must give, by the rule book.

Gives: Clearance, clearances(). Figures with their clause; what the file says of the place stands beside them.
Limits: how a rack is counted, and what is adopted locally, is the inspector's word; Plan judges place and energy.
Sources: named with each; mechanical part of NEC 2023, IRC 2021 and NFPA 855 as quoted on secondary pages.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bankwright.bank.model import Bank
from bankwright.forms.constants import FOOT, INCH
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure

__all__ = ["Clearance", "clearances"]


DEPTH = Source("NEC", "2023", "Table 110.26(A)(1), 0 to 150 V to ground", "read")
STORAGE = Source("IRC 2021; NFPA 855:2023", "", "R328.3.1; 15.5", "read, quoted on secondary pages")
DOORS = Source("IRC 2021", "", "R328.4, doors and windows that enter the dwelling", "read, quoted on a secondary page")


@dataclass(frozen=True, slots=True)
class Clearance:
    """One distance: what it is, how much, what the file says, from which clause."""

    id: str
    words: str
    least: Figure
    given: Figure | None
    source: Source


def clearances(bank: Bank) -> tuple[Clearance, ...]:
    """Distances of the bank's rule book; those of storage in dwellings (US rules) where it belongs to one."""
    us = bank.book != "iec-60364" or bank.storage_rules is not None
    return (
        *(_room_to_work() if bank.book == "nec-2023" else ()),
        *(_storage(bank) if bank.site.dwelling is not False and us else ()),
    )


def _room_to_work() -> Iterator[Clearance]:
    width, spacing = "Free width in front, or the rack's own if that is more", "480.9(C), 480.10(C)"
    for key, words, least, source in (
        ("depth", "Free depth in front of the rack, from its edge", Figure(3 * FOOT, "length"), DEPTH),
        ("width", width, Figure(30 * INCH, "length"), Source("NEC", "2023", "110.26(A)(2)", "read")),
        ("headroom", "Headroom in front", Figure(6.5 * FOOT, "length"), Source("NEC", "2023", "110.26(A)(3)", "read")),
        (
            "wall",
            "Between a case and the wall on a side that needs no access",
            Figure(INCH, "height"),
            Source("NEC", "2008 to 2020", spacing, "read"),
        ),
    ):
        yield Clearance(key, words, least, None, source)


def _storage(bank: Bank) -> Iterator[Clearance]:
    spacing = None if bank.site.spacing is None else Figure(bank.site.spacing, "length")
    door = None if bank.site.door is None else Figure(bank.site.door, "length")
    yield Clearance("units", "Between storage units", Figure(3 * FOOT, "length"), spacing, STORAGE)
    words = "To doors and windows, where it stands outdoors"
    yield Clearance("doors", words, Figure(3 * FOOT, "length"), door, DOORS)
