"""Devices against voltage and direction.

Gives: CHECKS (P-DEVICE-4, P-DEVICE-5). Limits: currents are in checks/device, faults in checks/fault.
"""

from __future__ import annotations

from collections.abc import Iterator

import bankwright.plan.walks.lines as lines
from bankwright.bank.asks import asking, wanted
from bankwright.bank.model import Charger, Device
from bankwright.forms.card import Card, Forced
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Source
from bankwright.forms.trace import Traced, computed, volts, words
from bankwright.forms.wording import (
    Say,
    say,
)
from bankwright.plan.context import Plan
from bankwright.plan.figures.rating import breaker_of, rated, told
from bankwright.plan.figures.voltages import highest_voltage

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
    inside: dict[str, Device | None] = {}
    for module in plan.bank.modules:
        if module.kind.breaker is not None:
            inside.setdefault(module.kind.path, breaker_of(module))
    return (*lines.in_line(plan), *(device for device in inside.values() if device is not None))


@check(_ONE.code, _ONE.title)
def device_stands_the_voltage(plan: Plan) -> Iterator[Finding]:
    """The DC voltage rating, for the poles used, is at least the highest bus voltage: U_dc >= V_max.

    Case: V_max is the largest of cells x over-voltage trip, every charger's ceiling, the module's stated maximum.
    Why: above its voltage a device cannot put out the arc, whatever its current rating.
    Not seen here: AC volts, which count for nothing; a device rated with two poles in series and used with one fails.
    Source: NEC 706.31 [read]; IEC 60269-7 clause 3.4 [read].
    """

    yield from _ONE.over(_all_devices(plan), lambda device: _device_stands_the_voltage_at(plan, device))


def _device_stands_the_voltage_at(plan: Plan, device: Device) -> Finding:
    kind, highest = device.kind, highest_voltage(plan)
    worth = rated(plan, device, "volts")
    rating, rated_as = worth.value, worth.origin
    fewer = kind.poles is not None and device.poles_used is not None and device.poles_used < kind.poles
    if fewer:
        text = say(
            "{device} is rated {rating} with {poles} poles in series; {used} is used",
            device=device.name,
            rating=volts(rating),
            poles=str(kind.poles),
            used=str(device.poles_used),
        )
    else:
        text = say(
            "The bus may reach {voltage}; {device} is rated {rating} on DC",
            voltage=highest.figure,
            device=device.name,
            rating=told(worth),
        )
    return _ONE.found(
        device.name,
        highest.figure,
        (None, None) if worth.not_dc or fewer else (None, rating),
        text,
        say("Take a device with a DC rating above the highest voltage, for the poles that are used."),
        inputs=(*highest.inputs, rated_as),
        case=highest.case,
        missing=() if fewer else (*highest.missing, *worth.missing),
        forced="fail" if worth.not_dc or fewer else None,
        source=plan.book.source("direct_voltage"),
    )


@check(_TWO.code, _TWO.title)
def polarised_device_sees_one_direction(plan: Plan) -> Iterator[Finding]:
    """A polarised DC device lies only where current keeps its sign, in operation and in faults.

    Case: all continuous cases; for what opens by itself all shorts too, those that other modules and chargers feed back
    included. A switch whose marks fit the current of operation, where a fault runs backward: caution.
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
            return _TWO.found(device.name, None, (None, None), text, say("Nothing to do."), inputs=inputs)
        return _polarised(plan, device, inputs)

    yield from _TWO.over(_breaking(plan), one)


def _breaking(plan: Plan) -> tuple[Device, ...]:
    return tuple(device for device in _all_devices(plan) if device.kind.type in ("breaker", "disconnect", "fuse"))


def _ways(plan: Plan, device: Device, edge: str) -> tuple[Traced, Traced, Traced, Traced]:
    """Currents along the edge and against it: of operation, and of shorts."""
    operation = plan.worst(edge, way="out"), plan.worst(edge, way="in")
    if device.name == device.on:  # inside a module: a short behind it is fed by the others
        return (*operation, plan.faults.own(edge), plan.faults.inside(edge))
    return (*operation, plan.faults.most(device.name, "forward"), plan.faults.most(device.name, "backward"))


def _polarised(plan: Plan, device: Device, inputs: tuple[Input, ...]) -> Finding:
    edge = device.on if device.name != device.on else device.name
    out, back, fault_out, fault_back = _ways(plan, device, edge)
    inputs = (
        *inputs,
        computed("I_out", f"current of {edge}, one way", out),
        computed("I_in", f"current of {edge}, the other way", back),
        computed("I_k,out", f"short through {device.name}, one way", fault_out, "shorts"),
        computed("I_k,in", f"short through {device.name}, the other way", fault_back, "shorts"),
    )
    breaks = device.kind.type in ("fuse", "breaker")
    short_out, short_back = _is_fault(fault_out, out), _is_fault(fault_back, back)
    operates_both = min(out.value, back.value) > 1e-3 * max(out.value, back.value)
    if operates_both or (breaks and short_out and short_back):
        ways = (out, back) if operates_both else (fault_out, fault_back)
        return _both_ways(device, edge, "in operation" if operates_both else "in shorts", ways, inputs, case=out.case)
    charger = _charger_of(plan, edge)
    if charger is not None:
        key = f"{charger.kind.path}.one_way"
        one_way = wanted(charger.kind.one_way, key)
        inputs = (*inputs, words("one-way", charger.name, "yes" if one_way else "no", plan.bank.key(key)))
        if not one_way:
            said = "{device} is polarised, and {charger} passes current both ways through {edge}"
            text = say(said, device=device.name, charger=charger.name, edge=edge)
            return _turned(device, text, inputs, out.case)
    outward = out.value >= back.value
    fits = short_out if breaks and short_out != short_back else outward
    against = fits is not outward or (short_back if outward else short_out)
    if device.reversed is None and device.name != device.on:  # inside a module its maker turned it the right way
        larger = (fault_out if outward else fault_back, fault_back if outward else fault_out)
        return _either_way_round(device, edge, fits is outward, (out if outward else back, *larger), inputs)
    return _marked(device, edge, fits, against, inputs)


def _either_way_round(
    device: Device, edge: str, with_it: bool, flows: tuple[Traced, Traced, Traced], inputs: tuple[Input, ...]
) -> Finding:
    """How it is marked is not given: what each way round would mean."""
    current, along, against = flows
    text = say(
        "{device} is polarised, and which way round it sits is not given: in operation {current} passes {edge} one "
        "way, in shorts {along} that way and {against} the other. Its marks have to fit {what}; turned round it fails",
        device=device.name,
        current=current.figure,
        edge=edge,
        along=along.figure,
        against=against.figure,
        what="the operation" if with_it else "the shorts",
    )
    do = say("Read its marks, and give the way round.")
    asked = (asking(f"{device.origin.path}.reversed"),)
    return _TWO.found(device.name, None, (None, None), text, do, inputs=inputs, missing=asked)


def _both_ways(
    device: Device, edge: str, what: str, ways: tuple[Traced, Traced], inputs: tuple[Input, ...], *, case: str | None
) -> Finding:
    text = say(
        "{device} is polarised, and current may flow both ways through {edge}, {what}: {out} and {back}",
        device=device.name,
        edge=edge,
        what=what,
        out=ways[0].figure,
        back=ways[1].figure,
    )
    return _turned(device, text, inputs, case)


def _turned(device: Device, text: Say, inputs: tuple[Input, ...], case: str | None) -> Finding:
    do = say("Take a device that is not polarised, or a fuse and a switch.")
    return _TWO.found(device.name, None, (None, None), text, do, inputs=inputs, case=case, forced="fail")


def _is_fault(short: Traced, current: Traced) -> bool:
    """True where shorts send more than a charger's own current this way."""
    return short.value > max(2.0 * current.value, 1.0)


def _marked(device: Device, edge: str, outward: bool, against: bool, inputs: tuple[Input, ...]) -> Finding:
    """The marks have to fit the shorts it must break, of a switch the current; caution where one runs against."""
    do = say("Turn {device} round, or take one that is not polarised.", device=device.name)
    if device.name != device.on and device.reversed is outward:
        text = say("{device} is polarised and sits the wrong way round in {edge}", device=device.name, edge=edge)
        return _TWO.found(device.name, None, (None, None), text, do, inputs=inputs, forced="fail")
    told = "one-way in operation, but a short runs the other way" if against else "one-way"
    text = say("{device} is polarised; {edge} is {told}", device=device.name, edge=edge, told=told)
    forced: Forced | None = "caution" if against else None
    return _TWO.found(device.name, None, (None, None), text, do, inputs=inputs, forced=forced)


def _charger_of(plan: Plan, edge: str) -> Charger | None:
    """The charger of its own whose leads this edge is."""
    for charger in plan.bank.chargers:
        links = [link.name for post in charger.posts for link in plan.links_at(post)]
        if charger.of is None and plan.place(edge) in {plan.place(name) for name in links}:
            return charger
    return None


CHECKS = (device_stands_the_voltage, polarised_device_sees_one_direction)
