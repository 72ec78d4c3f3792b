"""What no check of Plan looks at. Every report of findings ends with this list.

Gives: NOT_CHECKED, SILENT, not_checked(). What a check would look at if the file gave it stands in SILENT, and in the
list of a bank only where its file is silent. Limits:
checks that belong to another rule book are named by not_checked().
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from bankwright.bank.model import Bank
from bankwright.forms.checks import Check
from bankwright.forms.codes import place_text

__all__ = ["NOT_CHECKED", "SILENT", "not_checked"]

NOT_CHECKED: tuple[str, ...] = (
    "listing of the combination, permit, insurer",
    "AC side, generator, neutral bonding",
    "solar modules and their wiring",
    "surge protection",
    "forces between bars in a short",
    "earthing conductors in a conduit, conduits of cables that differ",
    "editions of the rule book and of standards later than those that the sources name",
    "earth electrode",
    "structure of the building",
    "smoke and heat alarms",
    "condensation",
    "firmware behaviour of battery management systems and inverters",
    "workmanship",
)


def _switches(bank: Bank) -> bool:
    return any(d.kind.type == "disconnect" and d.kind.withstands is None for d in bank.devices)


def _fuses(bank: Bank) -> bool:
    return any(d.kind.type in ("fuse", "breaker") and d.kind.time_constant is None for d in bank.devices)


def _bond(bank: Bank) -> bool:
    earthing = bank.site.earthing
    return earthing.pole in ("plus", "minus") and None in (earthing.bond, earthing.bond_length)


def _loads(bank: Bank) -> bool:
    return any(load.lowest_input is None for load in bank.loads)


def _dry(bank: Bank) -> bool:
    return bank.site.wet is None


def _sea(bank: Bank) -> bool:
    return bank.site.altitude is None


SILENT: Mapping[str, Callable[[Bank], bool]] = MappingProxyType(
    {
        "short-time and making ratings of switches whose sheet gives none": _switches,
        "time constant (L/R) behind a DC rating whose sheet gives none": _fuses,
        "resistance of a bond without a length in a fault to the frame (counted as none)": _bond,
        "lowest voltage of a direct load that gives none": _loads,
        "altitude above 2000 m (6560 ft), the place's own not given": _sea,
        "wet places, not said whether this is one": _dry,
    }
)


def not_checked(checks: tuple[Check, ...], bank: Bank) -> tuple[str, ...]:
    """The list of a bank: what no check sees, where its file is silent, and the checks of other rule books by title,
    place and code."""
    silent = [words for words, is_silent in SILENT.items() if is_silent(bank)]
    others = [
        f"{item.title} ({place_text(item.code)}, {item.code}: {' or '.join(item.books)} only)"
        for item in checks
        if bank.book is not None and bank.book not in item.books
    ]
    return (*NOT_CHECKED, *silent, *others)
