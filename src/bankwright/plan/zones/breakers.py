"""Does a module's own breaker count as the overcurrent device at its posts.

Gives: Standing, standing_of(), backing_fuse(). It counts if all of this is given and passes: it opens by itself on
direct overcurrent; its rating covers what its own module drives into a short at its posts and what the others feed back
into a short inside it (for this one a fuse proved for it does too); it sits in the pole that must be protected; it
breaks both ways at the highest voltage; it clears the least fault of its zone within 5 s.
Limits: a published range never makes it count; a battery management system's electronic switch is none.
Sources: UL 1077 and IEC 60947-3 are no overcurrent protection (from memory); NEC 110.9 [read].
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import Literal

from bankwright.bank.asks import asking
from bankwright.bank.model import Device, Module
from bankwright.forms.checks import NeedsValue
from bankwright.forms.finding import Missing
from bankwright.forms.trace import Traced
from bankwright.physics.fault import arcing_fault
from bankwright.physics.withstand import LONGEST
from bankwright.plan.context import Plan
from bankwright.plan.figures.opening import clearing
from bankwright.plan.figures.rating import breaker_of, rated
from bankwright.plan.figures.voltages import highest_voltage
from bankwright.plan.once import once
from bankwright.plan.zones.guarding import guarding_of
from bankwright.plan.zones.wiring import opens_by_itself

__all__ = ["Standing", "backing_fuse", "standing_of"]


@dataclass(frozen=True, slots=True)
class Standing:
    """Counts or not, why not, or what would tell."""

    counts: Literal["yes", "no", "unknown"]
    why: str = ""
    missing: tuple[Missing, ...] = ()
    device: Device | None = None


def standing_of(plan: Plan, module: Module) -> Standing:
    """The standing of a module's breaker, found once a module."""
    return _standing(plan, module.name)


@once
def _standing(plan: Plan, name: str) -> Standing:
    module = plan.bank.module(name)
    device = breaker_of(module)
    if device is None:
        return Standing("no", "no breaker of its own is described", (asking(f"{module.kind.path}.breaker"),))
    missing: dict[Missing, None] = {}
    tests = (
        partial(_is_overcurrent, device),
        partial(_sits_right, plan, device),
        partial(_both_ways, device),
        partial(_stands_voltage, plan, device),
        partial(_breaks_fault, plan, module, device),
        partial(_clears, plan, module, device),
    )
    for test in tests:
        try:
            why = test()
        except NeedsValue as error:
            missing.update(dict.fromkeys(error.missing))
            continue
        if why:
            return Standing("no", why, (), device)
    return Standing("unknown", "", tuple(missing), device) if missing else Standing("yes", "", (), device)


def _is_overcurrent(device: Device) -> str:
    kind = device.kind
    if kind.device_class is None:
        raise NeedsValue(asking(f"{kind.path}.class"))
    return "" if opens_by_itself(kind) else f"{kind.device_class} is no overcurrent device"


def _sits_right(plan: Plan, device: Device) -> str:
    earthed = plan.bank.site.earthing.pole
    if device.kind.sits_in is None:
        raise NeedsValue(asking(f"{device.kind.path}.sits_in"))
    if earthed is None:
        raise NeedsValue(asking("site.earthing.pole"))
    needed = {"none": "both", "minus": "plus", "plus": "minus"}[earthed]
    fits = device.kind.sits_in in (needed, "both")
    return "" if fits else f"it opens {device.kind.sits_in}, and {needed} must open"


def _both_ways(device: Device) -> str:
    if device.kind.polarised is None:
        raise NeedsValue(asking(f"{device.kind.path}.polarised"))
    return "it breaks one way only" if device.kind.polarised else ""


def _stands_voltage(plan: Plan, device: Device) -> str:
    highest, worth = highest_voltage(plan), rated(plan, device, "volts")
    if worth.not_dc:
        return worth.not_dc
    if worth.value < highest.value:
        return f"it breaks at {worth.value:g} V, and the bank may reach {highest.value:g} V"
    return _or_ask(highest, worth.missing)


def _or_ask(figure: Traced, missing: tuple[Missing, ...]) -> str:
    """Nothing against it; NeedsValue where a range stands in for what the figure rests on."""
    open_ones = (*missing, *figure.missing, *(i.settle for i in figure.inputs if i.assumed and i.settle is not None))
    if open_ones:
        raise NeedsValue(*open_ones)
    return ""


def _breaks_fault(plan: Plan, module: Module, device: Device) -> str:
    worth = rated(plan, device, "interrupts")
    if worth.not_dc:
        return worth.not_dc
    own, others = plan.faults.own(module.name), plan.faults.inside(module.name)
    backed = backing_fuse(plan, module) is not None
    for fault, what in ((own, "its own module drives"), *(() if backed else ((others, "the others feed back"),))):
        if fault.low >= worth.value:
            return f"it interrupts {worth.value / 1e3:.3g} kA, and {what} {fault.value / 1e3:.3g} kA"
        if fault.high >= worth.value:
            _or_ask(fault, worth.missing)
    return _or_ask(own, worth.missing)


def _clears(plan: Plan, module: Module, device: Device) -> str:
    zones = guarding_of(plan).zones
    post = next(p for p in module.posts if p.endswith("+"))
    for least in guarding_of(plan).from_one(module.name, zones.of_place[post].places):
        time = clearing(device, float(arcing_fault(least.current)))
        if time > LONGEST:
            return f"a fault of {least.current / 2:.0f} A (arcing) it does not clear within {LONGEST:g} s"
    return ""


def backing_fuse(plan: Plan, module: Module) -> Device | None:
    """The fuse that the sheet names as proved back-up, where every path of one pole to the others holds it."""
    kind = module.kind.breaker_backed_by
    if kind is None:
        return None
    for pole in "+-":
        posts = [post for post in module.posts if post.removeprefix(module.name).startswith(pole)]
        links = [link for post in posts for link in plan.links_at(post)]
        found = [next((d for d in plan.bank.devices_on(link.name) if d.kind.name == kind), None) for link in links]
        if found and all(device is not None for device in found):
            return found[0]
    return None
