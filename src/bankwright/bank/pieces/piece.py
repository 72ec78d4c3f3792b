"""The form of a piece: one single thing that the bank needs.

Gives: Piece, Group, GROUPS. Which pieces a bank needs is in bank/pieces.
Limits: one piece a thing, no counting, no spares, no prices (buy/). What the file does not say is in `Piece.open`,
never a guess in silence; what common practice adds says so in `Piece.why`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from bankwright.forms.finding import Missing
from bankwright.forms.origin import FileKey

__all__ = ["GROUPS", "Group", "Piece"]

Group = Literal[
    "modules",
    "rack",
    "cable",
    "lugs",
    "sleeves",
    "joint hardware",
    "bars",
    "devices",
    "covers",
    "earthing",
    "data",
    "labels",
    "tools",
    "protection",
]
GROUPS: tuple[Group, ...] = get_args(Group)


@dataclass(frozen=True, slots=True)
class Piece:
    """One thing: pieces with the same `item` are bought as one line."""

    id: str  # "lug/L1+@M2+": stable while its place stays
    item: str  # "lug/lug-M8/4/0 AWG": what is bought
    group: Group
    words: str  # of the item: "Lug lug-M8 for 4/0 AWG, stud M8"
    use: str  # of this one: "L1+ at M2+"
    why: str
    at: tuple[str, ...]
    origin: FileKey
    length: float | None = None  # m, of cable, bar, sleeve
    colour: str | None = None
    equal: str | None = None  # pieces that must be cut equal share a group
    open: Missing | None = None  # what must be known before it can be bought
    assumed: bool = False  # a usual value stands in
