"""What a loaded rack asks of its frame, its wheels and the floor, and whether the heavy modules stand low.

Gives: rack_findings().
Limits: a slab on ground is governed by its thickness, soil and joints, not by a live-load table; a framed floor
needs an engineer at these weights. Without a figure of the site the table of the IRC stands in,
and the finding ends at caution.
Sources: handbook/data/floor_loads.toml, caster_factors.toml; statics.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Rack
from bankwright.build import cards
from bankwright.build.rack.stability import STATICS, Stage, load_order, stage_inputs
from bankwright.forms.constants import RACK_UNIT
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed, Source
from bankwright.forms.wording import Figure, say
from bankwright.handbook.tables import look_up
from bankwright.physics.stability import caster_load, pressure, stop_speed

__all__ = ["rack_findings"]

WALKING = 4 / 3.6  # m/s: test speed of EN 12527 to 12533, 4 km/h [read on a caster technical page]


def rack_findings(bank: Bank, rack: Rack, full: Stage) -> Iterator[Finding]:
    """What the loaded rack asks of its frame, wheels and floor; and whether the heavy modules stand low."""
    kind, at = rack.kind, (rack.name,)
    carried = full.mass - (kind.mass or 0.0)
    missing = asking(f"{kind.path}.module_load", "Read what the frame may carry in its sheet.")
    yield cards.FRAME.found(
        at,
        Figure(carried, "mass"),
        (None, kind.module_load),
        None,
        say("Take a frame for the load, or fewer modules."),
        missing=() if kind.module_load is not None else (missing,),
    )
    yield from _between_rails(bank, rack)
    yield from _floor(bank, rack, full)
    if kind.on == "wheels":
        yield from _wheels(rack, full)
    yield from _heavy_low(bank, rack)


def _between_rails(bank: Bank, rack: Rack) -> Iterator[Finding]:
    """Each kind of module against the opening between the rails; of a frame that is counted in rack units."""
    if rack.kind.units is None:
        return
    opening = look_up("eia-310/holes", "opening between rails", "value")
    assert isinstance(opening.origin, Source)
    here = {
        m.kind.path: m
        for m in reversed(bank.modules)
        if m.name in {s.module for s in load_order(bank) if s.rack == rack.name}
    }
    for path, module in reversed(here.items()):
        width = module.kind.width
        missing = asking(f"{path}.width")
        yield cards.WIDTH.found(
            module.name,
            None if width is None else Figure(width, "height"),
            (None, opening.value),
            None,
            say("Take a rack with a wider opening, or another module; nothing is ground off."),
            source=opening.origin,
            missing=() if width is not None else (missing,),
        )


def _floor(bank: Bank, rack: Rack, full: Stage) -> Iterator[Finding]:
    kind, site = rack.kind, bank.site
    area = kind.footprint or ((kind.width or 0.0) * (kind.depth or 0.0)) or None
    do = say(
        "Spread the load, or have the floor checked by a licensed engineer; a slab on ground goes by its own thickness."
    )
    if area is None:
        missing = asking(f"{kind.path}.footprint")
        yield cards.FLOOR.found(rack.name, None, (None, site.floor_load), None, do, missing=(missing,))
        return
    load = pressure(full.mass, area)
    limit, source, assumed = site.floor_load, STATICS, False
    if limit is None:
        use = "passenger vehicle garage" if "garage" in (site.place or "") else "rooms other than sleeping rooms"
        cited = look_up("irc/floor-loads", use, "load")
        assert isinstance(cited.origin, Source)
        limit, source, assumed = cited.value, cited.origin, True
    text = say(
        "{mass} on {area} is {load}.",
        mass=Figure(full.mass, "mass"),
        area=Figure(area, "floor_area"),
        load=Figure(load, "pressure"),
    )
    inputs = (
        Input("M", "loaded rack", Figure(full.mass, "mass"), Computed("masses of the bank file")),
        Input("A", "area that carries", Figure(area, "floor_area"), Computed("rack of the bank file")),
        Input("q", "load the floor may carry", Figure(limit, "pressure"), source, assumed),
    )
    yield cards.FLOOR.found(
        rack.name,
        Figure(load, "pressure"),
        (None, limit),
        text,
        do,
        source=source,
        inputs=inputs,
        ends_at="caution" if assumed else "fail",
    )


def _wheels(rack: Rack, full: Stage) -> Iterator[Finding]:
    kind = rack.kind
    factor = look_up("practice/caster-factor", "by hand, obstacles under 5 % of the wheel", "factor")
    assert isinstance(factor.origin, Source)
    need = caster_load(full.mass, kind.wheels or 4, factor.value)
    missing = asking(f"{kind.path}.wheel_load", "Read the dynamic rating on the caster.")
    yield cards.CASTER.found(
        rack.name,
        Figure(need, "mass"),
        (None, kind.wheel_load),
        None,
        say("Take casters with a dynamic rating of at least {need}.", need=Figure(need, "mass")),
        source=factor.origin,
        missing=() if kind.wheel_load is not None else (missing,),
    )
    speed = stop_speed(full.edge, full.height)
    yield cards.STOP.found(
        rack.name,
        Figure(speed, "speed"),
        (WALKING, None),
        None,
        say("Do not roll the loaded rack; move it empty, and park it on feet."),
        inputs=stage_inputs(full),
    )


def _heavy_low(bank: Bank, rack: Rack) -> Iterator[Finding]:
    here = [seat for seat in load_order(bank) if seat.rack == rack.name]
    for low, high in pairwise(here):
        below, above = bank.module(low.module).kind.mass, bank.module(high.module).kind.mass
        if below is not None and above is not None and above > below * 1.001:
            text = say(
                "{above} ({a}) stands over {below} ({b}).",
                above=high.module,
                a=Figure(above, "mass"),
                below=low.module,
                b=Figure(below, "mass"),
            )
            yield cards.HEAVY.found(
                (high.module, low.module),
                Figure(above, "mass"),
                (None, below),
                text,
                say("Change their places before the rack is loaded."),
            )
    gaps = [(a, b) for a, b in pairwise(here) if b.unit - a.unit > a.units]
    if gaps or (here and here[0].unit > 1):
        lower = here[0] if here[0].unit > 1 else gaps[0][1]
        free = (lower.unit - 1) if lower is here[0] else lower.unit - gaps[0][0].unit - gaps[0][0].units
        text = say("{free} rack units below {module} are empty.", free=str(free), module=lower.module)
        yield cards.LOW.found(
            lower.module,
            Figure(free * RACK_UNIT, "height"),
            (None, 0.0),
            text,
            say("Move {module} down, if nothing else needs the place.", module=lower.module),
        )
