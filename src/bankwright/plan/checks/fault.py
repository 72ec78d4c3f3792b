"""Fault currents against what devices can interrupt.

Gives: CHECKS (P-FAULT-1, P-FAULT-2). Limits: a battery management system is no interrupter and is never credited; the
inverters' capacitors add a spike of some milliseconds that is not in these figures.
"""

from __future__ import annotations

from collections.abc import Iterator

import bankwright.plan.lines as lines
from bankwright.bank.model import Device, Module
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Source
from bankwright.forms.wording import say
from bankwright.handbook.tables import load
from bankwright.plan.asks import asking, wanted
from bankwright.plan.checks.frame import Card
from bankwright.plan.context import Plan
from bankwright.plan.trace import Traced, amperes, computed, given

__all__ = ["CHECKS", "interrupts"]

LAWS = Source("I = Voc / (R_modules + R_feeder), circuit laws", how_known="stated law")
_ONE = Card("P-FAULT-1", "A device can interrupt the largest fault", "I_k,max < Icn", LAWS)
_TWO = Card("P-FAULT-2", "A module's own device can interrupt what the others feed back", "I_k,others < Icn", LAWS)


def interrupts(plan: Plan, device: Device) -> tuple[float, Input]:
    """DC interrupting rating for the poles used, no more than the end of the part of the standard it is built to."""
    kind, key = device.kind, f"{device.kind.path}.interrupts"
    if kind.ac_rating_only:
        raise NeedsValue(asking(key))
    value = wanted(kind.interrupts, key)
    if (kind.poles or 1) > 1 and device.poles_used is None:
        raise NeedsValue(asking(f"{device.origin.path}.poles_used"))
    if kind.poles is not None and device.poles_used is not None and device.poles_used < kind.poles:
        raise NeedsValue(
            asking(key, f"The rating holds for {kind.poles} poles in series; {device.poles_used} is used.")
        )
    for row in load("breakers/dc-ends").rows:
        part, end = str(row["part"]).lower().removeprefix("iec "), load("breakers/dc-ends").value(row, "interrupting")
        if kind.type == "breaker" and end is not None and part in (kind.device_class or "").lower() and value > end:
            name = f"{device.name}: {row['part']} ends at {end / 1e3:g} kA, whatever the label"
            return end, Input("Icn", name, amperes(end), load("breakers/dc-ends").source)
    return value, given("Icn", f"DC interrupting rating of {device.name}", value, "current", plan.bank.key(key))


@check(_ONE.code, _ONE.title)
def device_interrupts_the_fault(plan: Plan) -> Iterator[Finding]:
    """The DC interrupting rating of a device is above the largest current a bolted short can send through it: Icn >
    I_k,max.

    Case: bolted shorts at every place, both directions; charging voltage, ohmic resistance at its low end and the
    hottest cells, cold conductors, all modules and the planned extension, and the chargers' limit; what is available
    at the device's terminals, so that its own resistance does not count.
    Why: a device that cannot break the arc bursts or burns, and the fault goes on.
    Not seen here: AC ratings, which prove nothing on DC. A resistance 30 s into a step hides most of the current.
    Source: I = Voc/(R_module/N + R_feeder) (stated law); NEC 110.9 [read]; IEC 60364-4-43 434.5.1.
    """

    def one(device: Device) -> Finding:
        fault = plan.faults.prospective(device.name)
        return _judged(plan, device, fault)

    yield from _ONE.over(lines.in_line(plan, ("fuse", "breaker")), one)


def _judged(plan: Plan, device: Device, fault: Traced) -> Finding:
    inputs = (computed("I_k,max", f"largest fault through {device.name}", fault, "shorts"), *fault.inputs)
    source = plan.book.source("interrupting")
    do = say(
        "Take a device with a DC interrupting rating well above {fault}, or fewer modules on one bus.",
        fault=amperes(fault.high),
    )
    try:
        rating, rated = interrupts(plan, device)
    except NeedsValue as error:
        text = say(
            "A short can send {fault} through {device}; its DC interrupting rating is not known",
            fault=fault.figure,
            device=device.name,
        )
        return _ONE.found(
            device.name,
            fault.figure,
            (None, None),
            text,
            do,
            inputs,
            fault.case,
            (*fault.missing, *error.missing),
            source=source,
        )
    text = say(
        "A short can send {fault} through {device}; it interrupts {rating}",
        fault=fault.figure,
        device=device.name,
        rating=amperes(rating),
    )
    return _ONE.found(
        device.name, fault.figure, (None, rating), text, do, (*inputs, rated), fault.case, fault.missing, source=source
    )


@check(_TWO.code, _TWO.title)
def module_interrupts_backfeed(plan: Plan) -> Iterator[Finding]:
    """A short inside a module is fed by all the others through its own device: Icn of that device, or of a proved
    back-up, is above it.

    Case: short behind the module's own device, the other N-1 modules and the extension; ends as P-FAULT-1.
    Why: nearly every bank of four or more exceeds a breaker of 6 to 10 kA; the cure is a branch fuse, not a larger
    main.
    Not seen here: shorts at the posts (P-FAULT-1). Run again when the bank grows.
    Source: (N-1)/N of the bank's fault current (stated law); NEC 110.9 [read].
    """

    def one(module: Module) -> Finding:
        fault = plan.faults.inside(module.name)
        kind = module.kind
        inputs = (
            computed(
                "I_k,others", f"current of the other modules into {module.name}", fault, "short behind its own device"
            ),
            *fault.inputs,
        )
        do = say(
            "Put a fuse in each module's lead, proved to back up the module's own device, that interrupts {fault}.",
            fault=amperes(fault.high),
        )
        backing = backed(plan, module)
        source = plan.book.source("interrupting")
        if backing is not None:
            rating, rated = interrupts(plan, backing)
            text = say(
                "The others send {fault} into a short inside {module}; {device}, proved to back it up, "
                "interrupts {rating}",
                fault=fault.figure,
                module=module.name,
                device=backing.name,
                rating=amperes(rating),
            )
        elif kind.breaker is None or kind.breaker.interrupts is None:
            text = say(
                "The others send {fault} into a short inside {module}; what its own device interrupts is not known",
                fault=fault.figure,
                module=module.name,
            )
            missing = asking(f"{kind.path}.breaker" if kind.breaker is None else f"{kind.path}.breaker.interrupts")
            return _TWO.found(
                module.name,
                fault.figure,
                (None, None),
                text,
                do,
                inputs,
                fault.case,
                (*fault.missing, missing),
                source=source,
            )
        else:
            rating = kind.breaker.interrupts
            rated = given(
                "Icn",
                f"interrupting rating of the device in {kind.name}",
                rating,
                "current",
                plan.bank.key(f"{kind.path}.breaker.interrupts"),
            )
            text = say(
                "The others send {fault} into a short inside {module}; its own device interrupts {rating}",
                fault=fault.figure,
                module=module.name,
                rating=amperes(rating),
            )
        return _TWO.found(
            module.name,
            fault.figure,
            (None, rating),
            text,
            do,
            (*inputs, rated),
            fault.case,
            fault.missing,
            source=source,
        )

    if len(plan.bank.modules) + plan.bank.site.extension > 1:
        yield from _TWO.over(plan.bank.modules, one)


def backed(plan: Plan, module: Module) -> Device | None:
    """The fuse in series with a module that its sheet names as proved back-up; it must lie in every link of one
    pole."""
    wanted_kind = module.kind.breaker_backed_by
    if wanted_kind is None:
        return None
    for pole in "+-":
        links = [
            link
            for post in module.posts
            if post.removeprefix(module.name).startswith(pole)
            for link in plan.links_at(post)
        ]
        found = [
            next((d for d in plan.bank.devices_on(link.name) if d.kind.name == wanted_kind), None) for link in links
        ]
        if found and all(device is not None for device in found):
            return found[0]
    return None


CHECKS = (device_interrupts_the_fault, module_interrupts_backfeed)
