"""What the file says of cables and bars against what copper of that size is.

Gives: CHECKS (P-SHEET-5, P-BAR-2). Limits: ampacity, fill and shares are elsewhere; lengths are held against the way
only where both ends stand in one frame (bank/places).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterator

from bankwright.bank.bends import bend_radius
from bankwright.bank.model import Bar, Joint, Link
from bankwright.bank.places import least_length
from bankwright.bank.sizes import stud_diameter
from bankwright.forms.card import Card
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input, by_name
from bankwright.forms.origin import Computed, Source
from bankwright.forms.trace import PRACTICE, given
from bankwright.forms.wording import Figure, Say, say
from bankwright.physics.conductor import resistance
from bankwright.plan.context import Plan
from bankwright.plan.figures.usual import Usual, typed_wrong

__all__ = ["CHECKS"]

COPPER = Source("geometry of the metal", how_known="derived")
ACROSS = Usual(1.0, 1.08, 4.5, 9.0)  # outer diameter over that of the metal as one round
APART = Usual(1.0, None, None, None)  # middles of the two poles over the diameter of one
MEASURED = Usual(0.6, 0.85, 1.6, 4.0)  # resistance over that of size and length, at 20 degC
HOLE = 1.35  # of a lug over the stud that it is sold for; a caution above
EDGE = Usual(1.0, 1.6, None, None)  # width of a bar over its hole
WASHERS = Usual(2.0, 2.5, None, None)  # stud to stud over the stud: washers of ISO 7089 are twice it [from memory]
_WIRE = Card(
    "P-SHEET-5",
    "What is said of a cable agrees with its size",
    "outer diameter, spacing >= metal as one round; measured resistance = that of size and length; length >= way",
    COPPER,
    "code",
)
_BAR = Card(
    "P-BAR-2",
    "A bar's holes and studs have room",
    "hole < width; studs stand two stud diameters apart and more",
    PRACTICE,
    "code",
)
Judged = Iterator[Finding]


@check(_WIRE.code, _WIRE.title)
def cables_agree_with_their_size(plan: Plan) -> Iterator[Finding]:
    """Outer diameter and spacing of the poles are no less than the metal as one solid round; a resistance that
    was measured is 0.85 to 1.6 times that of size and length (fail outside 0.6 to 4); a cable is longer than its
    two barrels, and than its way between posts in one frame (a caution: posts are drawn at usual places); a
    lug's hole passes the stud that it is sold for.

    Why: a diameter in cm or a resistance in another unit bends fill, drop and fault currents, and no limit says so.
    Not seen here: cables whose ends have no place in the file.
    Source: geometry [derived]; what is usual: common practice, no source.
    """
    parts: tuple[Callable[[Plan, Link], Finding | None], ...] = (_across, _apart, _barrels, _way, _ohms)
    for part in parts:
        yield from _once(plan, part)
    yield from _lugs(plan)


def _lugs(plan: Plan) -> Judged:
    """A lug's hole against the stud that it is sold for."""
    used: dict[str, Joint] = {}
    for joint in sorted(plan.bank.joints, key=lambda each: by_name(each.name)):
        if joint.lug is not None and joint.lug.is_lug:
            used.setdefault(joint.lug.path, joint)
    for path, joint in used.items():
        lug = joint.lug
        if lug is None or lug.hole is None or lug.stud is None:
            continue
        across = stud_diameter(lug.stud)
        text = say(
            "{lug} is sold for {stud} and has a hole of {hole}",
            lug=lug.name,
            stud=lug.stud,
            hole=Figure(lug.hole, "height"),
        )
        inputs = (
            given("hole", f"hole of {lug.name}", lug.hole, "height", plan.bank.key(f"{path}.hole")),
            given("stud", f"stud of {lug.name}", across, "height", plan.bank.key(f"{path}.stud")),
        )
        yield _WIRE.found(
            joint.name,
            Figure(lug.hole, "height"),
            (across, None),
            text,
            typed_wrong(f"hole and stud of {lug.name}"),
            inputs=inputs,
            caution_limits=(None, across * HOLE),
            source=COPPER,
        )


def _once(plan: Plan, part: Callable[[Plan, Link], Finding | None]) -> Judged:
    """One finding for all cables that the file says the same of."""
    told: dict[Hashable, tuple[Finding, list[str]]] = {}
    for link in sorted(plan.bank.links, key=lambda each: by_name(each.name)):
        made = part(plan, link) if link.cable is not None and link.cable.strap is None else None
        if made is not None:
            assert made.figure is not None
            assert link.cable is not None
            alike = told.setdefault((made.figure, made.limits, link.cable.size_path), (made, []))
            if alike[0] is not made:
                alike[1].append(link.name)
    for first, others in told.values():
        yield _WIRE.found(
            first.at,
            first.figure,
            first.limits,
            first.text,
            first.do,
            inputs=first.inputs,
            caution_limits=first.caution_limits,
            ends_at=first.ends_at,
            source=first.source,
            more=tuple(others),
        )


def _told(link: Link, item: Input, ends: Usual, text: Say, *also: Input, source: Source = COPPER) -> Finding:
    assert isinstance(item.figure, Figure)
    do = typed_wrong(f"the {item.name} of {link.name}")
    return _WIRE.found(
        link.name, item.figure, ends.possible, text, do, inputs=(item, *also), caution_limits=ends.steps, source=source
    )


def _metal(plan: Plan, link: Link) -> tuple[float, Input]:
    """Diameter of the metal of a cable as one solid round. [m]"""
    assert link.cable is not None
    across = math.sqrt(4.0 * link.cable.area / math.pi)
    return across, given("d", f"metal of {link.cable.size}", across, "height", plan.bank.key(link.cable.size_path))


def _of(plan: Plan, link: Link, named: tuple[str, str], figure: Figure, key: str) -> Input:
    assert link.cable is not None
    return Input(*named, figure, plan.bank.key(f"{link.cable.size_path.rsplit('.', 1)[0]}.{key}"))


def _across(plan: Plan, link: Link) -> Finding | None:
    assert link.cable is not None
    outer = link.cable.outer_diameter
    if outer is None:
        return None
    metal, size = _metal(plan, link)
    item = _of(plan, link, ("D", "outer diameter"), Figure(outer, "height"), "outer_diameter")
    text = say(
        "{link} is given {outer} over all; the metal of {size} alone is {metal} thick",
        link=link.name,
        outer=Figure(outer, "height"),
        size=link.cable.size,
        metal=Figure(metal, "height"),
    )
    return _told(link, item, ACROSS.times(metal), text, size)


def _apart(plan: Plan, link: Link) -> Finding | None:
    assert link.cable is not None
    spacing = link.cable.spacing
    if spacing is None:
        return None
    metal, size = _metal(plan, link)
    least = max(metal, link.cable.outer_diameter or 0.0)
    item = _of(plan, link, ("s", "spacing of the poles"), Figure(spacing, "height"), "spacing")
    text = say(
        "The middles of the poles of {link} are given {spacing} apart; one is {least} thick",
        link=link.name,
        spacing=Figure(spacing, "height"),
        least=Figure(least, "height"),
    )
    return _told(link, item, APART.times(least), text, size)


def _barrels(plan: Plan, link: Link) -> Finding | None:
    barrels = [lug.barrel for lug in (link.lug_a, link.lug_b) if lug is not None and lug.barrel is not None]
    if link.length is None or len(barrels) < 2 or link.length >= 1.0:
        return None
    item = _of(plan, link, ("L", "length"), Figure(link.length, "length"), "length")
    text = say(
        "{link} is {length} long; the barrels of its two lugs alone are {barrels}",
        link=link.name,
        length=Figure(link.length, "height"),
        barrels=Figure(sum(barrels), "height"),
    )
    barrel = Input("b", "two barrels", Figure(sum(barrels), "height"), Computed("lugs of the bank file"))
    return _told(link, item, Usual(sum(barrels), None, None, None), text, barrel)


def _way(plan: Plan, link: Link) -> Finding | None:
    assert link.cable is not None
    bend = bend_radius(link.cable)
    least = least_length(plan.bank, link, bend.value)
    if least is None or link.length is None:
        return None
    item = _of(plan, link, ("L", "length"), Figure(link.length, "length"), "length")
    text = say(
        "{link} is {length} long; its way with a bend at each end is {way}",
        link=link.name,
        length=Figure(link.length, "height"),
        way=Figure(least, "height"),
    )
    way = Input("w", "way between the posts", Figure(least, "height"), Computed("places in the frame, least bends"))
    return _told(link, item, Usual(0.5 * least, least, None, None), text, way)


def _ohms(plan: Plan, link: Link) -> Finding | None:
    if link.resistance is None or link.length is None or link.cable is None:
        return None
    usual = link.cable.ohm_per_m * link.length
    value = Figure(link.resistance.nominal, "resistance")
    item = Input("R", "measured resistance", value, plan.bank.key(f"{link.origin.path}.resistance"))
    text = say(
        "{link} is given {value}; {length} of {size} have {usual}",
        link=link.name,
        value=value,
        length=Figure(link.length, "length"),
        size=link.cable.size,
        usual=Figure(usual, "resistance"),
    )
    length = _of(plan, link, ("L", "length"), Figure(link.length, "length"), "length")
    return _told(link, item, MEASURED.times(usual), text, length, source=PRACTICE)


@check(_BAR.code, _BAR.title)
def holes_and_studs_have_room(plan: Plan) -> Iterator[Finding]:
    """A bar is wider than its hole (a caution below 1.6 times), its studs stand at least two of their diameters apart
    (a caution below 2.5), where washers side by side still lie flat; a resistance between studs is that of its metal.

    Why: a hole as wide as the bar leaves no metal, and washers that overlap clamp nothing.
    Not seen here: lugs, which are wider than washers; the bar's support.
    Source: washers twice as wide as their bolt, ISO 7089 [from memory]; steps: common practice, no source.
    """
    for bar in plan.bank.bars:
        yield from _hole(plan, bar)
        yield from _studs(plan, bar)
        yield from _segment(plan, bar)


def _bar(bar: Bar, item: Input, ends: Usual, text: Say, *also: Input) -> Finding:
    assert isinstance(item.figure, Figure)
    do = say("Take a wider or longer bar, or read the {what} of {bar} again.", what=item.name, bar=bar.name)
    return _BAR.found(bar.name, item.figure, ends.possible, text, do, inputs=(item, *also), caution_limits=ends.steps)


def _hole(plan: Plan, bar: Bar) -> Judged:
    if bar.width is None or bar.hole is None:
        return
    item = given("b", "width", bar.width, "height", plan.bank.key(f"{bar.origin.path}.width"))
    text = say(
        "{bar} is {width} wide and has holes of {hole}",
        bar=bar.name,
        width=Figure(bar.width, "height"),
        hole=Figure(bar.hole, "height"),
    )
    hole = given("hole", "hole", bar.hole, "height", plan.bank.key(f"{bar.origin.path}.hole"))
    ends = EDGE.times(bar.hole)
    lost = bar.width <= bar.hole
    made = _bar(bar, item, ends, text, hole)
    yield (
        made
        if not lost
        else _BAR.found(bar.name, made.figure, made.limits, text, made.do, inputs=made.inputs, forced="fail")
    )


def _studs(plan: Plan, bar: Bar) -> Judged:
    if bar.spacing is None or bar.spec.stud is None or len(bar.posts) < 2:
        return
    across = stud_diameter(bar.spec.stud)
    item = given("s", "spacing of the studs", bar.spacing, "height", plan.bank.key(f"{bar.origin.path}.spacing"))
    text = say(
        "Studs {stud} of {bar} stand {spacing} apart",
        stud=bar.spec.stud,
        bar=bar.name,
        spacing=Figure(bar.spacing, "height"),
    )
    stud = given("stud", "stud", across, "height", plan.bank.key(f"{bar.origin.path}.stud"))
    yield _bar(bar, item, WASHERS.times(across), text, stud)


def _segment(plan: Plan, bar: Bar) -> Judged:
    key = f"{bar.origin.path}.resistance"
    pieces = [each for each in plan.bank.pieces if each.owner == bar.name and each.resistance is not None]
    if key not in plan.bank.places or not pieces or None in (bar.width, bar.thickness, bar.spacing):
        return
    section = (bar.width or 0.0) * (bar.thickness or 0.0)
    usual = float(resistance(bar.spacing or 0.0, section))
    stated = pieces[0].resistance
    assert stated is not None
    value = Figure(stated.nominal, "resistance")
    text = say(
        "{bar} is given {value} between studs; copper of its section has {usual}",
        bar=bar.name,
        value=value,
        usual=Figure(usual, "resistance"),
    )
    item = Input("R", "resistance between studs", value, plan.bank.key(key))
    yield _bar(bar, item, Usual(0.5 * usual, 0.8 * usual, 8.0 * usual, 50.0 * usual), text)


CHECKS = (cables_agree_with_their_size, holes_and_studs_have_room)
