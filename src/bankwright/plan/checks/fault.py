"""Fault currents against what devices can interrupt.

Gives: CHECKS (P-FAULT-1, P-FAULT-2). Limits: a battery management system is no interrupter and is never credited; the
inverters' capacitors add a spike of some milliseconds that is not in these figures.
"""

from __future__ import annotations

from collections.abc import Iterator

import bankwright.plan.walks.lines as lines
from bankwright.bank.asks import wanted
from bankwright.bank.model import Device, Module
from bankwright.forms.card import Card
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import (
    Finding,
    Input,
    Missing,
)
from bankwright.forms.origin import Source
from bankwright.forms.trace import Traced, amperes, computed
from bankwright.forms.wording import (
    Say,
    say,
)
from bankwright.plan.context import Plan
from bankwright.plan.figures.rating import (
    Worth,
    breaker_of,
    rated,
    told,
)
from bankwright.plan.zones.breakers import backing_fuse

__all__ = ["CHECKS"]

LAWS = Source("I = Voc / (R_modules + R_feeder), circuit laws", how_known="stated law")
_ONE = Card("P-FAULT-1", "A device can interrupt the largest fault", "I_k,max < Icn", LAWS)
_TWO = Card("P-FAULT-2", "A module's own device can interrupt what the others feed back", "I_k,others < Icn", LAWS)


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
        worth = rated(plan, device, "interrupts")
    except NeedsValue as error:
        words, missing = (
            "A short can send {fault} through {device}; its DC interrupting rating is not known",
            error.missing,
        )
        text = say(words, fault=fault.figure, device=device.name)
        return _rating_missing(_ONE, device.name, fault, text, do, inputs=inputs, missing=missing, source=source)
    text = say(
        "A short can send {fault} through {device}; on DC it interrupts {rating}",
        fault=fault.figure,
        device=device.name,
        rating=told(worth),
    )
    return _against(_ONE, device.name, fault, worth, text, do=do, inputs=inputs, source=source)


def _rating_missing(
    card: Card, at: str, fault: Traced, text: Say, do: Say, *, inputs: tuple[Input, ...], missing: tuple[Missing, ...],
    source: Source,
) -> Finding:  # fmt: skip
    return card.found(
        at, fault.figure, (None, None), text, do, inputs=inputs, case=fault.case, missing=(*fault.missing, *missing),
        source=source,
    )  # fmt: skip


def _against(
    card: Card, at: str, fault: Traced, worth: Worth, text: Say, *, do: Say, inputs: tuple[Input, ...], source: Source
) -> Finding:
    """A fault current against what a device interrupts; an AC rating alone fails."""
    return card.found(
        at,
        fault.figure,
        (None, None) if worth.not_dc else (None, worth.value),
        text,
        do,
        inputs=(*inputs, worth.origin),
        case=fault.case,
        missing=(*fault.missing, *worth.missing),
        forced="fail" if worth.not_dc else None,
        source=source,
    )


@check(_TWO.code, _TWO.title)
def module_interrupts_backfeed(plan: Plan) -> Iterator[Finding]:
    """A short inside a module is fed by all the others through its own device: Icn of that device, or of a proved
    back-up, is above it.

    Case: short behind the module's own device, the other N-1 modules and the extension; ends as P-FAULT-1.
    A fuse proved to back the breaker up counts in its place; then the short at the module's own posts, which only its
    breaker meets, ends at caution.
    Why: nearly every bank of four or more exceeds a breaker of 6 to 10 kA;
    the cure is a branch fuse, not a larger main.
    Not seen here: whether the breaker counts as the device at the posts (P-REACH-1). Run again when the bank grows.
    Source: (N-1)/N of the bank's fault current (stated law); NEC 110.9 [read].
    """

    if len(plan.bank.modules) + plan.bank.site.extension > 1:
        yield from _TWO.over(plan.bank.modules, lambda module: _back_feed(plan, module))
    yield from _TWO.over(plan.bank.modules, lambda module: _own_short(plan, module))


def _back_feed(plan: Plan, module: Module) -> Finding:
    """What the others send into a short inside a module, against its own device or the fuse proved to back it up."""
    fault, kind = plan.faults.inside(module.name), module.kind
    name = f"current of the other modules into {module.name}"
    inputs = (computed("I_k,others", name, fault, "short behind its own device"), *fault.inputs)
    do = say(
        "Put a fuse in each module's lead, proved to back up the module's own device, that interrupts {fault}.",
        fault=amperes(fault.high),
    )
    source = plan.book.source("interrupting")
    backing, own = backing_fuse(plan, module), breaker_of(module)
    head = "The others send {fault} into a short inside {module}; "
    try:
        device = wanted(backing or own, f"{kind.path}.breaker")
        worth = rated(plan, device, "interrupts")
    except NeedsValue as error:
        text = say(head + "what its own device interrupts is not known", fault=fault.figure, module=module.name)
        lacks = error.missing
        return _rating_missing(_TWO, module.name, fault, text, do, inputs=inputs, missing=lacks, source=source)
    who = "its own device" if backing is None else f"{device.name}, proved to back it up,"
    text = say(
        head + "{who} interrupts {rating}",
        fault=fault.figure,
        module=module.name,
        who=who,
        rating=told(worth),
    )
    return _against(_TWO, module.name, fault, worth, text, do=do, inputs=inputs, source=source)


def _own_short(plan: Plan, module: Module) -> Finding | None:
    """The short at a module's own posts, where its breaker is not needed as the device there: ends at caution."""
    own = breaker_of(module)
    if own is None or own.kind.interrupts is None:
        return None
    needed = backing_fuse(plan, module) is None and len(plan.bank.modules) + plan.bank.site.extension > 1
    if needed:
        return None
    fault, worth = plan.faults.own(module.name), rated(plan, own, "interrupts")
    text = say(
        "The breaker of {module} interrupts {rating}; into a short at its posts the module itself drives {fault}",
        module=module.name,
        rating=amperes(worth.value),
        fault=fault.figure,
    )
    return _TWO.found(
        module.name,
        fault.figure,
        (None, worth.value),
        text,
        say("Ask whether the listing of {kind} covers a short at its posts.", kind=module.kind.name),
        inputs=(
            computed("I_k,own", f"short at the posts of {module.name}", fault, "shorts"),
            worth.origin,
            *fault.inputs,
        ),
        case=fault.case,
        missing=worth.missing,
        source=plan.book.source("interrupting"),
        ends_at="caution",
    )


CHECKS = (device_interrupts_the_fault, module_interrupts_backfeed)
