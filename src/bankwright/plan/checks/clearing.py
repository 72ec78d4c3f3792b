"""Are faults cleared in time: cable withstand, the smallest fault.

Gives: CHECKS (P-CLEAR-1 to P-CLEAR-3). Limits: steady fault currents; trips of battery management systems open all
modules
first in many banks and are never credited.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import bankwright.plan.lines as lines
from bankwright.bank.model import Device, Link
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.handbook.tables import load
from bankwright.physics.fault import arcing_fault
from bankwright.physics.withstand import LONGEST, k_factor, withstand_let_through
from bankwright.plan.asks import asking
from bankwright.plan.carried import cable_of
from bankwright.plan.checks.frame import Card
from bankwright.plan.context import Plan
from bankwright.plan.opening import clearing, let_through_at, together
from bankwright.plan.trace import amperes, computed, given, words

__all__ = ["CHECKS"]

ADIABATIC = Source("IEC 60364-5-54 annex A, ICEA P-32-382", "2011, 2007", "heat stays in the metal", "read")
_ONE = Card("P-CLEAR-1", "A cable stands the fault until it is cleared", "integral i^2 dt < (k S)^2", ADIABATIC)
_TWO = Card(
    "P-CLEAR-2",
    "The smallest fault is still broken",
    "0.5 I_k,min > least breaking current",
    Source("derived; arcing fault half the bolted one", how_known="derived"),
)
_THREE = Card(
    "P-CLEAR-3",
    "The smallest fault is cleared soon",
    "clearing time at 0.5 I_k,min <= 5 s",
    Source("IEC 60364-4-43", "2008", "434.5.2, limit of 5 s", "read"),
)
XLPE_FROM = 85.0  # degC of insulation from which it stands 250 degC in a fault; below it is taken as PVC, 160 degC


def _withstand(plan: Plan, link: Link) -> tuple[float, tuple[Input, ...]]:
    """(k S)^2 of a link; insulation not given: the worst, PVC of 90 degC."""
    cable = cable_of(link)
    initial = cable.insulation_degc or 90.0
    final = 250.0 if (cable.insulation_degc or 0.0) >= XLPE_FROM else 160.0
    k = float(k_factor(initial, final))
    limit = float(withstand_let_through(cable.area, k))
    inputs = (
        given("S", f"section of {cable.size}", cable.area, "area", plan.bank.key(cable.size_path)),
        words("k", f"k = {k / 1e6:.1f} A s^0.5/mm2", f"{initial:g} to {final:g} degC", load("iec-60364-4-43/k").source),
    )
    return limit, inputs


@check(_ONE.code, _ONE.title)
def cable_stands_the_fault(plan: Plan) -> Iterator[Finding]:
    """The heat let through until the device clears is less than the cable stands: integral i^2 dt < (k S)^2.

    Case: both ends of the fault range: the largest, and half the smallest (arcing fault). Fuses are worst at the
    low end.
    Why: a small tap behind a large fuse melts before the fuse does.
    Not seen here: devices that do not clear within 5 s (P-CLEAR-3); links without any device (P-REACH-1).
    Source: IEC 60364-4-43 434.5.2 [read, as BS 7671 434.5.2]; ICEA P-32-382 [read]. Under 0.1 s published let-
    through.
    """

    def one(link: Link) -> Iterator[Finding]:
        guards = lines.guards_of(plan, link)
        if not guards:
            return
        limit, inputs = _withstand(plan, link)
        names = " + ".join(device.name for device in guards)
        do = say("Take a larger cable on {link}, or a device that lets less through.", link=link.name)
        for end in ("largest", "smallest"):
            try:
                fault = (
                    plan.faults.in_cable(link.name) if end == "largest" else plan.faults.least(guards[0].name, False)
                )
                value = _heat(guards, fault.value, end)
                least = _heat(guards, fault.low if end == "largest" else fault.high, end) if fault.inputs else value
            except NeedsValue as error:
                yield _ONE.unknown(link.name, error.missing)
                continue
            if value is None or least is None:
                continue
            worst, best = max(value, least), min(value, least)
            figure = Figure(worst, "let_through", best, worst) if fault.inputs else Figure(worst, "let_through")
            text = say(
                "In the {end} fault {devices} lets {heat} through; {link} stands {limit}",
                end=end,
                devices=names,
                heat=figure,
                link=link.name,
                limit=Figure(limit, "let_through"),
            )
            through = (
                computed("I_k", f"{end} fault on {link.name}", fault, "shorts"),
                words("device", "what clears it", names, guards[0].origin),
                *fault.inputs,
            )
            yield _ONE.found(
                link.name,
                figure,
                (None, limit),
                text,
                do,
                (*through, *inputs),
                fault.case,
                source=plan.book.source("withstand"),
            )

    yield from _ONE.over(plan.bank.links, one)


def _heat(guards: tuple[Device, ...], current: float, end: str) -> float | None:
    """Heat at one end of the range; None at the low end where the device does not clear within 5 s."""
    if end == "largest":
        return together(guards, current)
    arc = float(arcing_fault(current))
    time = clearing(guards[0], arc)
    if not time <= LONGEST:
        return None
    return float(len(guards)) ** 2 * let_through_at(guards[0], arc)


def _least(plan: Plan, device: Device):  # type: ignore[no-untyped-def]
    fault = plan.faults.least(device.name, alone=True)
    inputs = (
        computed("I_k,min", f"smallest fault through {device.name}", fault, "shorts, coldest, one module alone"),
        *fault.inputs,
    )
    return fault, inputs


@check(_TWO.code, _TWO.title)
def smallest_fault_is_broken(plan: Plan) -> Iterator[Finding]:
    """Half the smallest fault is still above the least current that a fuse breaks: 0.5 I_k,min > least breaking
    current.

    Case: one module alone on the bus, coldest cells, hot cables, far end; half for an arcing fault (practice).
    Why: a part-range fuse that melts below its least breaking current burns on.
    Not seen here: breakers; gG and other full-range fuses, which break all that melts them.
    Source: derived; first letter a or g read on a summary of IEC 60269.
    """

    def one(device: Device) -> Finding | None:
        name = (device.kind.device_class or "").lower().removeprefix("class ").strip()
        if device.kind.device_class is not None and name.startswith("g"):
            return None
        key = f"{device.kind.path}.least_breaking"
        fault, inputs = _least(plan, device)
        if device.kind.least_breaking is None:
            raise NeedsValue(asking(key if device.kind.device_class is not None else f"{device.kind.path}.class"))
        half = (
            Figure(0.5 * fault.value, "current", 0.5 * fault.low, 0.5 * fault.high)
            if fault.inputs
            else amperes(0.5 * fault.value)
        )
        least = device.kind.least_breaking
        text = say(
            "The smallest fault through {device} may be {current} (arcing); it breaks from {least} on",
            device=device.name,
            current=half,
            least=amperes(least),
        )
        limit = given("least", f"least breaking current of {device.name}", least, "current", plan.bank.key(key))
        return _TWO.found(
            device.name,
            half,
            (least, None),
            text,
            say("Take a full-range fuse or a smaller one; a bigger fuse moves this the wrong way."),
            (*inputs, limit),
            fault.case,
        )

    yield from _TWO.over(lines.in_line(plan, ("fuse",)), one)


@check(_THREE.code, _THREE.title)
def smallest_fault_is_cleared_soon(plan: Plan) -> Iterator[Finding]:
    """Half the smallest fault is cleared within 5 s: clearing time at 0.5 I_k,min <= 5 s.

    Case: one module alone on the bus, coldest cells, hot cables, far end; half for an arcing fault (practice).
    Why: a fault that draws twice the rating may arc for minutes before the fuse opens.
    Not seen here: the module's own trip, which is not credited.
    Source: derived; 5 s: IEC 60364-4-43 434.5.2.
    """

    def one(device: Device) -> Finding:
        fault, inputs = _least(plan, device)
        half = 0.5 * fault.value
        times = [clearing(device, 0.5 * current) for current in (fault.low, fault.high)]
        time = max(times)
        do = say("Take a smaller or faster device, or count on no single module: keep enough of them on the bus.")
        own = (
            *inputs,
            words(
                "curve",
                f"clearing curve of {device.name}",
                "points of its sheet",
                plan.bank.key(f"{device.kind.path}.curve"),
            ),
        )
        if math.isinf(time):
            text = say(
                "The smallest fault through {device} may be {current} (arcing), and {device} does not open at that",
                device=device.name,
                current=amperes(half),
            )
            if fault.inputs and not math.isinf(min(times)):
                raise NeedsValue(*(item.settle for item in fault.inputs if item.settle is not None))
            return _THREE.found(device.name, None, (None, None), text, do, own, fault.case, forced="fail")
        figure = Figure(time, "time", min(times), time) if fault.inputs else Figure(time, "time")
        text = say(
            "The smallest fault through {device} may be {current} (arcing); it clears that in {time}",
            device=device.name,
            current=amperes(half),
            time=figure,
        )
        return _THREE.found(device.name, figure, (None, LONGEST), text, do, own, fault.case)

    yield from _THREE.over(lines.in_line(plan, ("fuse", "breaker")), one)


CHECKS = (cable_stands_the_fault, smallest_fault_is_broken, smallest_fault_is_cleared_soon)
