"""Where findings stand on the drawing, under the numbers that they have everywhere.

Gives: marks() (place -> Mark), place_of(). A pass has no number and no balloon. A joint or post leads
to the link, module, bar or device that shows it.
Limits: a finding without a place in the bank (a rack, the room) has a number but no balloon.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bankwright.bank.model import Bank, BarPiece, Charger, Joint, Post, Rack
from bankwright.forms.finding import Finding
from bankwright.forms.finding_text import verdict_text
from bankwright.forms.grouping import numbered

__all__ = ["Mark", "marks", "place_of"]


@dataclass(frozen=True, slots=True)
class Mark:
    """What stands at one place: the worst finding's number and verdict, and the numbers of the others."""

    number: int
    verdict: str
    title: str
    others: tuple[int, ...] = ()

    @property
    def label(self) -> str:
        """As printed in the balloon."""
        return str(self.number)


def place_of(bank: Bank, name: str) -> str | None:
    """The name under which the drawing shows a thing; None if it does not show it."""
    if name not in bank:
        return None
    thing = bank[name]
    if isinstance(thing, Joint):
        return thing.device or thing.link
    if isinstance(thing, (Post, BarPiece)):
        owner = thing.owner
        return place_of(bank, owner) if owner in bank and owner != name else name
    if isinstance(thing, Charger) and thing.of:
        return thing.of
    return None if isinstance(thing, Rack) else name


def _first_place(bank: Bank, finding: Finding) -> str | None:
    found = (place_of(bank, name) for name in finding.at)
    return next((place for place in found if place is not None), None)


def marks(bank: Bank, findings: Iterable[Finding]) -> dict[str, Mark]:
    """The balloon of each place: its worst finding; the others are named in its title."""
    at: dict[str, list[tuple[int, Finding]]] = {}
    for number, finding in numbered(findings):
        place = _first_place(bank, finding)
        if place is not None:
            at.setdefault(place, []).append((number, finding))
    return {place: _mark(group, bank.units) for place, group in at.items()}


def _mark(group: list[tuple[int, Finding]], units: str) -> Mark:
    number, worst = group[0]
    others = tuple(n for n, _ in group[1:])
    more = f"; also here: {', '.join(map(str, others))}" if others else ""
    said = worst.text.text(units) if worst.text else worst.title
    return Mark(number, worst.verdict, f"Finding {number}, {verdict_text(worst.verdict)}: {said}{more}", others)
