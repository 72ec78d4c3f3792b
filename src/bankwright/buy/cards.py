"""The cards of Buy: what each of its findings is called, rests on and is good for.

Gives: CARDS and each of them by name. Limits: figures and words of a finding are made where it is found (buy/checks).
"""

from __future__ import annotations

from bankwright.bank.pieces.fits import barrel_card, stud_card
from bankwright.forms.card import Card
from bankwright.forms.origin import Source

__all__ = ["CARDS", "CUT", "EQUAL", "KIT", "LUG_CABLE", "LUG_STUD", "OPEN", "REACH", "STUDS"]

COUNTED = Source("count of the bank's pieces", how_known="derived")
GEOMETRY = Source("geometry of the rack", place="bends of the least radius at both ends", how_known="derived")

OPEN = Card(
    "B-OPEN",
    "Cannot be ordered yet",
    "every part of the list has a name, a size and a number",
    COUNTED,
    "code",
    "caution",
    why="A part whose size or kind the bank file leaves open stands in the list without a number to order.\n\n"
    "Why: what is ordered on a guess is sent back, or used although it does not fit.",
)
KIT = Card(
    "B-KIT",
    "A kit's bags disagree with the need",
    "in the bags >= need",
    COUNTED,
    "code",
    why="The bags of the kits in the shopping file hold as many of each part as the bank needs.\n\n"
    "Why: too few stop the work half-way; too many may mean that a place was forgotten.",
)
CUT = Card(
    "B-CUT",
    "The stock does not hold the pieces",
    "pieces + kerf of each cut <= stock",
    COUNTED,
    "code",
    why="Every piece of cable, bar or strip finds a stock length that holds it, the kerf of each cut counted.\n\n"
    "Why: a reel that is long enough on paper may leave ends that are each too short.",
)
REACH = Card(
    "B-REACH",
    "The cable is shorter than its way",
    "length >= distance - 2 r + pi r",
    GEOMETRY,
    "physical",
    "caution",
    why="A cable is at least as long as its way between the two posts with a quarter bend at each end.\n\n"
    "Why: a cable cut too short is pulled into place and pulls on its lug ever after.\n"
    "Not seen here: posts as they are; they are drawn at usual places, so the way is measured before it is cut.",
)
EQUAL = Card(
    "B-EQUAL",
    "Cables that must be equal are written unequal",
    "longest - shortest = 0",
    COUNTED,
    "code",
    "caution",
    why="All cables of one group have one length in the file.\n\nWhy: unequal cables share the current unequally.",
)
STUDS = Card(
    "B-STUDS",
    "A bar has fewer places than cables",
    "cables <= studs x lugs a stud",
    COUNTED,
    "code",
    why="A bar has a place for every cable that ends on it.\n\nWhy: lugs piled up on one stud have too few threads.",
)
LUG_STUD, LUG_CABLE = stud_card("B-LUG-STUD"), barrel_card("B-LUG-CABLE")

CARDS = (OPEN, KIT, CUT, REACH, EQUAL, STUDS, LUG_STUD, LUG_CABLE)
