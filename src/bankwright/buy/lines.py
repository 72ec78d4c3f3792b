"""What a parts list is made of: its lines, and all of it together.

Gives: PartLine, PartsList.
Limits: counting is in buy/parts, what is wrong with the list in buy/checks.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bankwright.bank.pieces.piece import Group, Piece
from bankwright.buy.cutting import Cutting
from bankwright.buy.stock import Shopping
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.origin import FileKey

__all__ = ["PartLine", "PartsList"]


@dataclass(frozen=True, slots=True)
class PartLine:
    """One line: amounts are pieces, or metres for cable."""

    item: str
    group: Group
    words: str
    unit: Literal["piece", "m"]
    need: float
    spares: float
    have: float
    order: float
    uses: tuple[str, ...]
    why: str
    at: tuple[str, ...]
    origins: tuple[FileKey, ...]
    pieces: tuple[str, ...]  # ids
    colour: str | None = None
    price: float | None = None  # a piece or a metre
    cost: float | None = None  # of `order`
    open: tuple[Missing, ...] = ()
    assumed: bool = False
    unmeasured: int = 0  # pieces whose length is not known: `need` is "at least"


@dataclass(frozen=True, slots=True)
class PartsList:
    """Lines by group, the cut plans, what is wrong or unknown, and the rules that were counted with."""

    lines: tuple[PartLine, ...]
    cuttings: tuple[Cutting, ...]
    findings: tuple[Finding, ...]
    shopping: Shopping
    cost: float | None
    unpriced: int
    pieces: tuple[Piece, ...]

    def line(self, item: str) -> PartLine:
        """Find a line by its item; KeyError when there is none."""
        for line in self.lines:
            if line.item == item:
                return line
        raise KeyError(item)

    @property
    def need(self) -> dict[str, float]:
        """Need by item, spares not counted."""
        return {line.item: line.need for line in self.lines}
