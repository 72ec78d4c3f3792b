"""Earthing of the DC side: declared, consistent, bonded, watched.

Gives: CHECKS (P-EARTH-1 to P-EARTH-4). Limits: the earth electrode and the AC side's bonding are not checked.
"""

from __future__ import annotations

from collections.abc import Iterator

import bankwright.plan.lines as lines
from bankwright.forms.checks import NeedsValue, check
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say
from bankwright.handbook.ampacity import bond_section
from bankwright.handbook.tables import OutsideTable
from bankwright.handbook.wires import wire
from bankwright.physics.withstand import k_factor, withstand_let_through
from bankwright.plan.asks import asking, wanted
from bankwright.plan.checks.frame import Card
from bankwright.plan.context import Plan
from bankwright.plan.opening import together
from bankwright.plan.trace import cited, computed, given, words

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


def _first(plan: Plan) -> str:
    return plan.bank.modules[0].name


@check(_ONE.code, _ONE.title)
def earthing_is_consistent(plan: Plan) -> Iterator[Finding]:
    """The earthed pole is declared; it is earthed at one point at most; an inverter that is not isolated allows it.

    Why: two earthing points make the frame and the AC earth a parallel conductor of the bank.
    Not seen here: earthing compulsory only above 60 V; V_max of 60.0 V stands right beside it.
    Source: NEC 250.162(A), 250.167(A) [read]; IEC 60364-4-41 [from memory]; the inverter's manual.
    """
    earthing = plan.bank.site.earthing
    key = plan.bank.key("site.earthing")
    do = say("Earth one pole at one point, as the inverter's manual says, or none and watch it.")
    if earthing.pole is None:
        yield _ONE.unknown(_first(plan), (asking("site.earthing.pole"),))
        return
    try:
        source = plan.book.source("earthing")
    except NeedsValue as error:
        yield _ONE.unknown(_first(plan), error.missing)
        return
    declared = words("pole", "earthed pole", earthing.pole, key)
    if earthing.pole != "none" and not earthing.at:
        yield _ONE.unknown(_first(plan), (asking("site.earthing.at"),))
    elif len(earthing.at) > (0 if earthing.pole == "none" else 1):
        text = say(
            "The pole declared as {pole} is earthed at {count} points: {points}",
            pole=earthing.pole,
            count=str(len(earthing.at)),
            points=", ".join(earthing.at),
        )
        yield _ONE.found(
            earthing.at,
            None,
            (None, None),
            text,
            do,
            (declared, words("at", "earthing points", ", ".join(earthing.at), key)),
            forced="fail",
            source=source,
        )
    else:
        where = f" at {earthing.at[0]}" if earthing.at else ""
        text = say("Earthed pole: {pole}{where}", pole=earthing.pole, where=where)
        yield _ONE.found(
            earthing.at or _first(plan), None, (None, None), text, say("Nothing to do."), (declared,), source=source
        )
    yield from _inverters(plan, earthing.pole)


def _inverters(plan: Plan, pole: str) -> Iterator[Finding]:
    """Inverters that are not isolated tie the bank to the AC side: only what the manual names is allowed."""
    if pole == "none":
        return

    def one(name: str) -> Finding:
        kind = next(i.kind for i in plan.bank.inverters if i.name == name)
        allowed = kind.earthable
        if wanted(kind.isolated, f"{kind.path}.isolated") and allowed is None:
            text = say("{inverter} is isolated; a pole may be earthed", inverter=name)
            return _ONE.found(
                name,
                None,
                (None, None),
                text,
                say("Nothing to do."),
                (words("isolated", name, "yes", plan.bank.key(f"{kind.path}.isolated")),),
            )
        poles = wanted(allowed, f"{kind.path}.earthable")
        inputs = (
            words(
                "earthable",
                f"poles that the manual of {kind.name} lets one earth",
                ", ".join(poles) or "none",
                plan.bank.key(f"{kind.path}.earthable"),
            ),
        )
        if pole in poles:
            text = say("The manual of {inverter} lets one earth {pole}", inverter=name, pole=pole)
            return _ONE.found(name, None, (None, None), text, say("Nothing to do."), inputs)
        text = say(
            "The {pole} pole is earthed; the manual of {inverter} allows {poles}",
            pole=pole,
            inverter=name,
            poles=", ".join(poles) or "no pole",
        )
        return _ONE.found(
            name,
            None,
            (None, None),
            text,
            say("Earth what the manual names, or leave the bank floating."),
            inputs,
            forced="fail",
        )

    yield from _ONE.over([inverter.name for inverter in plan.bank.inverters], one)


@check(_TWO.code, _TWO.title)
def floating_bank_is_watched(plan: Plan) -> Iterator[Finding]:
    """A floating bank has ground-fault detection.

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
        inputs,
        forced=None if watched else "fail",
        source=source,
    )


@check(_THREE.code, _THREE.title)
def bond_is_large_enough(plan: Plan) -> Iterator[Finding]:
    """The conductor that bonds the frames is at least the section of the book's table for the largest device ahead.

    Why: it must carry a fault to the frame until the device opens.
    Not seen here: a bond without any device ahead, which the module's own fault current would heat.
    Source: NEC Table 250.122 [row of 300 A read]; IEC 60364-5-54 Table 54.2 [from memory].
    """
    guards = [d for d in lines.in_line(plan, ("fuse", "breaker")) if d.kind.rating is not None]
    mains = [link for link in plan.bank.links if link.role in ("main", "branch", "lead") and link.cable is not None]
    try:
        bond = wanted(plan.bank.site.earthing.bond, "site.earthing.bond")
        rating = max((d.kind.rating or 0.0 for d in guards), default=0.0)
        if plan.book.bond.by == "device" and not guards:
            raise NeedsValue(asking("devices", "Put a fuse into each main: the bond follows from its rating."))
        line = max(
            (link.cable.size for link in mains if link.cable), key=lambda size: wire(size).area, default="4/0 AWG"
        )
        least = bond_section(plan.book, rating, line)
    except NeedsValue as error:
        yield _THREE.unknown(_first(plan), error.missing)
        return
    except OutsideTable as error:
        yield _THREE.unknown(_first(plan), (asking("site.earthing.bond", str(error)),))
        return
    area = wire(bond).area
    text = say(
        "The bond is {bond}, {area}; at least {least}",
        bond=bond,
        area=Figure(area, "area"),
        least=Figure(least.value, "area"),
    )
    inputs = (
        given("bond", "bond of the frames", area, "area", plan.bank.key("site.earthing.bond")),
        cited("least", f"section for a device of {rating:g} A or a line of {line}", least, "area"),
    )
    yield _THREE.found(
        _first(plan),
        Figure(area, "area"),
        (least.value, None),
        text,
        say("Take a larger bond."),
        inputs,
        source=plan.book.source("bond"),
    )


@check(_FOUR.code, _FOUR.title)
def bond_stands_the_fault(plan: Plan) -> Iterator[Finding]:
    """A fault to frame is cleared before the bond is too hot: integral i^2 dt < (k S)^2, k from 30 to 160 degC.

    Case: a pole earthed; the largest short at the bus and behind each main's device. Parallel devices add up.
    Why: the table of bonds is for the device's rating; a battery's fault is higher than the table has in mind.
    Not seen here: a fault ahead of every device, which only the modules' own devices clear; floating banks.
    Source: IEC 60364-4-43 434.5.2 [read, as BS 7671 434.5.2]; 160 degC as for PVC, 30 degC as it carries nothing.
    """
    earthing = plan.bank.site.earthing
    if earthing.pole not in ("minus", "plus") or earthing.bond is None:
        return
    places = dict.fromkeys((*plan.bank.feed_posts[0][:1], *(inverter.posts[0] for inverter in plan.bank.inverters)))
    limit = float(withstand_let_through(wire(earthing.bond).area, k_factor(30.0, 160.0)))

    def one(place: str) -> Finding | None:
        guards = lines.guards_towards(plan, place)
        if not guards:
            return None  # P-REACH-1 says so
        fault = plan.faults.at(place)
        heat = together(guards, fault.value)
        names = " + ".join(device.name for device in guards)
        text = say(
            "A fault to frame at {place}, cleared by {devices}, heats the bond by {heat}; {bond} stands {limit}",
            place=place,
            devices=names,
            heat=Figure(heat, "let_through"),
            bond=earthing.bond or "",
            limit=Figure(limit, "let_through"),
        )
        inputs = (
            computed("I_k", f"largest fault at {place}", fault, "shorts"),
            words("device", "what clears it", names, guards[0].origin),
            given(
                "S", "section of the bond", wire(earthing.bond or "").area, "area", plan.bank.key("site.earthing.bond")
            ),
            *fault.inputs,
        )
        figure = Figure(heat, "let_through")
        return _FOUR.found(
            place,
            figure,
            (None, limit),
            text,
            say("Take a larger bond, or devices that let less through."),
            inputs,
            fault.case,
            source=plan.book.source("withstand"),
        )

    yield from _FOUR.over(places, one)


CHECKS = (earthing_is_consistent, floating_bank_is_watched, bond_is_large_enough, bond_stands_the_fault)
