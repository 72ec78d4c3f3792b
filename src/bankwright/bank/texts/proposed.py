"""Sizes to start from, proposed from the currents that were answered: cables and fuses of a starter file.

Gives: Proposal, proposed(). A cable carries 1.25 times the largest current in a raceway at 40 degC, with insulation of
70 degC or the next that the book has, and by its terminals; where the book asks it (I2 <= 1.45 Iz) also its fuse.
Limits: a start, which Plan checks whole. A link of a chain is sized for the whole bank: with one link open it carries
it all; a cable to one of several inverters as the main, whose fuse is all that guards it. Currents that are not known
are not guessed: then the sizes of a 5 kW bank stand, as a start.
Sources: the tables of the book; 1.25 for a load that goes on for hours (NEC 2023, 215.2); 40 degC is our choice.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.bank.texts.answers import Start
from bankwright.forms.checks import BeyondTable
from bankwright.handbook.ampacity import (
    ambient_factor,
    base_ampacity,
    ratings_around,
    termination_ampacity,
    termination_rating,
)
from bankwright.handbook.books import RuleBook, book
from bankwright.handbook.tables import OutsideTable
from bankwright.handbook.wires import labels

__all__ = ["Proposal", "proposed"]

GOES_ON, AIR_DEGC, LEAST_DEGC = 1.25, 40.0, 70.0
_PLAIN = {  # link, main, branch when no current is known: a start, no recommendation
    "nec-2023": ("2 AWG", "4/0 AWG", "2/0 AWG"),
    "iec-60364": ("35 mm2", "120 mm2", "70 mm2"),
}


@dataclass(frozen=True, slots=True)
class Proposal:
    """Labels of cables; ratings in A of the fuse in the main and in each module's lead, None where not known."""

    link: str
    main: str
    branch: str
    main_fuse: float | None = None
    lead_fuse: float | None = None


def _si(text: str | None, name: str) -> float | None:
    try:
        return None if text is None else parse(text, name).nominal
    except QuantityFault:
        return None


def _inverter_current(start: Start) -> float | None:
    """The largest DC current of one inverter: power over efficiency and the lowest voltage. [A]"""
    power, share = _si(start.power, "power"), _si(start.efficiency, "share")
    volts = _si(start.lowest_voltage, "voltage")
    if power is None or not share or not volts:
        return None
    return power / (share * volts)


def _carries(rules: RuleBook, label: str, need: float) -> bool:
    """Whether a size carries it in a raceway at 40 degC and by its terminals, where the book has a column for them."""
    degc = min(c.rating for c in rules.ampacity if "raceway" in c.methods and c.rating >= LEAST_DEGC)
    try:
        laid = base_ampacity(rules, label, degc, "raceway").value * ambient_factor(rules, degc, AIR_DEGC).value
        if rules.termination:
            rule = termination_rating(rules, need)
            ends = LEAST_DEGC if rule is None else rule.value
            laid = min(laid, termination_ampacity(rules, label, ends).value)
    except (OutsideTable, BeyondTable):
        return False
    return laid >= need


def _size(rules: RuleBook, need: float) -> str | None:
    return next((label for label in labels(rules.sizes) if _carries(rules, label, need)), None)


def _rating(rules: RuleBook, need: float) -> float | None:
    return ratings_around(rules, need)[1]


def _lead_current(start: Start, total: float) -> float:
    """A module's lead to the bar: its own continuous current, or its share with one module away. [A]"""
    own = max(_si(start.discharge, "current") or 0.0, _si(start.charge, "current") or 0.0)
    return max(own, total / max(start.modules - 1, 1))


def _behind(rules: RuleBook, need: float, fuse: float | None) -> float:
    """What a cable must carry behind a fuse: the need, and where the book asks it what keeps I2 under 1.45 Iz. [A]"""
    if rules.overload is None or fuse is None:
        return need
    return max(need, fuse, fuse * rules.overload.fuse_from_16 / rules.overload.conductor)


def proposed(start: Start) -> Proposal:
    """Propose sizes; what no table holds stays at the plain start."""
    rules = book(start.rules)
    link, main, branch = _PLAIN[start.rules]
    each = _inverter_current(start) if start.inverters else None
    if each is None:
        return Proposal(link, main, branch)
    total = each * start.inverters
    fuse = _rating(rules, GOES_ON * total)
    main = _size(rules, _behind(rules, GOES_ON * total, fuse)) or main
    branch = main  # the fuse of the main is all that guards it
    if start.pattern == "chain":
        return Proposal(main, main, branch, fuse)
    lead = GOES_ON * _lead_current(start, total)
    lead_fuse = _rating(rules, lead)
    return Proposal(_size(rules, _behind(rules, lead, lead_fuse)) or link, main, branch, fuse, lead_fuse)
