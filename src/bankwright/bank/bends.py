"""How tightly a cable may be bent.

Gives: Bend, bend_radius(). The cable's own figure, else a multiple of its outer diameter.
Sources: handbook/data/bend_radius.toml (multiples, with how they are known).
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.model_kinds import CableKind
from bankwright.bank.pieces.sleeves import outer_diameter
from bankwright.forms.origin import FileKey, Origin
from bankwright.handbook.tables import look_up

__all__ = ["Bend", "bend_radius"]


@dataclass(frozen=True, slots=True)
class Bend:
    """Least radius of the inner side of a bend, in m."""

    value: float
    origin: Origin
    assumed: bool


def bend_radius(cable: CableKind) -> Bend:
    """Least bend radius: given for the cable, else (multiple of the table) x outer diameter, marked assumed."""
    if cable.bend_radius is not None:
        return Bend(cable.bend_radius, FileKey(f"{cable.size_path.rsplit('.', 1)[0]}.bend_radius"), False)
    fine = cable.strands in ("fine", "class 5", "class 6")
    multiple = look_up("practice/bend-radius", "fine strands" if fine else "other strands", "multiple")
    return Bend(multiple.value * outer_diameter(cable)[0], multiple.origin, True)
