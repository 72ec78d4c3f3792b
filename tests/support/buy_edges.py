"""The limit of each finding of Buy, with a bank just inside and one just outside it: 0.1 % or a step away.

Gives: EDGES, Edge, list_at(). In the changes of an edge and in its shopping file "{}" stands for the value that is
moved. Just inside a limit nothing is told ("pass"), or what the edge says. Limits of length are worked out by hand
beside each edge, in m.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi, sqrt
from typing import Any

from bankwright.buy.lines import PartsList
from bankwright.buy.parts import parts
from bankwright.buy.stock import read_shopping
from support.plan_cases import CHAIN, TWIN, edited

__all__ = ["EDGES", "RED", "Edge", "list_at"]

COUNT, WAY = "count of the bank's pieces", "geometry of the rack"
HOLES, LISTED = "ISO 273 clearance holes 1979", "NEC 2023"
RED, LUGS = "cable/2/0 AWG fine strands/red", "lug/ring/2/0 AWG"
HOLE, LINK = "kinds.lug.ring.hole", "wiring.link.length"


@dataclass(frozen=True)
class Edge:
    """One limit: what is moved, the verdict on either side of it, the limit and figure in the unit of the quantity."""

    code: str
    change: Mapping[str, Any]
    inside: str
    outside: str
    told: str  # verdict outside
    limit: float | None
    figure: float | None
    quantity: str
    source: str
    shop: str = ""
    quiet: str = "pass"  # verdict inside
    at: str = ""

    def __str__(self) -> str:
        """For the name of the test."""
        return f"{self.code} {self.at} {self.outside}".replace("  ", " ")


def _filled(value: Any, number: str) -> Any:
    if isinstance(value, str):
        return int(number) if value == "{int}" else value.replace("{}", number)
    return value


def list_at(edge: Edge, value: str) -> PartsList:
    """The parts list of the sound bank with the changes of an edge, the moved value put in."""
    bank = edited({path: _filled(each, value) for path, each in edge.change.items()})
    return parts(bank, read_shopping(edge.shop.replace("{}", value)))


# three units of 44.45 mm from post to post; quarter bends of 4 or 6 outer diameters
STEP = 3 * 0.04445
STACK = {**CHAIN, "kinds.module.S100.height": "132 mm", LINK: "{} mm"}
ROUND = {**STACK, "wiring.link.outer_diameter": "15 mm"}
DRAWN = 4 * (1.2 * sqrt(4 * 67.43e-6 / pi) + 0.004)  # 2/0 AWG is 67.43 mm2; the diameter is not given
# red: three leads of 500 mm, the main of 300 mm and 1.2 m, 5 mm more at each end; four cuts of 3 mm
NEED = 3 * 0.51 + 0.31 + 1.21 + 4 * 0.003
REEL = f'kerf = "3 mm"\n[[reel]]\nitem = "{RED}"\nlength = "{{}} m"\n'
KIT = f'[[kit]]\nname = "bag"\nnumber = 1\n[kit.holds]\n"{LUGS}" = {{}}\n'

EDGES = [
    Edge("B-REACH", STACK, "202.6", "202.2", "caution", STEP - 2 * DRAWN + pi * DRAWN, 0.2022, "length", WAY, at="L1+"),
    Edge("B-REACH", ROUND, "202.05", "201.65", "caution", STEP + (pi - 2) * 0.06, 0.20165, "length", WAY, at="L1+"),
    Edge(
        "B-REACH", {**ROUND, "wiring.link.strands": "class 2"}, "283.02", "282.46", "caution", pi * 0.09, 0.28246,
        "length", WAY, at="L1+",
    ),
    Edge("B-KIT", {}, "18", "17", "fail", 18, 17, "count", COUNT, KIT),  # 5 red and 4 black pieces, two lugs each
    Edge("B-KIT", {}, "18", "19", "caution", 18, 19, "count", COUNT, KIT),
    Edge("B-CUT", {}, "3.065062", "3.058938", "fail", 3.058938, NEED, "length", COUNT, REEL + "count = 1\n"),
    Edge("B-CUT", {}, "1.21121", "1.20879", "fail", 1.20879, 1.21, "length", COUNT, REEL),
    Edge(
        "B-CUT", {}, "2.997", "3.003", "fail", NEED, NEED + 4 * 3e-6, "length", COUNT,
        REEL.replace("3 mm", "{} mm").replace('"{} m"', '"3.062 m"') + "count = 1\n",
    ),
    Edge("B-STUDS", {"+links": TWIN, "bars[0].lugs_per_stud": "{int}"}, "2", "1", "fail", 4, 5, "count", COUNT),
    Edge("B-LUG-STUD", {HOLE: "{} mm"}, "8.2002", "8.1998", "fail", 2e-4, 1.998e-4, "height", HOLES, at="L1-"),
    Edge("B-LUG-STUD", {HOLE: "{} mm"}, "9.5984", "9.6016", "caution", 1.6e-3, 1.6016e-3, "height", HOLES, at="L1-"),
    Edge(
        "B-LUG-STUD", {HOLE: "{} mm", "wiring.main.lug": None}, "8.2002", "8.1998", "unknown", 2e-4, None,
        "height", HOLES, quiet="caution", at="main+",
    ),
    Edge(
        "B-LUG-STUD", {HOLE: "{} mm", "wiring.main.lug": None}, "9.5984", "9.6016", "unknown", 2e-4, None,
        "height", HOLES, quiet="caution", at="main+",
    ),
    Edge(
        "B-LUG-STUD", {"kinds.module.S100.posts.stud": "{}"}, "5/16 in", "1/4 in", "fail", None, None, "height", HOLES,
        at="L1+",
    ),
    Edge("B-LUG-STUD", {"kinds.device.branch.terminals.stud": "{}"}, "M8", "M10", "fail", None, None, "height", HOLES,
         at="L1+@M1+"),
    Edge("B-LUG-CABLE", {"wiring.link.cable": "{}"}, "4/0 AWG", "3/0 AWG", "fail", None, None, "height", LISTED,
         at="L1-"),
    Edge("B-LUG-CABLE", {"wiring.link.strands": "{}"}, "class 5", "class 6", "fail", None, None, "height", LISTED,
         at="L1-"),
    Edge("B-LUG-CABLE", {"wiring.link.strands": "{}"}, "flexible", "stranded", "fail", None, None, "height", LISTED,
         at="L1-"),
    Edge("B-OPEN", {HOLE: "{} mm", "wiring.main.lug": None}, "8.2002", "8.1998", "unknown", None, None, "height", COUNT,
         at="main+"),
]  # fmt: skip
