"""The weakest cell of a capacity test: which it is, and whether that is capacity, charge or resistance.

Gives: weakest_finding(), CELL.
Limits: of the cells that were read; the lowest at the end under load may also be the most resistant.
Source: a cell of less capacity is first at the end and highest at the top; one of less charge is low at both
[derived].
"""

from __future__ import annotations

from collections.abc import Mapping

from bankwright.bank.asks import asking
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.prove.capacity.read import CapacityRead

__all__ = ["CELL", "weakest_finding"]

ENDS = Source("order of cells at both ends of the charge", how_known="derived")
STOP = 2.5  # V: below it a cell is harmed; stop at once
CELL = Card(
    "V-CAPACITY-5", "The weakest cell", "lowest at the end, and where it stands at the top", ENDS, "code", "fail",
    "Which cell ends the discharge, and why.\n\nWhy: one cell limits its module, and its module the bank.\n\nNot seen "
    "here: cells that nobody read.\nSource: with the figure.",
)  # fmt: skip


def weakest_finding(read: CapacityRead, counted: Mapping[str, float]) -> Finding | None:
    """The lowest cell at the end; None where no cell was read."""
    if not read.low:
        return None
    at = min(read.low, key=lambda place: read.low[place])
    figure = Figure(read.low[at], "cell_voltage")
    why, settled = _why(read, at)
    text = say("{at} was the lowest at the end, {volts}: {why}", at=at, volts=figure, why=why)
    do = say("Its module's count decides: {count}.", count=_count(at, counted))
    if not settled:
        missing = (asking(f"readings.{at}.cell_voltage", "Cells of its module at the top of the charge: --high."),)
        return CELL.found(at, figure, (STOP, None), text, do, missing=missing if figure.value >= STOP else ())
    return CELL.found(at, figure, (STOP, None), text, do, source=ENDS)


def _count(at: str, counted: Mapping[str, float]) -> str:
    module = at.rpartition(".")[0]
    return f"{counted[module]:.1f} Ah" if module in counted else "it was not counted by itself"


def _why(read: CapacityRead, at: str) -> tuple[str, bool]:
    """Capacity, charge, or not told; and whether that is settled."""
    module = at.rpartition(".")[0]
    tops = {place: volts for place, volts in read.high.items() if place.rpartition(".")[0] == module}
    if at not in tops or len(tops) < 2:
        return "how it stood at the top was not read", False
    if tops[at] == max(tops.values()):
        return "highest at the top too, so it is capacity, not balance", True
    if tops[at] == min(tops.values()):
        return "lowest at the top too, so it is charge: balance, no loss", True
    return "in the middle at the top: its resistance, or both; read it without load", True
