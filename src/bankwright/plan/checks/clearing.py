"""Are faults cleared in time: cable withstand, the smallest fault.

Gives: CHECKS (P-CLEAR-1 to P-CLEAR-3). Limits: steady fault currents; trips of battery management systems open all
modules first in many banks and are never credited.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

import bankwright.plan.walks.lines as lines
from bankwright.bank.asks import asking
from bankwright.bank.model import Device, Link
from bankwright.bank.model_kinds import CableKind
from bankwright.forms.card import Card
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Computed, Source
from bankwright.forms.trace import Traced, amperes, computed, given, words
from bankwright.forms.wording import Figure, say
from bankwright.handbook.tables import load
from bankwright.physics.withstand import LONGEST, k_factor, withstand_let_through
from bankwright.plan.context import Plan
from bankwright.plan.figures.carried import cable_of
from bankwright.plan.figures.opening import clearing
from bankwright.plan.zones.breakers import standing_of
from bankwright.plan.zones.guarding import bond_resistance, guarding_of
from bankwright.plan.zones.heat import Cut, Heating, cuts_of, heat_of
from bankwright.plan.zones.tails import MOST_BARE, listed, tails_of
from bankwright.plan.zones.taps import AT_ONCE

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
SAME = 1e-3  # figures that differ by less do not depend on what stands in
XLPE_FROM = 85.0  # degC of insulation from which it stands 250 degC in a fault; below it is taken as PVC, 160 degC
ARCING = 0.5  # of a short's current, where it arcs; common practice, no source


def _metal(cable: CableKind) -> float:
    """What a strap of another metal stands of what copper does: aluminium 148 of 226, IEC 60364-5-54 A.54 [memory]."""
    if cable.strap is None or "copper" in cable.strap.material:
        return 1.0
    if cable.strap.material == "aluminium":
        return 148.0 / 226.0
    raise NeedsValue(asking(f"{cable.strap.path}.material", "No short-time figure of brass is at hand: take copper."))


def _withstand(plan: Plan, link: Link) -> tuple[float, tuple[Input, ...]]:
    """(k S)^2 of a link; insulation not given: the worst, PVC of 90 degC."""
    cable = cable_of(link)
    initial = cable.insulation_degc or 90.0
    final = 250.0 if (cable.insulation_degc or 0.0) >= XLPE_FROM else 160.0
    k = float(k_factor(initial, final)) * _metal(cable)
    limit = float(withstand_let_through(cable.area, k))
    inputs = (
        given("S", f"section of {cable.size}", cable.area, "area", plan.bank.key(cable.size_path)),
        words("k", f"k = {k / 1e6:.1f} A s^0.5/mm2", f"{initial:g} to {final:g} °C", load("iec-60364-4-43/k").source),
    )
    return limit, inputs


@check(_ONE.code, _ONE.title)
def cable_stands_the_fault(plan: Plan) -> Iterator[Finding]:
    """The heat let through until everything that feeds a short has cleared is less than the cable stands: integral
    i^2 dt < (k S)^2.

    Case: a short at either end of every stretch between devices, fed along it from the other end; devices add up as the
    square of a sum, N-1 others feed back; both ends of the fault range, and half the smallest: an arcing fault, which
    no text read asks for (common practice, no source), so that it ends at caution.
    Why: a device protects what lies behind it and nothing before it; a small tap behind large fuses melts before them.
    At most 7 in before a cable's own device ends at caution (the device sits at the connection).
    Not seen here: devices that do not clear within 5 s (P-CLEAR-3); a bare tail of one module of 1.5 m and less, and
    what several modules reach bare (P-REACH-1).
    Source: IEC 60364-4-43 434.5.2 [read, as BS 7671 434.5.2]; ICEA P-32-382 [read].
    Under 0.1 s published let-through.
    """

    def one(link: Link) -> Iterator[Finding]:
        cuts = cuts_of(plan, link)
        if any(cut.fed for cut in cuts):
            limit, inputs = _withstand(plan, link)
            verdict = "pass"
            for end in ("largest", "smallest", "arcing"):
                if end == "arcing" and verdict != "pass":
                    break  # an arc adds nothing to a cable that the bolted short harms already
                try:
                    found = _hottest(plan, cuts, end, limit)
                except NeedsValue as error:
                    yield _ONE.unknown(link.name, error.missing)
                    continue
                if found is not None:
                    heated = _heated(plan, link, end, found, limit, inputs=inputs)
                    verdict = heated.verdict
                    yield heated
        if link.pole in plan.protected_poles:
            yield from _uncleared(plan, link, cuts)

    yield from _ONE.over(plan.bank.links, one)


def _hottest(
    plan: Plan, cuts: tuple[Cut, ...], end: str, limit: float
) -> tuple[tuple[Heating, ...], tuple[Missing, ...]] | None:
    """The cut that heats a cable most, at every resistance end; what is missing where it may not be there at all."""
    rows = [(cut, heat_of(plan, cut, end)) for cut in cuts]
    sure = [row for cut, row in rows if row and cut.unplaced is None]
    perhaps = [(cut.unplaced, row) for cut, row in rows if row and cut.unplaced is not None]
    worst = max(sure, key=lambda row: max(each.heat for each in row), default=None)
    for device, row in perhaps:
        if max(each.heat for each in row) >= limit and (worst is None or max(e.heat for e in worst) < limit):
            assert device is not None
            return row, (asking(f"{device.origin.path}.at"),)
    return None if worst is None else (worst, ())


def _heated(
    plan: Plan,
    link: Link,
    end: str,
    found: tuple[tuple[Heating, ...], tuple[Missing, ...]],
    limit: float,
    *,
    inputs: tuple[Input, ...],
) -> Finding:
    heats, missing = found
    worst, figure, assumed = _heat_figure(plan, end, heats, bool(missing))
    names = listed(tuple(each.device.name for each in worst.cut.fed))
    text = say(
        "In {end} fault {devices} {lets} {heat} through; {link} stands {limit}",
        end="an arcing" if end == "arcing" else f"the {end}",
        devices=names,
        lets="lets" if len(worst.cut.fed) == 1 else "let",
        heat=figure,
        link=link.name,
        limit=Figure(limit, "let_through"),
    )
    fault = Traced(amperes(worst.current), (), (), worst.case)
    through = (
        computed("I_k", f"{end} fault on {link.name}" + ", half the smallest" * (end == "arcing"), fault, "shorts"),
        words("device", "what clears it", names, worst.cut.fed[0].device.origin),
        *_shares(plan, worst),
        *assumed,
    )
    near = worst.cut.length is not None and worst.cut.length <= AT_ONCE and _own(plan, link)
    do = "Take a larger cable on {link}, devices that let less through, or put the device at the end that feeds it."
    return _ONE.found(
        link.name, figure, (None, limit), text, say(do, link=link.name), inputs=(*through, *inputs), case=worst.case,
        missing=missing, source=plan.book.source("withstand"), ends_at="caution" if near or end == "arcing" else "fail",
    )  # fmt: skip


def _heat_figure(
    plan: Plan, end: str, heats: tuple[Heating, ...], missing: bool
) -> tuple[Heating, Figure, tuple[Input, ...]]:
    """The worst heat, with its band over what is not given, and what stands in for it where that matters."""
    assumed = plan.faults.assumed("highest" if end == "largest" else "lowest")
    worst = max(heats, key=lambda each: each.heat)
    least = min(each.heat for each in heats)
    banded = bool(assumed) and worst.heat - least > SAME * worst.heat
    figure = Figure(worst.heat, "let_through", least, worst.heat) if banded else Figure(worst.heat, "let_through")
    if missing:
        figure = Figure(worst.heat, "let_through", 0.0, worst.heat)
    return worst, figure, tuple(assumed) if banded else ()


def _shares(plan: Plan, worst: Heating) -> Iterator[Input]:
    """Current and let-through of each device; the heat is the square of the sum of their roots."""
    devices = {device.name: device for device in plan.bank.devices}
    for name, copies, current, heat in worst.shares:
        many = f", {copies} alike" if copies > 1 else ""
        yield Input("i", f"current through {name}{many}", amperes(current), Computed(f"shorts, {worst.case}"))
        at = plan.bank.key(f"{devices[name].kind.path}.curve") if name in devices else Computed("the module's breaker")
        yield Input("I2t", f"let-through of {name} at that{many}", Figure(heat, "let_through"), at)


def _own(plan: Plan, link: Link) -> bool:
    """True where the cable, or its twin, has a device of its own."""
    names = {link.name, guarding_of(plan).twins.links.get(link.name, link.name)}
    return any(lines.is_guard(device) for name in names for device in plan.bank.devices_on(name))


def _uncleared(plan: Plan, link: Link, cuts: tuple[Cut, ...]) -> Iterator[Finding]:
    """A long tail of one module that nothing clears towards that module."""
    tails = {tail.module: tail for tail in tails_of(plan) if link.name in tail.links and tail.longest > MOST_BARE}
    for module in dict.fromkeys(name for cut in cuts for name in cut.bare if name in tails):
        standing = standing_of(plan, plan.bank.module(module))
        inputs = (words("device", f"between {module} and {link.name}", "none", plan.bank.key(link.origin.path)),)
        do = say("Put a fuse at the post of {module} that feeds {link}.", module=module, link=link.name)
        text = say(
            "Nothing towards {module} clears a short on {link}" + (": {why}" if standing.why else ""),
            module=module,
            link=link.name,
            why=standing.why,
        )
        hangs = standing.counts == "unknown" or standing.device is None
        missing = standing.missing if hangs else ()
        yield _ONE.found(
            link.name,
            None,
            (None, None),
            text,
            do,
            inputs=inputs,
            case=f"short on {link.name}",
            missing=missing,
            forced=None if missing else "fail",
            source=plan.book.source("withstand"),
        )


def _least(plan: Plan, device: Device) -> tuple[Traced, tuple[Input, ...]]:
    """Least fault through a device up to the next one that clears, with its band."""
    found = guarding_of(plan).least(device)
    if not found:
        raise NeedsValue(asking("wiring", lacks=f"no short sends current through {device.name}"))
    values = [each.current for each in found]
    worst = min(found, key=lambda each: each.current)
    case = f"short at {worst.pair.place} to {worst.pair.other}, {worst.module} alone"
    assumed = plan.faults.assumed("lowest")
    banded = bool(assumed) and max(values) - min(values) > SAME * max(values)
    figure = Figure(min(values), "current", min(values), max(values)) if banded else amperes(min(values))
    fault = Traced(figure, assumed if banded else (), (), case)
    inputs = (
        computed("I_k,min", f"smallest fault through {device.name}", fault, "shorts, coldest, one module alone"),
        *_through_bond(plan, worst.pair.other),
        *fault.inputs,
    )
    return fault, inputs


def _through_bond(plan: Plan, other: str) -> tuple[Input, ...]:
    """The bond's resistance, where the smallest fault goes to the frame and back through it."""
    ohm = bond_resistance(plan.bank)
    if not ohm or other not in plan.bank.site.earthing.at:
        return ()
    key = plan.bank.key("site.earthing.bond_length")
    return (given("R_bond", "bond from frame to earthing point, hot", ohm, "resistance", key),)


@check(_TWO.code, _TWO.title)
def smallest_fault_is_broken(plan: Plan) -> Iterator[Finding]:
    """Half the smallest fault is still above the least current that a fuse breaks:
    0.5 I_k,min > least breaking current.

    Case: one module alone on the bus, coldest cells, hot cables, any place up to the next device that itself clears;
    half for an arcing fault (practice). Where a device nearer to the module clears it in time, a caution.
    Why: a part-range fuse that melts below its least breaking current burns on.
    Not seen here: breakers; gG and other full-range fuses, which break all that melts them.
    Source: derived; first letter a or g read on a summary of IEC 60269.
    """

    yield from _TWO.over(lines.in_line(plan, ("fuse",)), lambda device: _broken(plan, device))


def _broken(plan: Plan, device: Device) -> Finding | None:
    name = (device.kind.device_class or "").lower().removeprefix("class ").strip()
    if device.kind.device_class is not None and name.startswith("g"):
        return None
    key = f"{device.kind.path}.least_breaking"
    fault, inputs = _least(plan, device)
    if device.kind.least_breaking is None:
        raise NeedsValue(asking(key if device.kind.device_class is not None else f"{device.kind.path}.class"))
    half = (
        Figure(ARCING * fault.value, "current", ARCING * fault.low, ARCING * fault.high)
        if fault.inputs
        else amperes(ARCING * fault.value)
    )
    least = device.kind.least_breaking
    text = say(
        "The smallest fault through {device} may be {current} (arcing); it breaks from {least} on",
        device=device.name,
        current=half,
        least=amperes(least),
    )
    limit = given("least", f"least breaking current of {device.name}", least, "current", plan.bank.key(key))
    do = say("Take a full-range fuse or a smaller one; a bigger fuse moves this the wrong way.")
    found = _TWO.found(device.name, half, (least, None), text, do, inputs=(*inputs, limit), case=fault.case)
    return _aided(plan, device, found, lambda current: ARCING * current > least)


def _aided(plan: Plan, device: Device, found: Finding, stands: Callable[[float], bool]) -> Finding:
    """A fault that another device in line clears in time is not this one's alone: a caution, if all that it has to
    clear alone is within what it can."""
    if found.verdict != "fail":
        return found
    alone = guarding_of(plan).least(device, unaided=True)
    if alone and not all(stands(each.current) for each in alone):
        return found
    words_of = "" if found.text is None else found.text.words
    more = "; a device nearer to the module, in line with it, clears that in time"
    text = say(words_of + more, **({} if found.text is None else dict(found.text.figures)))
    return replace(found, forced="caution", text=text, ends_at="caution")


@check(_THREE.code, _THREE.title)
def smallest_fault_is_cleared_soon(plan: Plan) -> Iterator[Finding]:
    """Half the smallest fault is cleared within 5 s: clearing time at 0.5 I_k,min <= 5 s.

    Case: one module alone on the bus, coldest cells, hot cables, any place up to the next device of the same pole that
    itself clears, and the frame where a pole is earthed; half for an arcing fault (practice). Side by side with another
    that opens in time: the whole current, which is left to this one then. Where a device nearer to the module, in line
    with it, clears the fault in time, a caution.
    Why: a fault that draws twice the rating may arc for minutes before the fuse opens.
    Not seen here: the module's own trip, which is not credited.
    Source: derived; 5 s: IEC 60364-4-43 434.5.2.
    """

    yield from _THREE.over(lines.in_line(plan, ("fuse", "breaker")), lambda device: _cleared_soon(plan, device))


def _cleared_soon(plan: Plan, device: Device) -> Finding:
    fault, inputs = _least(plan, device)
    half = amperes(ARCING * fault.value)
    times = [clearing(device, ARCING * current) for current in (fault.low, fault.high)]
    time = max(times)
    do = say("Take a smaller or faster device, or count on no single module: keep enough of them on the bus.")
    curve = plan.bank.key(f"{device.kind.path}.curve")
    bolted = clearing(device, fault.value)
    whole = "not at all" if math.isinf(bolted) else Figure(bolted, "time")
    own = (
        *inputs,
        words("curve", f"clearing curve of {device.name}", "points of its sheet", curve),
        Input("t_bolted", "time to clear the whole of it, bolted", whole, Computed("the curve of its sheet")),
    )
    if math.isinf(time):
        said = "The smallest fault through {device} may be {current} (arcing), and {device} does not open at that"
        text = say(said, device=device.name, current=half)
        if fault.inputs and not math.isinf(min(times)):
            raise NeedsValue(*(item.settle for item in fault.inputs if item.settle is not None))
        found = _THREE.found(device.name, None, (None, None), text, do, inputs=own, case=fault.case, forced="fail")
        return _aided(plan, device, found, lambda current: clearing(device, ARCING * current) <= LONGEST)
    figure = Figure(time, "time", min(times), time) if fault.inputs else Figure(time, "time")
    text = say(
        "The smallest fault through {device} may be {current} (arcing); it clears that in {time}, the whole, bolted, "
        "in {whole}",
        device=device.name,
        current=half,
        time=figure,
        whole=whole,
    )
    found = _THREE.found(device.name, figure, (None, LONGEST), text, do, inputs=own, case=fault.case)
    return _aided(plan, device, found, lambda current: clearing(device, ARCING * current) <= LONGEST)


CHECKS = (cable_stands_the_fault, smallest_fault_is_broken, smallest_fault_is_cleared_soon)
