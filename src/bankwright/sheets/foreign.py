"""Sheets of things that are near a bank and are no kind of its file: a cable, a charge point for a car.

Gives: no_kind().
Takes: a Sheet.
Limits: told by the first lines, and by what such a sheet must hold (sizes of wires, the plug or the standard of a car).
Sources: IEC 61851, IEC 62196 and SAE J1772 by their numbers alone (from memory).
"""

from __future__ import annotations

import re

from bankwright.sheets.concepts import ideas, phrase
from bankwright.sheets.row import Sheet

__all__ = ["no_kind"]

FEWEST_SIZES = 3  # sizes of wires on the sheet of a cable
TOP = 8  # lines in which a charge point says what it is
_ELSE = "If it is another thing, say which (--kind)"
_OF_A_CAR = re.compile(r"\bIEC\s?(?:61851|62196)|\bJ1772\b", re.IGNORECASE)
_OF_A_BANK = frozenset({"capacity", "cell", "inverter", "fuse", "breaker", "disconnect", "shunt"})


def no_kind(sheet: Sheet) -> str:
    """Why a sheet is of no kind of the bank file, in words for a person; empty where nothing speaks for that."""
    if _is_cable(sheet):
        return (
            "It is the sheet of a cable. A cable is no kind of the bank file: its size, length and insulation stand at "
            f'each place where it is used (cable = "2/0 AWG"). {_ELSE}'
        )
    if _charges_a_car(sheet):
        return (
            "It is the sheet of a charge point for a car. It charges no bank and is no kind of the bank file: what it "
            f"draws is a load of the inverter. {_ELSE}"
        )
    return ""


def _is_cable(sheet: Sheet) -> bool:
    """Whether the first lines speak of a cable or wire and of no thing of a kind, and sizes of wires stand in it."""
    top = " ".join(row.label for row in sheet.rows[:4])
    about = ideas(re.sub(r"\b(?:for|between|zwischen|für|pour|entre|para|per|tra|voor|tussen)\b.*", "", top))
    kinds = {"inverter", "charger", "fuse", "breaker", "disconnect", "shunt", "capacity", "cell"}
    sizes = re.findall(r"\bAWG\b|mm²|mm2\b|kcmil|Ω/km|mΩ/(?:m|ft)", sheet.text)
    return bool(phrase("cable").search(top)) and not about & kinds and len(sizes) >= FEWEST_SIZES


def _charges_a_car(sheet: Sheet) -> bool:
    """Whether the first lines speak of charging a car, or of a charger that a standard of car plugs is named for."""
    top = "\n".join(sheet.text.splitlines()[:TOP])
    about = ideas(top)
    told = bool(phrase("car_charging").search(top))
    named = bool(_OF_A_CAR.search(sheet.text)) and bool(about & {"charge", "charger"})
    return (told or named) and not about & _OF_A_BANK
