"""The weakest cell of a capacity test: which it is, and whether that is capacity, charge or resistance.

Gives: weakest_finding(), CELL.
Limits: of the cells that were read; the lowest at the end under load may also be the most resistant.
Sources: a cell of less capacity is first at the end and highest at the top; one of less charge is low at both
[derived]; cut-off of a cell, handbook published/ranges; what to do below it as Match has it (M-STOP-5).
"""

from __future__ import annotations

from collections.abc import Mapping

from bankwright.bank.asks import asking
from bankwright.forms.card import Card
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, Say, say
from bankwright.handbook.cells import cell_voltage
from bankwright.prove.capacity.read import CapacityRead

__all__ = ["CELL", "weakest_finding"]

ENDS = Source("order of cells at both ends of the charge", how_known="derived")
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
    stop = cell_voltage("empty")
    harmed = figure.value < stop.value
    do = (
        _at_once(read, stop.value) if harmed else say("Its module's count decides: {count}.", count=_count(at, counted))
    )
    inputs = (Input("V_min", "cut-off of a cell", Figure(stop.value, "cell_voltage"), stop.origin),)
    if not settled:
        wanted = asking(f"readings.{at}.cell_voltage", "Cells of its module at the top of the charge: --high.")
        missing = () if harmed else (wanted,)
        return CELL.found(at, figure, (stop.value, None), text, do, inputs=inputs, missing=missing)
    return CELL.found(at, figure, (stop.value, None), text, do, inputs=inputs, source=ENDS)


def _at_once(read: CapacityRead, stop: float) -> Say:
    """What to do with the modules of all cells below the cut-off. [V]"""
    cells = sorted(place for place, volts in read.low.items() if volts < stop)
    modules = list(dict.fromkeys(place.rpartition(".")[0] for place in cells))
    return say(
        "Stop at once: loads off, switch {modules} off, and do not charge what is off: a cell that lay below its "
        "cut-off may short inside when it is charged. Read {cells} again, at the cells, by somebody who knows them; "
        "a wrong reading is typed anew. If it is so, ask the maker before the module is used again.",
        modules=" and ".join(modules),
        cells=", ".join(cells),
    )


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
