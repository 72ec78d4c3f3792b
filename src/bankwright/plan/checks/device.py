"""Devices against current: design current, conductor, hot air.

Gives: CHECKS (P-DEVICE-1 to P-DEVICE-3). Limits: voltage, poles and direction are in checks/device_volts; faults in
checks/fault and checks/clearing.
"""

from __future__ import annotations

from collections.abc import Iterator

import bankwright.plan.lines as lines
from bankwright.bank.model import Device, Link
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.handbook.ampacity import ratings_around
from bankwright.physics.ampacity import tripping_limit
from bankwright.plan.air import hottest_air
from bankwright.plan.asks import asking, wanted
from bankwright.plan.carried import carried
from bankwright.plan.checks.frame import Card
from bankwright.plan.context import Plan
from bankwright.plan.derating import derating
from bankwright.plan.ripple import heating_factor
from bankwright.plan.trace import Traced, amperes, computed, given

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
    return max((plan.design_current(link) for link in (device.on, *device.also_on)), key=lambda found: found.value)


@check(_ONE.code, _ONE.title)
def device_carries_the_design_current(plan: Plan) -> Iterator[Finding]:
    """A device is rated for the continuous current: In >= Ib and, unless marked for 100 %, In >= 1.25 Ib.

    Case: continuous set; current from P/(eta V) at the lowest input voltage that still gives rated power.
    Why: a device near its rating for hours opens in the end, and its terminals age.
    Not seen here: hot air (P-DEVICE-3), the conductor (P-DEVICE-2). IEC 60364 asks Ib <= In, without the 1.25.
    Source: NEC 706.30, 210.20(A) [read]; IEC 60364-4-43 433.1.
    """

    def one(device: Device) -> Finding:
        design = worst_current(plan, device)
        factor = 1.0 if device.kind.full_rated else plan.book.factors.continuous_device
        rating, rated = rating_of(plan, device)
        need = design.scaled(factor)
        text = say(
            "{device} needs a rating of {need} ({factor} x {current}); it has {rating}",
            device=device.name,
            need=amperes(need.value),
            factor=f"{factor:g}",
            current=amperes(design.value),
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
            inputs,
            design.case,
            design.missing,
            source=plan.book.source("continuous"),
        )

    yield from _ONE.over(lines.in_line(plan), one)


@check(_TWO.code, _TWO.title)
def device_guards_its_conductor(plan: Plan) -> Iterator[Finding]:
    """A conductor's device is no larger than the conductor may carry: In <= Iz; to 800 A the next standard size is
    a caution.

    IEC: In <= Iz and I2 <= 1.45 Iz, I2 = 1.45 In (breaker), 1.3 In (IEC 60947-2), 1.6 In (gG of 16 A and more).
    Why: a larger device lets the insulation overheat before it opens.
    Not seen here: short circuits (P-CABLE-4). A conductor behind several devices in parallel: their sum counts.
    Source: NEC 240.4(B), 240.6 [read]; IEC 60364-4-43 433.1 [read, as BS 7671 433.1.1].
    """

    def one(link: Link) -> Finding | None:
        guards = lines.guards_of(plan, link)
        if not guards:
            return None  # nothing guards it: P-FAULT-3 says so
        rated = tuple(rating_of(plan, device) for device in guards)
        total = sum(value for value, _ in rated)
        part_range = next((g.name for g in guards if lines.is_part_range(g)), None)
        allowed = carried(plan, link, total, total)
        names = " + ".join(device.name for device in guards)
        limit, steps, means = _limits(plan, guards, allowed.value)
        text = say(
            "{link} is guarded by {devices}, {rating}; it may carry {carried}, so " + means + " {limit}",
            link=link.name,
            devices=names,
            rating=amperes(total),
            carried=amperes(allowed.value),
            limit=amperes(limit),
        )
        inputs = (
            *(item for _, item in rated),
            Input("Iz", f"ampacity of {link.name}", amperes(allowed.value), allowed.inputs[0].origin),
            *allowed.inputs,
        )
        missing = allowed.missing
        if part_range is not None:
            text = say(
                "{device} is a part-range fuse (class a): it does not guard {link} against overload",
                device=part_range,
                link=link.name,
            )
            return _TWO.found(
                link.name,
                amperes(total),
                (None, None),
                text,
                say("Take a full-range fuse or a breaker."),
                inputs,
                forced="fail",
            )
        do = say("Take a device of {limit} or less, or a larger cable on {link}.", limit=amperes(limit), link=link.name)
        return _TWO.found(
            link.name,
            amperes(total),
            (None, limit),
            text,
            do,
            inputs,
            None,
            missing,
            steps,
            source=plan.book.source("device_conductor"),
        )

    yield from _TWO.over(plan.bank.links, one)


def _limits(
    plan: Plan, guards: tuple[Device, ...], ampacity: float
) -> tuple[float, tuple[float | None, float | None] | None, str]:
    """The limit of the rating, where it cautions, and how to say it."""
    overload = plan.book.overload
    if overload is not None:
        factor = max(_tripping(plan, device) for device in guards)
        return min(ampacity, float(tripping_limit(ampacity, overload.conductor, factor))), None, "a device may have"
    most = plan.book.ratings.next_size_up_to
    _, above = ratings_around(plan.book, ampacity)
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
    Source: the device's own curve; without it 0.5 % a kelvin above 25 degC for fuses (practice), breakers set at 40
    degC.
    """

    def one(device: Device) -> Finding:
        link = plan.bank.link(device.on)
        design, factor, air = worst_current(plan, device), heating_factor(plan, link), hottest_air(plan, link)
        rating, rated = rating_of(plan, device)
        heating = design.scaled(factor.value)
        allowed = derating(plan, device, air.value, heating.value / rating)
        text = say(
            "In air of {air} {device} carries {limit} of its {rating}; it is heated as by {heating}",
            air=air.figure,
            device=device.name,
            limit=amperes(rating * allowed.value),
            rating=amperes(rating),
            heating=amperes(heating.value),
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
        return _THREE.found(device.name, figure, (None, rating * allowed.value), text, do, inputs, design.case, missing)

    yield from _THREE.over(lines.in_line(plan, ("fuse", "breaker")), one)


CHECKS = (device_carries_the_design_current, device_guards_its_conductor, device_carries_in_hot_air)
