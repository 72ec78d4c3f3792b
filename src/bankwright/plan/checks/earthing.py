"""Earthing of the DC side: declared, consistent, bonded, watched.

Gives: CHECKS (P-EARTH-1 to P-EARTH-4). Limits: the earth electrode and the AC side's bonding are not checked.
"""

from __future__ import annotations

from collections.abc import Iterator

import bankwright.plan.walks.lines as lines
from bankwright.bank.asks import asking, wanted
from bankwright.bank.data_line import cable_order
from bankwright.bank.model import Inverter
from bankwright.bank.model_kinds import CableKind
from bankwright.forms.card import Card
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Cited, Source
from bankwright.forms.trace import cited, computed, given, words
from bankwright.forms.wording import Figure, say
from bankwright.handbook.ampacity import bond_section
from bankwright.handbook.tables import OutsideTable
from bankwright.handbook.wires import labels, wire
from bankwright.physics.withstand import k_factor, withstand_let_through
from bankwright.plan.context import Plan
from bankwright.plan.figures.opening import together

__all__ = ["CHECKS"]

BOOK = Source("rule book", how_known="read")
_ONE = Card(
    "P-EARTH-1",
    "Earthing is declared and consistent",
    "pole none | minus | plus; at most one earthing point; as each inverter's manual lets one",
    BOOK,
    "code",
)
_TWO = Card("P-EARTH-2", "A floating bank is watched", "ground-fault detection present", BOOK, "code")
_THREE = Card(
    "P-EARTH-3", "The frames are bonded with a large enough conductor", "section of the bond >= table", BOOK, "code"
)
_FOUR = Card("P-EARTH-4", "The bond stands a fault to frame", "integral i^2 dt < (k S)^2", BOOK)

LEAST_BOND = 6e-6  # m2 of copper, the least of a bonding conductor: IEC 60364-5-54 544.1 [from memory]


def _first(plan: Plan) -> str:
    return plan.bank.modules[0].name


@check(_ONE.code, _ONE.title)
def earthing_is_consistent(plan: Plan) -> Iterator[Finding]:
    """The earthed pole is declared; it is earthed at one point at most; an inverter that is not isolated allows it.

    Why: two earthing points make the frame and the AC earth a parallel conductor of the bank.
    Not seen here: earthing compulsory only above 60 V; V_max of 60.0 V stands right beside it.
    Source: NEC 250.162(A), 250.167(A) [read]; IEC 60364-4-41 [from memory]; the inverter's manual.
    """
    pole = plan.bank.site.earthing.pole
    if pole is None:
        yield _ONE.unknown(_first(plan), (asking("site.earthing.pole"),))
        return
    try:
        source = plan.book.source("earthing")
    except NeedsValue as error:
        yield _ONE.unknown(_first(plan), error.missing)
        return
    yield _points(plan, pole, source)
    yield from _inverters(plan, pole)
    yield from _computer(plan, pole)


def _points(plan: Plan, pole: str, source: Source) -> Finding:
    """Where the pole is earthed: at one point at most, at none where none is."""
    at, key = plan.bank.site.earthing.at, plan.bank.key("site.earthing")
    declared = words("pole", "earthed pole", pole, key)
    if pole != "none" and not at:
        return _ONE.unknown(_first(plan), (asking("site.earthing.at"),))
    points = ", ".join(at)
    if len(at) > (0 if pole == "none" else 1):
        said = "The pole declared as {pole} is earthed at {count} points: {points}"
        text = say(said, pole=pole, count=str(len(at)), points=points)
        do = say("Earth one pole at one point, as the inverter's manual says, or none and watch it.")
        inputs = (declared, words("at", "earthing points", points, key))
        return _ONE.found(at, None, (None, None), text, do, inputs=inputs, forced="fail", source=source)
    text = say("Earthed pole: {pole}{where}", pole=pole, where=f" at {at[0]}" if at else "")
    do = say("Nothing to do.")
    return _ONE.found(at or _first(plan), None, (None, None), text, do, inputs=(declared,), source=source)


def _computer(plan: Plan, pole: str) -> Iterator[Finding]:
    """A listening computer on mains earth behind an adapter that is not isolated is an earthing point too.

    The common wire of the data line is taken to be the modules' minus (common practice, no source).
    """
    line = plan.bank.bus
    if line is None or line.wire not in ("serial", "can") or line.isolated or line.fed_from in ("bank", "own battery"):
        return
    at = cable_order(plan.bank)[0]
    asked = [f"bus.{key}" for key in ("isolated", "fed_from") if getattr(line, key) is None]
    if asked:
        yield _ONE.unknown(at, tuple(asking(key) for key in asked))
        return
    known = plan.bank.site.earthing.at
    text = say(
        "The computer on the data line earths the bank too: its adapter is not isolated and it hangs on the mains. "
        "Declared: {pole}{points}",
        pole=pole,
        points=f", at {', '.join(known)}" if known else "",
    )
    do = say("Take an adapter with a stated isolation voltage, or a computer on its own battery.")
    inputs = (
        words("isolated", "data adapter isolated", "no", plan.bank.key("bus.isolated")),
        words("fed_from", "listening computer fed from", str(line.fed_from), plan.bank.key("bus.fed_from")),
    )
    yield _ONE.found(at, None, (None, None), text, do, inputs=inputs, forced="fail")


def _inverters(plan: Plan, pole: str) -> Iterator[Finding]:
    """Inverters that are not isolated tie the bank to the AC side: only what the manual names is allowed."""
    if pole != "none":
        yield from _ONE.over(plan.bank.inverters, lambda inverter: _allows(plan, inverter, pole))


def _allows(plan: Plan, inverter: Inverter, pole: str) -> Finding:
    kind, name, nothing = inverter.kind, inverter.name, say("Nothing to do.")
    if wanted(kind.isolated, f"{kind.path}.isolated") and kind.earthable is None:
        text = say("{inverter} is isolated; a pole may be earthed", inverter=name)
        inputs = (words("isolated", name, "yes", plan.bank.key(f"{kind.path}.isolated")),)
        return _ONE.found(name, None, (None, None), text, nothing, inputs=inputs)
    key = f"{kind.path}.earthable"
    poles = wanted(kind.earthable, key)
    lets = f"poles that the manual of {kind.name} lets one earth"
    inputs = (words("earthable", lets, ", ".join(poles) or "none", plan.bank.key(key)),)
    if pole in poles:
        text = say("The manual of {inverter} lets one earth {pole}", inverter=name, pole=pole)
        return _ONE.found(name, None, (None, None), text, nothing, inputs=inputs)
    text = say(
        "The {pole} pole is earthed; the manual of {inverter} allows {poles}",
        pole=pole,
        inverter=name,
        poles=", ".join(poles) or "no pole",
    )
    do = say("Earth what the manual names, or leave the bank floating.")
    return _ONE.found(name, None, (None, None), text, do, inputs=inputs, forced="fail")


@check(_TWO.code, _TWO.title)
def floating_bank_is_watched(plan: Plan) -> Iterator[Finding]:
    """A floating bank has ground-fault detection, and no inverter that ties it to the earthed AC side.

    Why: the first earth fault does nothing, and the second on the other pole is a short; so the first must be told.
    Not seen here: banks with an earthed pole. A centre-earthed pair of resistors does not see equal leakage on both
    poles.
    Source: NEC 250.167(A) [read]; IEC 60364-4-41 411.6.3 [from memory].
    """
    earthing = plan.bank.site.earthing
    if earthing.pole != "none":
        return
    try:
        watched = wanted(earthing.detector, "site.earthing.detector")
        source = plan.book.source("ground_fault")
    except NeedsValue as error:
        yield _TWO.unknown(_first(plan), error.missing)
        return
    inputs = (
        words("detector", "ground-fault detector", "yes" if watched else "no", plan.bank.key("site.earthing.detector")),
    )
    text = say(
        "The bank floats and {watched}",
        watched="a ground-fault detector watches it" if watched else "nothing tells the first earth fault",
    )
    yield _TWO.found(
        _first(plan),
        None,
        (None, None),
        text,
        say("Fit a ground-fault detector for the DC side."),
        inputs=inputs,
        forced=None if watched else "fail",
        source=source,
    )
    yield from _alarm(plan)
    yield from _TWO.over([inverter.name for inverter in plan.bank.inverters], lambda name: _ties(plan, name))


def _alarm(plan: Plan) -> Iterator[Finding]:
    """A detector's own resistance lies above the one at which it gives alarm: its two paths are side by side."""
    earthing = plan.bank.site.earthing
    own, alarm = earthing.detector_resistance, earthing.detector_alarm
    if not earthing.detector or own is None or alarm is None:
        return
    both = Figure(own / 2, "resistance")
    text = say(
        "The detector alone is {own} to the frame, both poles; it gives alarm below {alarm}",
        own=both,
        alarm=Figure(alarm, "resistance"),
    )
    inputs = (
        given("R_d", "detector, each pole", own, "resistance", plan.bank.key("site.earthing.detector_resistance")),
        given("R_a", "alarm", alarm, "resistance", plan.bank.key("site.earthing.detector_alarm")),
    )
    do = say("Read both values again in the detector's sheet: as given, it is always in alarm.")
    source = Source("two paths side by side", how_known="derived")
    yield _TWO.found(_first(plan), both, (alarm, None), text, do, inputs=inputs, source=source)


def _ties(plan: Plan, name: str) -> Finding:
    """Whether an inverter leaves a floating bank floating."""
    kind = next(i.kind for i in plan.bank.inverters if i.name == name)
    isolated = wanted(kind.isolated, f"{kind.path}.isolated")
    text = say(
        "{inverter} is isolated: the bank floats behind it"
        if isolated
        else "The bank is to float, but {inverter} is not isolated: it ties the bank to the earthed AC side",
        inverter=name,
    )
    inputs = (words("isolated", name, "yes" if isolated else "no", plan.bank.key(f"{kind.path}.isolated")),)
    do = say("Earth the bank as the manual of {inverter} says, or take an isolated inverter.", inverter=name)
    return _TWO.found(name, None, (None, None), text, do, inputs=inputs, forced=None if isolated else "fail")


@check(_THREE.code, _THREE.title)
def bond_is_large_enough(plan: Plan) -> Iterator[Finding]:
    """The conductor that bonds the frames is at least the section of the book's table for the largest device ahead.

    IEC: the table, or the heat of the fault by P-EARTH-4, from 6 mm2 on; either will do.
    Why: it must carry a fault to the frame until the device opens.
    Not seen here: a bond without any device ahead, which the module's own fault current would heat.
    Source: NEC Table 250.122 [row of 300 A read]; IEC 60364-5-54 543.1.1, table 54.2, 544.1 [from memory].
    """
    try:
        bond = wanted(plan.bank.site.earthing.bond, "site.earthing.bond")
        least, ahead = _section(plan)
    except NeedsValue as error:
        yield _THREE.unknown(_first(plan), error.missing)
        return
    except OutsideTable as error:
        worked_out = asking("site.earthing.bond", "Have it worked out by an engineer.", lacks=str(error))
        yield _THREE.unknown(_first(plan), (worked_out,))
        return
    area = wire(bond).area
    if plan.book.bond.by != "device" and LEAST_BOND <= area < least.value:
        heated = tuple(_heated(plan))
        if heated and all(f.verdict in ("pass", "caution") for f in heated):
            yield _by_heat(plan, bond, least)
            return
    inputs = (
        given("bond", "bond of the frames", area, "area", plan.bank.key("site.earthing.bond")),
        cited("least", f"section for {ahead}", least, "area"),
    )
    shown = Figure(area, "area")
    yield _THREE.found(
        _first(plan),
        shown,
        (least.value, None),
        say("The bond is {bond}, {area}; at least {least}", bond=bond, area=shown, least=Figure(least.value, "area")),
        say("Take a larger bond."),
        inputs=inputs,
        source=plan.book.source("bond"),
    )


def _section(plan: Plan) -> tuple[Cited, str]:
    """The section of the book's table, and what it follows from. [m2]"""
    guards = [d for d in lines.in_line(plan, ("fuse", "breaker")) if d.kind.rating is not None]
    mains = [link.cable for link in plan.bank.links if link.role in ("main", "branch", "lead") and link.cable]
    if plan.book.bond.by == "device" and not guards:
        raise NeedsValue(asking("devices", "Put a fuse into each main: the bond follows from its rating."))
    rating = max((d.kind.rating or 0.0 for d in guards), default=0.0)
    line = max((_size(plan, cable) for cable in mains), key=lambda size: wire(size).area, default="4/0 AWG")
    return bond_section(plan.book, rating, line), f"a device of {rating:g} A or a line of {line}"


def _size(plan: Plan, cable: CableKind) -> str:
    """Size of a cable; of a strap the smallest of the book's sizes that has its section."""
    sizes = [label for label in labels(plan.book.sizes) if wire(label).area >= cable.area]
    return cable.size if cable.strap is None else min(sizes, key=lambda size: wire(size).area, default="4/0 AWG")


def _by_heat(plan: Plan, bond: str, least: Cited) -> Finding:
    """IEC: the table or the heat of the fault, either will do (543.1.1); the heat does (P-EARTH-4)."""
    text = say(
        "The bond is {bond}, less than the {least} of the table, and stands the fault by its heat (P-EARTH-4)",
        bond=bond,
        least=Figure(least.value, "area"),
    )
    inputs = (cited("least", "section by the table", least, "area"),)
    do = say("Nothing to do.")
    return _THREE.found(_first(plan), None, (None, None), text, do, inputs=inputs, source=plan.book.source("bond"))


@check(_FOUR.code, _FOUR.title)
def bond_stands_the_fault(plan: Plan) -> Iterator[Finding]:
    """A fault to frame is cleared before the bond is too hot: integral i^2 dt < (k S)^2, k from 30 to 160 degC.

    Case: a pole earthed; the largest short at the bus and behind each main's device. Parallel devices add up.
    Why: the table of bonds is for the device's rating; a battery's fault is higher than the table has in mind.
    Not seen here: a fault ahead of every device, which only the modules' own devices clear; floating banks.
    Source: IEC 60364-4-43 434.5.2 [read, as BS 7671 434.5.2]; 160 degC as for PVC, 30 degC as it carries nothing.
    """
    earthing = plan.bank.site.earthing
    if earthing.pole in ("minus", "plus") and earthing.bond is not None:
        yield from _heated(plan)


def _heated(plan: Plan) -> Iterator[Finding]:
    """Heat of the bond in the largest fault to frame; of a floating bank in a second fault on the other pole."""
    bond = plan.bank.site.earthing.bond
    if bond is not None:
        places = (*plan.bank.feed_posts[0][:1], *(inverter.posts[0] for inverter in plan.bank.inverters))
        yield from _FOUR.over(dict.fromkeys(places), lambda place: _heated_at(plan, place, bond))


def _heated_at(plan: Plan, place: str, bond: str) -> Finding | None:
    guards = lines.guards_towards(plan, place)
    if not guards:
        return None  # P-REACH-1 says so
    area = wire(bond).area
    limit, fault = float(withstand_let_through(area, k_factor(30.0, 160.0))), plan.faults.at(place)
    heat = Figure(together(guards, fault.value), "let_through")
    names = " + ".join(device.name for device in guards)
    text = say(
        "A fault to frame at {place}, cleared by {devices}, heats the bond by {heat}; {bond} stands {limit}",
        place=place,
        devices=names,
        heat=heat,
        bond=bond,
        limit=Figure(limit, "let_through"),
    )
    inputs = (
        computed("I_k", f"largest fault at {place}", fault, "shorts"),
        words("device", "what clears it", names, guards[0].origin),
        given("S", "section of the bond", area, "area", plan.bank.key("site.earthing.bond")),
        *fault.inputs,
    )
    do = say("Take a larger bond, or devices that let less through.")
    source = plan.book.source("withstand")
    return _FOUR.found(place, heat, (None, limit), text, do, inputs=inputs, case=fault.case, source=source)


CHECKS = (earthing_is_consistent, floating_bank_is_watched, bond_is_large_enough, bond_stands_the_fault)
