"""The frame and the floor: do modules go in, does the frame agree with itself, does the floor carry it.

Gives: CHECKS (P-PLACE-9 to P-PLACE-11). Limits: anchors, tipping and lifts are Build's.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from bankwright.bank.asks import wanted
from bankwright.bank.model import Module, Rack
from bankwright.bank.places import rack_of
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.constants import RACK_UNIT
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed, Source
from bankwright.forms.trace import given
from bankwright.forms.wording import Figure, say
from bankwright.handbook.tables import look_up
from bankwright.physics.stability import caster_load, pressure
from bankwright.plan.context import Plan
from bankwright.plan.figures.usual import alike

__all__ = ["CHECKS"]

SPREAD = 2.0  # what a frame may press over the load of a whole floor before it fails; common practice, no source

_FLOOR = Card(
    "P-PLACE-9",
    "The floor may carry the bank",
    "M g / A <= q; a fail above 2 q",
    Source("statics", how_known="derived"),
    "code",
)
_WHEELS = Card(
    "P-PLACE-11",
    "The wheels may carry the frame",
    "M / (wheels - 1) <= load of a wheel",
    Source("trade rule of three wheels", how_known="common practice, no source"),
    "code",
)
_IN = Card(
    "P-PLACE-10",
    "The modules go into the frame",
    "width <= opening between the rails; depth <= depth of the frame; units x 44.45 mm <= height of the frame",
    Source("EIA-310", "D", "opening between rails, unit of 1.75 in", "read on secondary pages"),
    "code",
)


def _inside(plan: Plan, rack: Rack) -> list[Module]:
    return [module for module in plan.bank.modules if rack_of(plan.bank, module) is rack]


@check(_FLOOR.code, _FLOOR.title)
def floor_carries_the_bank(plan: Plan) -> Iterator[Finding]:
    """The loaded frame presses no more on the floor than the floor may carry, else a caution; above twice that a fail:
    the load of a floor is one spread over the room. Asked where the floor's load is given.

    Why: a framed floor under a rack gives way slowly, and cables are pulled before anybody sees it.
    Not seen here: floors whose load is not given, of which Build takes the table of the building code; slabs, which
    go by their own thickness; feet that press on less than the footprint.
    Source: statics, M g / A [derived]; twice: common practice, no source.
    """
    if plan.bank.site.floor_load is None:
        return
    yield from _FLOOR.over(
        [rack for rack in plan.bank.racks if rack.kind.on != "wall"], lambda rack: _floor(plan, rack)
    )


@check(_WHEELS.code, _WHEELS.title)
def wheels_carry_the_frame(plan: Plan) -> Iterator[Finding]:
    """Each wheel of a frame on wheels carries its part of the loaded frame, three of four on the ground; asked where a
    wheel's load is given.

    Why: a caster that gives way tips the whole rack, on whoever pushes it.
    Not seen here: rolling over obstacles, and stopping (Build).
    Source: trade rule of three wheels: common practice, no source.
    """
    rolling = [rack for rack in plan.bank.racks if rack.kind.on == "wheels" and rack.kind.wheel_load]
    yield from _WHEELS.over(rolling, lambda rack: _wheels(plan, rack))


def _wheels(plan: Plan, rack: Rack) -> Finding | None:
    inside, kind, wheels = _inside(plan, rack), rack.kind, rack.kind.wheels or 4
    if not inside:
        return None
    total = sum(wanted(m.kind.mass, f"{m.kind.path}.mass") for m in inside) + (kind.mass or 0.0)
    need, most = Figure(caster_load(total, wheels), "mass"), kind.wheel_load or 0.0
    text = say(
        "{rack} with its modules is {mass} on {wheels} wheels: {need} on one; it may carry {most}",
        rack=rack.name,
        mass=Figure(total, "mass"),
        wheels=str(wheels),
        need=need,
        most=Figure(most, "mass"),
    )
    inputs = (
        Input("M", "loaded frame", Figure(total, "mass"), Computed("masses of the bank file")),
        given("wheels", f"wheels of {kind.name}", wheels, "count", plan.bank.key(f"{kind.path}.wheels")),
        given("load", "load of a wheel", most, "mass", plan.bank.key(f"{kind.path}.wheel_load")),
    )
    do = say("Take wheels for the load, or set the frame down on feet.")
    return _WHEELS.found(rack.name, need, (None, most), text, do, inputs=inputs)


def _floor(plan: Plan, rack: Rack) -> Finding | None:
    inside, kind = _inside(plan, rack), rack.kind
    area = kind.footprint or (kind.width or 0.0) * (kind.depth or 0.0)
    if not inside or not area:
        return None
    masses = [wanted(module.kind.mass, f"{module.kind.path}.mass") for module in inside]
    total, limit = sum(masses) + (kind.mass or 0.0), plan.bank.site.floor_load or 0.0
    load = pressure(total, area)
    text = say(
        "{rack} with its modules, {mass} on {area}, is {load}; the floor may carry {limit}",
        rack=rack.name,
        mass=Figure(total, "mass"),
        area=Figure(area, "floor_area"),
        load=Figure(load, "pressure"),
        limit=Figure(limit, "pressure"),
    )
    inputs = (
        Input("M", "loaded frame", Figure(total, "mass"), Computed("masses of the bank file")),
        given("A", "area that carries", area, "floor_area", plan.bank.key(f"{kind.path}.footprint")),
        given("q", "load of the floor", limit, "pressure", plan.bank.key("site.floor_load")),
    )
    do = say("Spread the load over more floor, or have the floor looked at by a licensed engineer.")
    figure, limits = Figure(load, "pressure"), (None, SPREAD * limit)
    return _FLOOR.found(rack.name, figure, limits, text, do, inputs=inputs, caution_limits=(None, limit))


@check(_IN.code, _IN.title)
def modules_go_into_the_frame(plan: Plan) -> Iterator[Finding]:
    """In a frame that is counted in rack units, modules are no wider than the opening between the rails and no deeper
    than the frame, and the units are no higher than the frame itself.

    Why: what is too wide or too deep is found when the module hangs on the hoist, and the first thing cut is the frame.
    Not seen here: ears, slides, room for lugs and bends behind or before the modules.
    Source: EIA-310-D, opening 450 mm, unit 1.75 in [read on secondary pages].
    """
    for rack in plan.bank.racks:
        if rack.kind.units is None:
            continue
        yield from _units(plan, rack)
        for first, *others in alike((each.name, each.kind.path) for each in _inside(plan, rack)).values():
            for finding in _sizes(plan, rack, plan.bank.module(first)):
                yield replace(finding, more=tuple(others))


def _units(plan: Plan, rack: Rack) -> Iterator[Finding]:
    kind, units = rack.kind, rack.kind.units or 0
    if kind.height is None:
        return
    text = say(
        "{rack} is counted with {units} units, {high} in all; it is {height} high",
        rack=rack.name,
        units=str(units),
        high=Figure(units * RACK_UNIT, "height"),
        height=Figure(kind.height, "height"),
    )
    inputs = (
        given("units", f"units of {kind.name}", units, "count", plan.bank.key(f"{kind.path}.units")),
        given("H", f"height of {kind.name}", kind.height, "height", plan.bank.key(f"{kind.path}.height")),
    )
    do = say("Count the units of {rack} again, and measure it.", rack=rack.name)
    yield _IN.found(rack.name, Figure(kind.height, "height"), (units * RACK_UNIT, None), text, do, inputs=inputs)


def _sizes(plan: Plan, rack: Rack, module: Module) -> Iterator[Finding]:
    opening = look_up("eia-310/holes", "opening between rails", "value").value
    sizes = (("width", module.kind.width, opening), ("depth", module.kind.depth, rack.kind.depth))
    for name, size, most in sizes:
        if size is None or most is None:
            continue
        what = "the opening between its rails" if name == "width" else "its depth"
        text = say(
            "{module} is {size} " + ("wide" if name == "width" else "deep") + "; {what} of {rack} is {most}",
            module=module.kind.name,
            size=Figure(size, "height"),
            what=what,
            rack=rack.name,
            most=Figure(most, "height"),
        )
        inputs = (
            given(name, f"{name} of {module.kind.name}", size, "height", plan.bank.key(f"{module.kind.path}.{name}")),
            given("most", what, most, "height", _IN.source if name == "width" else plan.bank.key(rack.kind.path)),
        )
        do = say("Take another frame, or shelves; nothing is ground off.")
        yield _IN.found(module.name, Figure(size, "height"), (None, most), text, do, inputs=inputs)


CHECKS = (floor_carries_the_bank, modules_go_into_the_frame, wheels_carry_the_frame)
