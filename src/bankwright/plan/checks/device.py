"""Devices against current: design current, conductor, hot air.

Gives: CHECKS (P-DEVICE-1 to P-DEVICE-3). Limits: voltage, poles and direction are in checks/device_volts;
faults in checks/fault and checks/clearing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import bankwright.plan.walks.lines as lines
from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import Device, Link
from bankwright.forms.card import Card
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Source
from bankwright.forms.trace import Traced, amperes, computed, given
from bankwright.forms.wording import Figure, say
from bankwright.handbook.ampacity import ratings_around
from bankwright.handbook.tables import load
from bankwright.physics.ampacity import tripping_limit
from bankwright.plan.context import Plan
from bankwright.plan.ends.tolerances import told
from bankwright.plan.figures.air import hottest_air
from bankwright.plan.figures.carried import (
    Ampacity,
    carried,
)
from bankwright.plan.figures.derating import derating
from bankwright.plan.figures.rating import breaker_of
from bankwright.plan.figures.ripple import heating_factor

__all__ = ["CHECKS"]

BOOK = Source("rule book", how_known="read")
_ONE = Card(
    "P-DEVICE-1",
    "A device carries the design current",
    "factor x Ib <= In; factor 1.25, or 1 when marked for 100 %",
    BOOK,
    "code",
)
_TWO = Card("P-DEVICE-2", "A device guards its conductor", "In <= Iz (and I2 <= 1.45 Iz)", BOOK, "code")
_THREE = Card(
    "P-DEVICE-3",
    "A device carries its current in hot air",
    "k_r x Ib <= In x f_T",
    Source("derating of the device's sheet", how_known="read"),
    "code",
)


def rating_of(plan: Plan, device: Device) -> tuple[float, Input]:
    """Rated current of a device."""
    value = wanted(device.kind.rating, f"{device.kind.path}.rating")
    return value, given("In", f"rating of {device.name}", value, "current", plan.bank.key(f"{device.kind.path}.rating"))


def worst_current(plan: Plan, device: Device) -> Traced:
    """Design current of a device: the largest of the conductors it opens."""
    if device.on == device.name:  # a link that is open is a fault of its own, which the module's trip meets
        return plan.inside_tolerances(device.name, plan.worst(device.name, (*plan.bases, *plan.aways)))
    return max((plan.design_current(link) for link in (device.on, *device.also_on)), key=lambda found: found.value)


@check(_ONE.code, _ONE.title)
def device_carries_the_design_current(plan: Plan) -> Iterator[Finding]:
    """A device is rated for the continuous current: In >= Ib and, unless marked for 100 %, In >= 1.25 Ib.

    Case: continuous set; current from P/(eta V) at the lowest input voltage that still gives rated power; Ib is the
    99 % quantile inside the tolerances that the file gives, the worst corner is told. The breaker
    inside a module is held against the module's current, with any other module away.
    Why: a device near its rating for hours opens in the end, and its terminals age.
    Not seen here: hot air (P-DEVICE-3), the conductor (P-DEVICE-2). IEC 60364 asks Ib <= In, without the 1.25.
    Source: NEC 706.30, 210.20(A) [read]; IEC 60364-4-43 433.1.
    """

    yield from _ONE.over(lines.in_line(plan), lambda device: _device_carries_the_design_current_at(plan, device))
    own = (breaker_of(module) for module in plan.bank.modules)
    yield from _ONE.over(
        (device for device in own if device is not None),
        lambda device: _device_carries_the_design_current_at(plan, device),
    )


def _device_carries_the_design_current_at(plan: Plan, device: Device) -> Finding:
    design = worst_current(plan, device)
    factor = 1.0 if device.kind.full_rated else plan.book.factors.continuous_device
    rating, rated = rating_of(plan, device)
    need = design.scaled(factor)
    text = say(
        "{device} needs a rating of {need} ({factor} x {current}{spread}); it has {rating}",
        device=device.name,
        need=amperes(need.value),
        factor=f"{factor:g}",
        current=amperes(design.value),
        spread=told(design),
        rating=amperes(rating),
    )
    inputs = (computed("Ib", f"design current of {device.on}", design), rated, *design.inputs)
    do = say("Take a device of the next standard rating; its conductor must allow it (P-DEVICE-2).")
    return _ONE.found(
        device.name,
        need.figure,
        (None, rating),
        text,
        do,
        inputs=inputs,
        case=design.case,
        missing=design.missing,
        source=plan.book.source("continuous"),
    )


@check(_TWO.code, _TWO.title)
def device_guards_its_conductor(plan: Plan) -> Iterator[Finding]:
    """A conductor's device is no larger than the conductor may carry: In <= Iz;
    to 800 A the next standard size is a caution.

    IEC: In <= Iz and I2 <= 1.45 Iz, I2 = 1.45 In (breaker), 1.3 In (IEC 60947-2), 1.6 In (gG of 16 A and more).
    NEC, 14, 12 and 10 AWG copper: 15, 20 and 30 A, whatever their column says.
    A link of a chain, which no single device guards: the main device that the current leaving on that side must pass,
    or one module's breaker, whichever is larger (practice). Conductors in parallel: the sum of their ampacities.
    Why: a larger device lets the insulation overheat before it opens.
    Not seen here: short circuits (P-CLEAR-1). A conductor behind several devices in parallel: their sum counts.
    Source: NEC 240.4(B), (D), 240.6 [read]; IEC 60364-4-43 433.1 [read, as BS 7671 433.1.1].
    """

    links = (link for link in plan.bank.links if not link.straight)
    yield from _TWO.over(links, lambda link: _device_guards_its_conductor_at(plan, link))


def _device_guards_its_conductor_at(plan: Plan, link: Link) -> Finding | None:
    guards = lines.guards_of(plan, link)
    if not guards and link.role == "link":
        guards = _of_a_chain(plan)
    if not guards:
        return None  # nothing guards it: P-REACH-1 says so
    rated = tuple(rating_of(plan, device) for device in guards)
    total = sum(value for value, _ in rated)
    allowed = _allowed(plan, link, guards, total)
    inputs = (
        *(item for _, item in rated),
        Input("Iz", f"ampacity of {link.name}", amperes(allowed.value), allowed.inputs[0].origin),
        *allowed.inputs,
    )
    part_range = next((g.name for g in guards if lines.is_part_range(g)), None)
    if part_range is not None:
        return _part_range(link, part_range, total, inputs)
    return _guarded(plan, link, guards, total, allowed, inputs=inputs)


def _allowed(plan: Plan, link: Link, guards: tuple[Device, ...], total: float) -> Ampacity:
    """What the conductor may carry, or the set of conductors that the devices guard together."""
    members = plan.set_of(link)
    if len(members) > 1 and any(device.on == link.name for device in guards):
        members = (link,)
    each = carried(plan, link, total / len(members), total)
    whole = sum(carried(plan, m, total / len(members), total).value for m in members)
    return each if len(members) == 1 else replace(each, value=whole)


def _part_range(link: Link, device: str, total: float, inputs: tuple[Input, ...]) -> Finding:
    words = "{device} is a part-range fuse (class a): it does not guard {link} against overload"
    text, do = say(words, device=device, link=link.name), say("Take a full-range fuse or a breaker.")
    return _TWO.found(link.name, amperes(total), (None, None), text, do, inputs=inputs, forced="fail")


def _guarded(
    plan: Plan, link: Link, guards: tuple[Device, ...], total: float, allowed: Ampacity, *, inputs: tuple[Input, ...]
) -> Finding:
    limit, steps, means = _limits(plan, guards, allowed.value)
    if not link.is_cable:  # the next standard size is for conductors of the tables
        limit, steps, means = min(limit, allowed.value), None, "a device may have"
    small = _small(plan, link)
    if small is not None and small < limit:
        limit, steps, means = small, None, "a device may have (240.4(D))"
    text = say(
        "{link} is guarded by {devices}, {rating}; it may carry {carried}, so " + means + " {limit}",
        link=link.name,
        devices=" + ".join(device.name for device in guards),
        rating=amperes(total),
        carried=amperes(allowed.value),
        limit=amperes(limit),
    )
    return _TWO.found(
        link.name,
        amperes(total),
        (None, limit),
        text,
        say("Take a device of {limit} or less, or a larger cable on {link}.", limit=amperes(limit), link=link.name),
        inputs=inputs,
        missing=allowed.missing,
        caution_limits=steps,
        source=plan.book.source("device_conductor"),
    )


def _of_a_chain(plan: Plan) -> tuple[Device, ...]:
    """What bounds the current of a chain's link: the largest main device in either pole, or one module's breaker."""
    mains = [d for d in lines.in_line(plan, ("fuse", "breaker")) if plan.bank.link(d.on).role == "main"]
    own = [device for module in plan.bank.modules if (device := breaker_of(module)) is not None]
    if not own:
        return ()
    known = [device for device in (*mains, *own) if device.kind.rating is not None]
    if not known:
        raise NeedsValue(asking(f"{own[0].kind.path}.rating"))
    return (max(known, key=lambda device: device.kind.rating or 0.0),)


def _small(plan: Plan, link: Link) -> float | None:
    """Largest device of a small copper conductor by 240.4(D), in the NEC book; None for any other."""
    if plan.bank.book != "nec-2023" or link.cable is None:
        return None
    table = load("nec-2023/240.4-d")
    rows = {str(row["size"]): table.value(row, "device") for row in table.rows}
    return rows.get(link.cable.size)


def _limits(
    plan: Plan, guards: tuple[Device, ...], ampacity: float
) -> tuple[float, tuple[float | None, float | None] | None, str]:
    """The limit of the rating, where it cautions, and how to say it."""
    overload = plan.book.overload
    if overload is not None:
        factor = max(_tripping(plan, device) for device in guards)
        return min(ampacity, float(tripping_limit(ampacity, overload.conductor, factor))), None, "a device may have"
    most = plan.book.ratings.next_size_up_to
    _, above = ratings_around(plan.book, ampacity, fuse=all(device.kind.type == "fuse" for device in guards))
    if most is None or above is None or len(guards) > 1 or above > most or above == ampacity:
        return ampacity, None, "a device may have"
    return above, (None, ampacity), "a device may have (next standard size, 240.4(B))"


def _tripping(plan: Plan, device: Device) -> float:
    overload = plan.book.overload
    assert overload is not None
    name = (device.kind.device_class or "").lower()
    if device.kind.type == "breaker":
        return overload.breaker_industrial if "60947-2" in name else overload.breaker
    if device.kind.device_class is None:
        raise NeedsValue(asking(f"{device.kind.path}.class"))
    return overload.fuse_from_16 if (device.kind.rating or 16.0) >= 16.0 else overload.fuse_below_16


@check(_THREE.code, _THREE.title)
def device_carries_in_hot_air(plan: Plan) -> Iterator[Finding]:
    """In hot air the device still carries the heating current: In x f_T >= k_r Ib.

    Case: hottest air at the device (room, plus the rack's rise inside it).
    Why: fuses and breakers are set at a mild temperature, and in a hot rack open at less.
    Not seen here: interrupting, which heat hardly lowers. A larger device then breaks P-DEVICE-2.
    Source: the device's own curve; without it 0.5 % a kelvin above 25 degC for fuses (practice),
    breakers set at 40 degC.
    """

    yield from _THREE.over(
        lines.in_line(plan, ("fuse", "breaker")), lambda device: _device_carries_in_hot_air_at(plan, device)
    )


def _device_carries_in_hot_air_at(plan: Plan, device: Device) -> Finding:
    link = plan.bank.link(device.on)
    design, factor, air = worst_current(plan, device), heating_factor(plan, link), hottest_air(plan, link)
    rating, rated = rating_of(plan, device)
    heating = design.scaled(factor.value)
    allowed = derating(plan, device, air.value, heating.value / rating)
    text = say(
        "In air of {air} {device} carries {limit} of its {rating}; it is heated as by {heating}{spread}",
        air=air.figure,
        device=device.name,
        limit=amperes(rating * allowed.value),
        rating=amperes(rating),
        heating=amperes(heating.value),
        spread=told(design, factor.value),
    )
    inputs = (
        computed("Ib", f"design current of {device.on}", design),
        *factor.inputs,
        rated,
        *allowed.inputs,
        *air.inputs,
        *design.inputs,
    )
    missing: tuple[Missing, ...] = (*design.missing, *air.missing, *allowed.missing)
    do = say("Put {device} where it is cooler, or take a larger one with a larger cable.", device=device.name)
    figure = Figure(heating.value, "current", heating.figure.low, heating.figure.high)
    return _THREE.found(
        device.name,
        figure,
        (None, rating * allowed.value),
        text,
        do,
        inputs=inputs,
        case=design.case,
        missing=missing,
    )


CHECKS = (device_carries_the_design_current, device_guards_its_conductor, device_carries_in_hot_air)
