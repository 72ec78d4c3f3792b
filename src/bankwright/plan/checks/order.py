"""Order of opening: a surge opens nothing, and the device nearest to a fault opens first.

Gives: CHECKS (P-CLEAR-4, P-CLEAR-5). Limits: trips of battery management systems open all modules first in many banks;
then the bank is lost, whatever the fuses do.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import bankwright.plan.walks.lines as lines
from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import Device
from bankwright.circuit.cases import SURGE
from bankwright.forms.card import (
    Card,
    Limits,
)
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Computed, Source
from bankwright.forms.toleranced import Toleranced
from bankwright.forms.trace import (
    Traced,
    amperes,
    computed,
    given,
)
from bankwright.forms.wording import (
    Figure,
    Say,
    say,
)
from bankwright.handbook.tables import load
from bankwright.plan.context import Plan
from bankwright.plan.figures.opening import melting_at

__all__ = ["CHECKS"]

INSTANT_BAND = 0.2  # IEC 60947-2, 8.3.3.1.2 [from memory]
_FOUR = Card(
    "P-CLEAR-4",
    "A surge opens nothing",
    "melting time at I_surge > t_surge",
    Source("the device's own curve", how_known="derived"),
)
_FIVE = Card(
    "P-CLEAR-5",
    "The device nearest to the fault opens first",
    "let-through of the lead's device < melting I2t of the main's; or ratio of ratings",
    Source("IEC 60269, UL 248", "", "1.6 to 1 for gG; 2 to 1 in one UL class (memory)", "read"),
)


@check(_FOUR.code, _FOUR.title)
def surge_opens_nothing(plan: Plan) -> Iterator[Finding]:
    """A surge is over before any device may open: shortest melting or tripping time at I_surge > t_surge.

    Case: surge, all modules on. A device whose rating is not passed opens at no time. A magnetic release acts at once
    from its low end on, whatever the points of the curve say.
    Why: a fuse that melts in a motor's start takes the whole bank off.
    Not seen here: inrush of capacitors, which no fuse feels; ageing of fuses by many surges.
    Source: the device's own curve; +-20 % of a magnetic release: IEC 60947-2 8.3.3.1.2 [from memory].
    """

    if SURGE in plan.steady.names:
        yield from _FOUR.over(
            lines.in_line(plan, ("fuse", "breaker")), lambda device: _surge_opens_nothing_at(plan, device)
        )


def _surge_opens_nothing_at(plan: Plan, device: Device) -> Finding:
    current = plan.surge_current(device.on)
    rating = wanted(device.kind.rating, f"{device.kind.path}.rating")
    base = (
        computed("I_surge", f"surge current of {device.on}", current),
        given("In", f"rating of {device.name}", rating, "current", plan.bank.key(f"{device.kind.path}.rating")),
        *current.inputs,
    )
    instant = device.kind.instant
    if instant is not None and current.high >= (low := _low_end(instant)):
        return _may_release(plan, device, current, low, base)
    if current.value <= rating:
        text = say(
            "A surge of {current} stays under the rating of {device}, {rating}",
            current=amperes(current.value),
            device=device.name,
            rating=amperes(rating),
        )
        return _surge(device, current, current.figure, (None, None), text, inputs=base)
    return _outlasts(plan, device, current, base)


def _surge(
    device: Device, current: Traced, figure: Figure, limits: Limits, text: Say, *, inputs: tuple[Input, ...]
) -> Finding:
    do = say("Take a slower device, or limit what starts together.")
    return _FOUR.found(device.name, figure, limits, text, do, inputs=inputs, case=current.case, missing=current.missing)


def _may_release(plan: Plan, device: Device, current: Traced, low: float, base: tuple[Input, ...]) -> Finding:
    """The surge reaches the low end of a magnetic release. [A]"""
    text = say(
        "A surge of {current} passes {device}; its magnetic release may act from {low} on",
        current=current.figure,
        device=device.name,
        low=amperes(low),
    )
    key = plan.bank.key(f"{device.kind.path}.instant")
    release = given("I_m", f"magnetic release of {device.name}, low end", low, "current", key)
    return _surge(device, current, current.figure, (None, low), text, inputs=(*base, release))


def _outlasts(plan: Plan, device: Device, current: Traced, base: tuple[Input, ...]) -> Finding:
    """The time of the surge against the shortest time in which the device may open at its current."""
    kinds = [inverter.kind for inverter in plan.bank.inverters]
    lasts = max(wanted(kind.surge_time, f"{kind.path}.surge_time") for kind in kinds)
    key = plan.bank.key(f"{kinds[0].path}.surge_time")
    inputs = (*base, given("t_surge", "time of the surge", lasts, "time", key))
    time = melting_at(device, current.value)
    if math.isinf(time):
        text = say(
            "A surge of {current} is under what opens {device} at all",
            current=amperes(current.value),
            device=device.name,
        )
        return _surge(device, current, current.figure, (None, None), text, inputs=inputs)
    text = say(
        "A surge of {current} lasts {lasts}; {device} may open after {time}",
        current=amperes(current.value),
        lasts=Figure(lasts, "time"),
        device=device.name,
        time=Figure(time, "time"),
    )
    return _surge(device, current, Figure(time, "time"), (lasts, None), text, inputs=inputs)


def _low_end(instant: Toleranced) -> float:
    """Current from which a magnetic release may act: its low end, a fifth early where no tolerance is stated. [A]"""
    return instant.nominal * (1.0 - INSTANT_BAND) if instant.is_exact else instant.low


@check(_FIVE.code, _FIVE.title)
def nearest_device_opens_first(plan: Plan) -> Iterator[Finding]:
    """On a fault in an inverter's lead its own device clears before the main melts.

    Case: each device in an inverter's lead against each in the common main of the same pole. Ends at caution where only
    the ratio of ratings is known: 1.6 to 1 (gG), 2 to 1 (one UL class).
    Why: one shorted inverter should not take the others and the bank with it.
    Not seen here: trips of the battery management systems, which may open all modules first: then the bank is lost.
    Source: 1.6 to 1 by the 10 ms table of IEC 60269 [read]; 2 to 1 [from memory].
    """

    def one(pair: tuple[Device, Device]) -> Finding:
        return _order(plan, *pair)

    pairs = [
        (near, main)
        for near in lines.in_line(plan, ("fuse", "breaker"))
        for main in lines.in_line(plan, ("fuse", "breaker"))
        if _is_behind(plan, near, main)
    ]
    for pair in pairs:
        yield from _FIVE.over((pair[0],), lambda _, pair=pair: one(pair))  # type: ignore[misc]


def _is_behind(plan: Plan, near: Device, main: Device) -> bool:
    """Is `near` in an inverter's own lead and `main` in what several share, on one pole."""
    own, common = plan.bank.link(near.on), plan.bank.link(main.on)
    users = {post for user in plan.users for post in user.posts}
    return (
        own.pole == common.pole
        and bool(users & {own.a, own.b})
        and common.role == "main"
        and not users & {common.a, common.b}
    )


def _order(plan: Plan, near: Device, main: Device) -> Finding:
    do = say("Take a smaller or faster device in the lead, or a larger main with its cable.")
    if near.kind.let_through is not None and main.kind.melting_i2t is not None:
        figure, limit = Figure(near.kind.let_through, "let_through"), main.kind.melting_i2t
        inputs = (
            given(
                "let-through",
                f"total clearing I2t of {near.name}",
                near.kind.let_through,
                "let_through",
                plan.bank.key(f"{near.kind.path}.let_through"),
            ),
            given(
                "melting",
                f"melting I2t of {main.name}",
                limit,
                "let_through",
                plan.bank.key(f"{main.kind.path}.melting_i2t"),
            ),
        )
        text = say(
            "{near} lets {heat} through; {main} melts at {limit}",
            near=near.name,
            heat=figure,
            main=main.name,
            limit=Figure(limit, "let_through"),
        )
        return _FIVE.found(
            (near.name, main.name), figure, (None, limit), text, do, inputs=inputs, case=f"short behind {near.name}"
        )
    return _by_ratio(near, main)


def _by_ratio(near: Device, main: Device) -> Finding:
    small, large = (wanted(d.kind.rating, f"{d.kind.path}.rating") for d in (near, main))
    classes = [(d.kind.device_class or "").lower() for d in (near, main)]
    if near.kind.type != "fuse" or main.kind.type != "fuse" or classes[0] != classes[1] or not classes[0]:
        raise NeedsValue(asking(f"{near.kind.path}.let_through"), asking(f"{main.kind.path}.melting"))
    row = "gG order of opening" if classes[0].startswith("g") else "same class order of opening"
    table = load("iec-60269/points")
    least = table.value(table.row(row), "value")
    assert least is not None
    ratio = Figure(large / small, "ratio")
    inputs = (
        Input("ratio", f"rating of {main.name} over {near.name}", ratio, Computed(f"{large:g} A / {small:g} A")),
        Input("least", "ratio of one class that opens in order", Figure(least, "ratio"), table.source),
    )
    text = say(
        "{main} is {ratio} times as large as {near}; fuses of one class open in order from {least} on",
        main=main.name,
        ratio=ratio,
        near=near.name,
        least=Figure(least, "ratio"),
    )
    do = say("Take a smaller or faster device in the lead, or a larger main with its cable.")
    return _FIVE.found(
        (near.name, main.name),
        ratio,
        (least * (1 - 1e-9) / 1.05 if large / small >= least else least, None),
        text,
        do,
        inputs=inputs,
        case=f"short behind {near.name}",
    )


CHECKS = (surge_opens_nothing, nearest_device_opens_first)
