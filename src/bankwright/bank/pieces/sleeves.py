"""Which heat-shrink sleeve goes over a lug's barrel.

Gives: Sleeve, sleeve_for(), outer_diameter(). The smallest sleeve that slips over the barrel and shrinks onto the
cable.
Limits: where the cable's outer diameter is not given,
it is estimated from the section and the sleeve is marked assumed.
Sources: sizes of handbook/data/heat_shrink.toml (common practice, no source);
estimate of diameter: own, stated at the function.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from bankwright.bank.model_kinds import CableKind, LugKind
from bankwright.handbook.tables import load

__all__ = ["Sleeve", "outer_diameter", "sleeve_for"]

OVERLAP = 0.025  # m of insulation that the sleeve covers; common practice, no source
BARREL = 0.030  # m, length of a barrel that is not given; common practice, no source


@dataclass(frozen=True, slots=True)
class Sleeve:
    """A sleeve: bore as supplied and after shrinking, cut length."""

    supplied: float
    shrunk: float
    length: float
    assumed: bool
    why: str


def outer_diameter(cable: CableKind) -> tuple[float, bool]:
    """Outer diameter of a cable, and whether it is estimated: 1.2 x the diameter of the metal as one round, plus 4 mm.

    1.2: stranded metal is about 70 % full; 4 mm: two walls of about 2 mm. Common practice, no source.
    """
    if cable.outer_diameter is not None:
        return cable.outer_diameter, False
    return 1.2 * math.sqrt(4 * cable.area / math.pi) + 0.004, True


@lru_cache(maxsize=1)
def _sizes() -> tuple[tuple[float, float], ...]:
    table = load("practice/heat-shrink")
    found = [(table.value(row, "supplied"), table.value(row, "shrunk")) for row in table.rows]
    return tuple(sorted((big, small) for big, small in found if big is not None and small is not None))


def sleeve_for(cable: CableKind | None, lug: LugKind | None) -> Sleeve | None:
    """Choose the sleeve for one lug; None when no cable is given or no size of the table fits."""
    if cable is None:
        return None
    diameter, estimated = outer_diameter(cable)
    length = (lug.barrel if lug is not None and lug.barrel is not None else BARREL) + OVERLAP
    for supplied, shrunk in _sizes():
        if supplied >= 1.1 * diameter and shrunk <= 0.9 * diameter:
            how = "estimated from its section" if estimated else "given"
            return Sleeve(supplied, shrunk, length, estimated, f"outer diameter {diameter * 1e3:.0f} mm, {how}")
    return None
