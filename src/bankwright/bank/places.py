"""Where things stand: rack units, hole heights, post positions in metres, bend paths.

Gives: unit_height(), hole_heights(), screw_holes(), panel_height(), base_height(), Spot, spots(), seats(),
standing_order(), path_length(), least_length(), whole_units(). Heights from the floor where the rack says how high its
first unit is, else from unit 1.
Limits: the bank file gives no drawing of a module's face: posts are drawn at fixed parts of its width, said by
`Spot.measured`. What a cable really needs is measured on the rack;
least_length() is the shortest that geometry allows.
Sources: EIA-310-D universal hole pattern 0.625, 0.625, 0.500 in, unit 1.75 in (read on secondary pages); IEC
60297-3-100 panel height n x 44.45 - 0.8 mm (formula from memory, 3 U = 132.55 mm read).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bankwright.bank.model import Bank, Link, Module, Rack
from bankwright.forms.constants import RACK_UNIT

__all__ = [
    "HOLES",
    "RAIL_SPACING",
    "Seat",
    "Spot",
    "base_height",
    "hole_heights",
    "least_length",
    "panel_height",
    "path_length",
    "rack_of",
    "screw_holes",
    "seats",
    "spots",
    "standing_order",
    "unit_height",
    "whole_units",
]

HOLES = (0.00635, 0.022225, 0.0381)  # m above the lower edge of each unit, EIA-310-D [read in an open CAD file]
RAIL_SPACING = 0.46512  # m between the hole centres of the two rails, EIA-310 18.312 in [read]
_POST_AT = {"+": 0.30, "-": 0.70, "+b": 0.20, "-b": 0.80}  # part of the width, where a face is drawn; common practice


@dataclass(frozen=True, slots=True)
class Seat:
    """Where a module stands: lower and upper edge above the floor (or above unit 1, when the rack is silent)."""

    module: str
    rack: str | None
    unit: int  # rack unit of the lower edge, from 1
    units: int  # how many it takes
    bottom: float
    top: float
    from_floor: bool


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a post is on the front of a rack: from the left rail, and above the floor or unit 1."""

    post: str
    across: float
    up: float
    measured: bool = False  # False: drawn at a usual place, not measured


def unit_height(unit: int) -> float:
    """Height of the lower edge of a rack unit above the lower edge of unit 1, in m."""
    return (unit - 1) * RACK_UNIT


def hole_heights(unit: int) -> tuple[float, float, float]:
    """Centres of the three holes of a rack unit above the lower edge of unit 1, in m."""
    first, second, third = (unit_height(unit) + hole for hole in HOLES)
    return first, second, third


def panel_height(units: int) -> float:
    """Height of the front of something `units` high: a little less than its space, in m."""
    return units * RACK_UNIT - 0.0008


def screw_holes(unit: int, units: int) -> tuple[tuple[int, int], tuple[int, int]]:
    """Holes for the front screws: (unit, hole 1..3) lowest and highest; to be held against the module's own ears.

    Lowest hole of the lowest unit and highest of the highest: common practice, no source.
    """
    return (unit, 1), (unit + units - 1, 3)


def rack_of(bank: Bank, module: Module) -> Rack | None:
    """The rack a module stands in: the one it names, or the only one."""
    for rack in bank.racks:
        if rack.name == module.rack or (module.rack is None and len(bank.racks) == 1):
            return rack
    return None


def base_height(rack: Rack | None) -> float | None:
    """Height of the lower edge of unit 1 above the floor; None when the rack does not say."""
    return None if rack is None else rack.kind.first_unit_height


def whole_units(height: float) -> int:
    """Whole rack units that a module of this height (m) takes; a panel is a little lower than its units."""
    return max(1, math.ceil(height / RACK_UNIT - 0.02))


def _units(module: Module) -> int | None:
    return None if module.kind.height is None else whole_units(module.kind.height)


def _lowest_unit(bank: Bank, module: Module, units: int) -> int | None:
    """Rack unit of the lower edge: as written, else by its slot, all slots as high as the highest module there."""
    if module.unit is not None or module.slot is None:
        return module.unit
    rack = rack_of(bank, module)
    together = [other for other in bank.modules if rack_of(bank, other) is rack]
    pitch = max((_units(other) or units for other in together), default=units)
    return 1 + (module.slot - 1) * pitch


def seats(bank: Bank) -> tuple[Seat, ...]:
    """Where every module stands that has a place in a rack, from the bottom up."""
    found = []
    for module in bank.modules:
        units = _units(module)
        unit = None if units is None else _lowest_unit(bank, module, units)
        if unit is None or units is None:
            continue
        rack = rack_of(bank, module)
        base = base_height(rack)
        bottom = (base or 0.0) + unit_height(unit)
        name = None if rack is None else rack.name
        top = bottom + units * RACK_UNIT
        found.append(Seat(module.name, name, unit, units, bottom, top, base is not None))
    return tuple(sorted(found, key=lambda seat: (seat.rack or "", seat.bottom, seat.module)))


def standing_order(bank: Bank) -> tuple[Module, ...]:
    """Modules from the lowest place up, rack by rack; those without a place after them, by slot, then as written."""
    place = {seat.module: number for number, seat in enumerate(seats(bank))}
    late = len(place)
    return tuple(sorted(bank.modules, key=lambda m: (place.get(m.name, late), m.slot if m.slot is not None else 10**6)))


def spots(bank: Bank) -> dict[str, Spot]:
    """Where the posts of racked modules are; posts of bars and inverters have no place in the file."""
    found: dict[str, Spot] = {}
    for seat in seats(bank):
        module = bank.module(seat.module)
        for post in module.posts:
            across = _POST_AT[post.removeprefix(module.name)] * RAIL_SPACING
            found[post] = Spot(post, across, (seat.bottom + seat.top) / 2)
    return found


def path_length(distance: float, bend_radius: float) -> float:
    """Shortest cable between two posts that face the same way, with a quarter bend at each end, in m.

    Quarter bends of radius r need 2 r of height and pi r of cable; closer posts need the cable to bulge, and the two
    bends are still the shortest it can be. Derived; the radius is that of the inner side plus half the cable at best.
    """
    return max(distance - 2 * bend_radius, 0.0) + math.pi * bend_radius


def least_length(bank: Bank, link: Link, bend_radius: float) -> float | None:
    """Shortest cable that can reach between the two posts of a link in one rack; None where a place is not known."""
    at = spots(bank)
    if link.a not in at or link.b not in at or _rack_name(bank, link.a) != _rack_name(bank, link.b):
        return None
    a, b = at[link.a], at[link.b]
    return path_length(math.hypot(a.across - b.across, a.up - b.up), bend_radius)


def _rack_name(bank: Bank, post: str) -> str | None:
    for module in bank.modules:
        if post in module.posts:
            rack = rack_of(bank, module)
            return None if rack is None else rack.name
    return None
