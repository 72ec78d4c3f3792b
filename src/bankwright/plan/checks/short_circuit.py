"""What else the sheets say of a short: how inductive its circuit may be, what a switch stands.

Gives: CHECKS (P-FAULT-3, P-SWITCH-5). Limits: both are judged only where the sheet gives the figure; the list of what
is not checked names them otherwise.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import bankwright.plan.walks.lines as lines
from bankwright.bank.model import Charger, Device, Inverter, Load
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Computed, Source
from bankwright.forms.trace import Traced, amperes, computed, given
from bankwright.forms.wording import Figure, say
from bankwright.physics.fault import time_constant
from bankwright.plan.context import Plan
from bankwright.plan.figures.loops import loop_henry, on_the_way
from bankwright.plan.figures.voltages import full_voltage

__all__ = ["CHECKS"]

_THREE = Card(
    "P-FAULT-3",
    "The circuit is no more inductive than the DC rating holds for",
    "L / R <= time constant of the rating",
    Source("time constant of DC ratings: UL 248, IEC 60269-7", how_known="from memory"),
)
_FIVE = Card(
    "P-SWITCH-5",
    "A switch stands the short that it may be closed onto",
    "I_k,max <= stated withstand",
    Source("NEC 110.10; IEC 60947-3, rated conditional short-circuit current", how_known="from memory"),
    "code",
)


@check(_THREE.code, _THREE.title)
def circuit_inductive_as_rated(plan: Plan) -> Iterator[Finding]:
    """The time constant of the fault's loop, L over R,
    is below the one that the DC interrupting rating was proved with.

    Case: a bolted short between the posts of every inverter, charger and load that the device feeds: the longest loop,
    where cable makes most of it; L and R are those of one loop.
    Why: a current that an inductance keeps alive burns longer in a fuse or breaker than it was tested for.
    Not seen here: the modules' own inductance; devices whose sheet gives no time constant (time_constant).
    Source: L/R of a loop (stated law); that DC ratings hold for one: UL 248, IEC 60269-7 [from memory].
    """
    devices = [d for d in lines.in_line(plan, ("fuse", "breaker")) if d.kind.time_constant is not None]
    yield from _THREE.over(devices, lambda device: _loop(plan, device))


def _loop(plan: Plan, device: Device) -> Finding | None:
    on = {device.on, *device.also_on}
    found = [(_constant(plan, user), user) for user in plan.users if on & on_the_way(plan, user)]
    if not found:
        return None
    (value, least, henry, fault), user = max(found, key=lambda pair: pair[0][0])
    holds = device.kind.time_constant or math.inf
    text = say(
        "A short at {user} rises with a time constant of {time}; the DC rating of {device} holds up to {limit}",
        user=user.name,
        time=Figure(value, "time"),
        device=device.name,
        limit=Figure(holds, "time"),
    )
    key = plan.bank.key(f"{device.kind.path}.time_constant")
    inputs = (
        given("L", f"inductance to {user.name}", henry, "inductance", Computed("lengths, sections and spacing")),
        given("R", "full volts over the largest short", henry / value, "resistance", Computed(fault.case or "")),
        given("L/R", f"time constant of the rating of {device.name}", holds, "time", key),
        *fault.inputs,
    )
    do = say("Lay plus and minus close together, or take a device rated for this time constant.")
    figure = Figure(value, "time", least, value) if fault.inputs else Figure(value, "time")
    return _THREE.found(device.name, figure, (None, holds), text, do, inputs=inputs, case=fault.case)


def _constant(plan: Plan, user: Inverter | Charger | Load) -> tuple[float, float, float, Traced]:
    """L/R of the loop to a user's posts at the largest short there and at the least, its inductance, the short.
    [s, s, H]"""
    henry = loop_henry(plan, user)
    full = max(full_voltage(module) for module in plan.bank.modules)
    fault = plan.faults.at(user.posts[0], opposite=user.posts[1])
    most, least = (float(time_constant(henry, full / amps)) for amps in (fault.high, fault.low))
    return most, least, henry, fault


@check(_FIVE.code, _FIVE.title)
def switch_stands_the_short(plan: Plan) -> Iterator[Finding]:
    """A switch that is closed onto a short, or carries one until its fuse clears, stands that current: I_k,max <= what
    its sheet says it withstands behind such a fuse.

    Case: bolted short at its terminals, everything on, modules to come too.
    Why: contacts that a short throws apart weld or burst, though the fuse does its work.
    Not seen here: whether the fuse is the one that the sheet names; switches whose sheet is silent (withstands).
    Source: NEC 110.10; IEC 60947-3 [from memory].
    """

    def one(device: Device) -> Finding:
        stands = device.kind.withstands or math.inf
        fault = plan.faults.prospective(device.name)
        text = say(
            "{device} may carry a short of {fault}; it stands {limit}",
            device=device.name,
            fault=fault.figure,
            limit=amperes(stands),
        )
        key = plan.bank.key(f"{device.kind.path}.withstands")
        inputs = (
            computed("I_k,max", f"largest short at {device.name}", fault, "shorts"),
            given("I_w", f"short that {device.name} withstands", stands, "current", key),
            *fault.inputs,
        )
        do = say("Take a switch that stands this short behind its fuse, or a fuse that lets less through to it.")
        return _FIVE.found(
            device.name,
            fault.figure,
            (None, stands),
            text,
            do,
            inputs=inputs,
            case=fault.case,
            missing=fault.missing,
        )

    devices = lines.in_line(plan, ("disconnect", "breaker"))
    yield from _FIVE.over([d for d in devices if d.kind.withstands is not None], one)


CHECKS = (circuit_inductive_as_rated, switch_stands_the_short)
