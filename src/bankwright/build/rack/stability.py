"""Does the rack stand, at every stage of loading: tilt, push, a module pulled out.

Gives: Stage, stages(), stage_findings(), load_order(). Stages: the empty frame, then one more module each, in the
order of the sheet.
Limits: a rigid rack on a level floor, centre of gravity in the middle of its feet; frame at half its height where
its own is not known. Until the anchors hold: the sheet anchors before it loads, so what only an unanchored rack
would do is a caution.
Sources: statics; IEC 62368-1:2018 8.6 (handbook/data/stability_tests.toml);
caster and floor tables named at the findings.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Rack
from bankwright.bank.places import Seat, seats
from bankwright.build import cards
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Computed, Source
from bankwright.forms.wording import Figure, say
from bankwright.handbook.tables import look_up
from bankwright.physics.stability import (
    centre,
    push_of_test,
    shift_of_pulled,
    tipping_acceleration,
    tipping_angle_deg,
    tipping_force,
)

__all__ = ["STATICS", "Stage", "load_order", "stage_findings", "stage_inputs", "stages"]

STATICS = Source("statics", place="rigid rack on a level floor", how_known="derived")


@dataclass(frozen=True, slots=True)
class Stage:
    """The rack with some of its modules: mass, centre of gravity, distance to the nearer edge."""

    rack: str
    loaded: tuple[str, ...]
    mass: float
    height: float  # of the centre of gravity above the floor
    edge: float  # to the nearer tipping edge
    depth_edge: float  # to the front edge, towards which a module is pulled


def load_order(bank: Bank) -> tuple[Seat, ...]:
    """Order of loading: from the bottom up, rack by rack."""
    return seats(bank)


def stages(bank: Bank, rack: Rack) -> tuple[Stage, ...] | tuple[Missing, ...]:
    """All stages of one rack; what is missing, where something needed is not given."""
    kind = rack.kind
    here = [seat for seat in load_order(bank) if seat.rack == rack.name]
    lacking = [
        asking(f"{kind.path}.{key}", how)
        for key, value, how in (
            ("mass", kind.mass, "Weigh the empty frame, or read its sheet."),
            ("height", kind.height, "Measure the frame."),
            ("foot_width", kind.foot_width or kind.width, "Measure between the outer feet."),
            ("foot_depth", kind.foot_depth or kind.depth, "Measure between the outer feet, front to back."),
        )
        if value is None
    ]
    lacking += [
        asking(f"{module.kind.path}.mass")
        for module in (bank.module(seat.module) for seat in here)
        if module.kind.mass is None
    ]
    if lacking:
        return tuple(dict.fromkeys(lacking))
    width, depth = (kind.foot_width or kind.width or 0.0), (kind.foot_depth or kind.depth or 0.0)
    found = []
    for count in range(len(here) + 1):
        part = here[:count]
        masses = [kind.mass or 0.0, *(bank.module(seat.module).kind.mass or 0.0 for seat in part)]
        heights = [(kind.height or 0.0) / 2, *((seat.bottom + seat.top) / 2 for seat in part)]
        names = tuple(seat.module for seat in part)
        found.append(Stage(rack.name, names, sum(masses), centre(masses, heights), min(width, depth) / 2, depth / 2))
    return tuple(found)


def _count(loaded: int) -> str:
    return "empty" if loaded == 0 else f"{loaded} module{'s' if loaded > 1 else ''} in"


def _held(rack: Rack) -> bool:
    return rack.kind.on in ("floor", "wall")


def _worst(rack: Rack) -> Literal["fail", "caution"]:
    return "caution" if _held(rack) else "fail"


def stage_inputs(stage: Stage) -> tuple[Input, ...]:
    """Mass, centre of gravity and edge of a stage, as inputs of a finding."""
    how = Computed("masses and rack units of the bank file")
    return (
        Input("M", "mass standing", Figure(stage.mass, "mass"), how),
        Input("h", "height of the centre of gravity", Figure(stage.height, "height"), how),
        Input("b", "to the nearer edge", Figure(stage.edge, "height"), how),
    )


def stage_findings(bank: Bank, rack: Rack, stage: Stage) -> Iterator[Finding]:
    """Tilt, push and pull of one stage."""
    at = (rack.name, *stage.loaded[-1:])
    case = _count(len(stage.loaded))
    anchor = (
        "Anchor the frame, or block it on both sides, before the next module."
        if _held(rack)
        else "Load the lowest slots."
    )
    yield _tilted(rack, stage, at, case, anchor)
    yield _pushed(rack, stage, at, case, anchor)
    if stage.loaded:
        yield _pulled(bank, rack, stage, at, case, anchor=anchor)


def _tilted(rack: Rack, stage: Stage, at: tuple[str, ...], case: str, anchor: str) -> Finding:
    tilt = look_up("iec-62368-1/stability", "tilt", "value")
    assert isinstance(tilt.origin, Source)
    angle = Figure(tipping_angle_deg(stage.edge, stage.height), "angle_deg")
    shake = Figure(tipping_acceleration(stage.edge, stage.height), "acceleration")
    return cards.TILT.found(
        at,
        angle,
        (tilt.value, None),
        say("Tips when tilted by {angle}, or pushed sideways at {shake}.", angle=angle, shake=shake),
        say(anchor),
        source=tilt.origin,
        inputs=stage_inputs(stage),
        case=case,
        ends_at=_worst(rack),
    )


def _pushed(rack: Rack, stage: Stage, at: tuple[str, ...], case: str, anchor: str) -> Finding:
    """The push of the test, at its height or at the top of a lower rack."""
    share, cap, height = (
        look_up("iec-62368-1/stability", r, "value") for r in ("push share", "push cap", "push height")
    )
    assert isinstance(share.origin, Source)
    push_at = min(rack.kind.height or height.value, height.value)
    needed = push_of_test(stage.mass, share.value, cap.value)
    return cards.PUSH.found(
        at,
        Figure(tipping_force(stage.mass, stage.edge, push_at), "force"),
        (needed, None),
        None,
        say(anchor),
        source=share.origin,
        inputs=(*stage_inputs(stage), Input("h push", "height of the push", Figure(push_at, "height"), share.origin)),
        case=case,
        ends_at=_worst(rack),
    )


def _pulled(bank: Bank, rack: Rack, stage: Stage, at: tuple[str, ...], case: str, *, anchor: str) -> Finding:
    """The last module pulled out on its rails by its whole depth."""
    kind = bank.module(stage.loaded[-1]).kind
    pull = kind.depth or rack.kind.depth or 0.6
    shift = shift_of_pulled(kind.mass or 0.0, pull, stage.mass)
    text = say(
        "{module} pulled out by {pull} moves the centre of gravity by {shift}; the edge is at {edge}.",
        module=stage.loaded[-1],
        pull=Figure(pull, "height"),
        shift=Figure(shift, "height"),
        edge=Figure(stage.depth_edge, "height"),
    )
    return cards.PULL.found(
        at,
        Figure(shift, "height"),
        (None, stage.depth_edge),
        text,
        say(anchor),
        inputs=stage_inputs(stage),
        case=case,
        ends_at=_worst(rack),
    )
