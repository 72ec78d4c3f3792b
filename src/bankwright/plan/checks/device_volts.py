"""Devices against voltage and direction.

Gives: CHECKS (P-DEVICE-4, P-DEVICE-5). Limits: currents are in checks/device, faults in checks/fault.
"""

from __future__ import annotations

from collections.abc import Iterator

import bankwright.plan.lines as lines
from bankwright.bank.model import Charger, Device
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Computed, Source
from bankwright.forms.wording import say
from bankwright.plan.asks import asking, wanted
from bankwright.plan.checks.frame import Card
from bankwright.plan.context import Plan
from bankwright.plan.trace import given, volts, words
from bankwright.plan.voltages import highest_voltage

__all__ = ["CHECKS"]

_ONE = Card(
    "P-DEVICE-4",
    "A device is rated for the highest voltage",
    "V_max <= U_dc for the poles used",
    Source("rule book", how_known="read"),
    "code",
)
_TWO = Card(
    "P-DEVICE-5",
    "A polarised device sees one direction of current",
    "sign of I is the same in all cases, faults included",
    Source("polarity marking under IEC 60947-2, read only on makers' pages; clause not found", how_known="from memory"),
    "code",
)


def _all_devices(plan: Plan) -> tuple[Device, ...]:
    """Devices in the wiring, and one a kind of module for the device inside it."""
    inside = {}
    for module in plan.bank.modules:
        if module.kind.breaker is not None:
            inside[module.kind.path] = Device(
                module.name, module.kind.breaker, module.name, 0.0, module.origin, poles_used=module.kind.breaker.poles
            )
    return (*lines.in_line(plan), *inside.values())


@check(_ONE.code, _ONE.title)
def device_stands_the_voltage(plan: Plan) -> Iterator[Finding]:
    """The DC voltage rating, for the poles used, is at least the highest bus voltage: U_dc >= V_max.

    Case: V_max is the largest of cells x over-voltage trip, every charger's ceiling, the module's stated maximum.
    Why: above its voltage a device cannot put out the arc, whatever its current rating.
    Not seen here: AC volts, which count for nothing; a device rated with two poles in series and used with one fails.
    Source: NEC 706.31 [read]; IEC 60269-7 clause 3.4 [read].
    """

    def one(device: Device) -> Finding:
        kind, key = device.kind, f"{device.kind.path}.volts"
        highest = highest_voltage(plan)
        rating = wanted(None if kind.ac_rating_only else kind.volts, key)
        if (kind.poles or 1) > 1 and device.poles_used is None:
            raise NeedsValue(asking(f"{device.origin.path}.poles_used"))
        source = plan.book.source("direct_voltage")
        rated = given("U_dc", f"DC voltage rating of {device.name}", rating, "voltage", plan.bank.key(key))
        do = say("Take a device with a DC rating above the highest voltage, for the poles that are used.")
        if kind.poles is not None and device.poles_used is not None and device.poles_used < kind.poles:
            text = say(
                "{device} is rated {rating} with {poles} poles in series; {used} is used",
                device=device.name,
                rating=volts(rating),
                poles=str(kind.poles),
                used=str(device.poles_used),
            )
            return _ONE.found(
                device.name,
                highest.figure,
                (None, None),
                text,
                do,
                (*highest.inputs, rated),
                highest.case,
                forced="fail",
                source=source,
            )
        text = say(
            "The bus may reach {voltage}; {device} is rated {rating} on DC",
            voltage=highest.figure,
            device=device.name,
            rating=volts(rating),
        )
        return _ONE.found(
            device.name,
            highest.figure,
            (None, rating),
            text,
            do,
            (*highest.inputs, rated),
            highest.case,
            highest.missing,
            source=source,
        )

    yield from _ONE.over(_all_devices(plan), one)


@check(_TWO.code, _TWO.title)
def polarised_device_sees_one_direction(plan: Plan) -> Iterator[Finding]:
    """A polarised DC device lies only where current keeps its sign, in operation and in faults.

    Case: all continuous cases and all shorts. In a one-way edge (the leads of a charger that is one-way, of an
    inverter that does not charge) with the marking right: caution, its fault current runs back.
    Why: the magnets that blow the arc into its chamber blow it out of the other side when the current is turned
    round.
    Not seen here: the mirrored second pole; drawings that show discharge alone.
    Source: polarity marking under IEC 60947-2, read only on makers' pages.
    """

    def one(device: Device) -> Finding | None:
        kind = device.kind
        if kind.polarised is None and kind.type == "fuse":
            return None
        key = f"{kind.path}.polarised"
        polarised = wanted(kind.polarised, key)
        inputs = (words("polarised", f"{device.name}", "yes" if polarised else "no", plan.bank.key(key)),)
        if not polarised:
            text = say("{device} is not polarised", device=device.name)
            return _TWO.found(device.name, None, (None, None), text, say("Nothing to do."), inputs)
        return _polarised(plan, device, inputs)

    yield from _TWO.over(_breaking(plan), one)


def _breaking(plan: Plan) -> tuple[Device, ...]:
    return tuple(device for device in _all_devices(plan) if device.kind.type in ("breaker", "disconnect", "fuse"))


def _polarised(plan: Plan, device: Device, inputs) -> Finding:  # type: ignore[no-untyped-def]
    edge = device.on if device.name != device.on else device.name
    out, back = plan.worst(edge, way="out"), plan.worst(edge, way="in")
    do = say("Take a device that is not polarised, or a fuse and a switch.")
    origin = Computed(
        f"solved network: {out.value:.0f} A one way ({out.case}), {back.value:.0f} A the other ({back.case})"
    )
    inputs = (*inputs, words("I", f"current of {edge}", f"{out.value:.0f} A and {back.value:.0f} A", origin))
    if min(out.value, back.value) > 1e-3 * max(out.value, back.value):
        text = say(
            "{device} is polarised, and current flows both ways through {edge}: {out} and {back}",
            device=device.name,
            edge=edge,
            out=out.figure,
            back=back.figure,
        )
        return _TWO.found(device.name, None, (None, None), text, do, inputs, out.case, forced="fail")
    charger = _charger_of(plan, edge)
    if charger is not None:
        key = f"{charger.kind.path}.one_way"
        one_way = wanted(charger.kind.one_way, key)
        inputs = (*inputs, words("one-way", charger.name, "yes" if one_way else "no", plan.bank.key(key)))
        if not one_way:
            text = say(
                "{device} is polarised, and {charger} passes current both ways through {edge}",
                device=device.name,
                charger=charger.name,
                edge=edge,
            )
            return _TWO.found(device.name, None, (None, None), text, do, inputs, out.case, forced="fail")
    if device.reversed is None:
        raise NeedsValue(asking(f"{device.origin.path}.reversed"))
    if device.reversed:
        text = say("{device} is polarised and sits the wrong way round in {edge}", device=device.name, edge=edge)
        return _TWO.found(device.name, None, (None, None), text, do, inputs, out.case, forced="fail")
    text = say(
        "{device} is polarised; {edge} is one-way in operation, but its fault current runs backward",
        device=device.name,
        edge=edge,
    )
    return _TWO.found(device.name, None, (None, None), text, do, inputs, out.case, forced="caution")


def _charger_of(plan: Plan, edge: str) -> Charger | None:
    """The charger of its own whose leads this edge is."""
    for charger in plan.bank.chargers:
        links = [link.name for post in charger.posts for link in plan.links_at(post)]
        if charger.of is None and plan.place(edge) in {plan.place(name) for name in links}:
            return charger
    return None


CHECKS = (device_stands_the_voltage, polarised_device_sees_one_direction)
