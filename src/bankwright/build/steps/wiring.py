"""Steps of the power cables: what is made ready, then the links one by one.

Gives: wiring_steps(). Each link step bolts one cable at both ends in the order of build/joints/order, torques what it
completes, and covers it.
Limits: whether a cable carries its current is Plan's question; torque is the maker's, never a default. Crimps, bars
and insulation test are in steps_cables, devices and inverters in steps_mount.
Sources: NEC 110.14(D) for torque; lugs and studs in bank/pieces/fits; the rest common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from bankwright.bank.bends import bend_radius
from bankwright.bank.lug_choice import lug_of
from bankwright.bank.model import Bank, Joint, Link
from bankwright.bank.pieces.bolts import Bolt, bolt_of, direct_seats
from bankwright.bank.pieces.fits import barrel_fit, room_fit, stud_fit
from bankwright.bank.pieces.wiring import terminal_name
from bankwright.build import cards
from bankwright.build.joints.order import Bolting, bolting_order, first_pole, stack_of
from bankwright.build.joints.torque import shared_bolt_findings, torque_findings, torque_words
from bankwright.build.steps.cables import (
    bar_steps,
    cable_steps,
    counted,
    cut_words,
    insulation_step,
    lug_words,
    lugged,
    proof_step,
)
from bankwright.build.steps.make import DROPPED, LIVE, Ground, caution, make_step, off_findings, switch_finding
from bankwright.build.steps.mount import mount_step
from bankwright.forms.finding import Finding
from bankwright.forms.grouping import together
from bankwright.forms.origin import Source
from bankwright.forms.sheets import Caution, Step, Tick
from bankwright.forms.wording import amount_text

__all__ = ["wiring_steps"]


def wiring_steps(ground: Ground) -> Iterator[Step]:
    """From the trial crimp to the last link."""
    bank = ground.bank
    if any(link.is_cable for link in bank.links):
        yield proof_step(bank)
    makes = list(cable_steps(ground))
    yield from makes
    made = tuple(step.id for step in makes)
    bars = tuple(bar_steps(ground))
    yield from bars
    mount = mount_step(ground)
    yield mount
    yield insulation_step(bank, (*made, *(step.id for step in bars), mount.id))
    last = "build.insulation"
    joining = _first_joining(bank, bolting_order(bank, ground.currents))
    for bolting in bolting_order(bank, ground.currents):
        if bolting.link == joining:
            asked = _match_first(bank, last)
            yield asked
            last = asked.id
        step = _link(ground, bolting, last)
        yield step
        last = step.id


def _stays_live(bank: Bank) -> tuple[str, ...]:
    """Modules of which the file names nothing that opens their posts."""
    return tuple(module.name for module in bank.modules if module.kind.breaker is None)


def _first_joining(bank: Bank, order: Sequence[Bolting]) -> str | None:
    """The link that joins a module which cannot be switched off: the first of the pole bolted last."""
    live = set(_stays_live(bank))
    owners = {post.name: post.owner for post in bank.posts}
    if not live or len(bank.modules) < 2:
        return None
    for bolting in order:
        link = bank.link(bolting.link)
        if link.pole != first_pole(bank) and {owners.get(link.a), owners.get(link.b)} & live:
            return link.name
    return None


def _match_first(bank: Bank, after: str) -> Step:
    names = _stays_live(bank)
    return make_step(
        "build.joining",
        "Match, before the second pole is bolted",
        (
            f"{', '.join(names)}: the file names nothing that opens their posts, so the cables that follow join them.",
            "Read all modules again, alone, just before: nothing of the second pole is bolted yet.",
            "bankwright match FILE with these readings. Not yes: stop, and do as its plan says.",
            "Yes: bolt the cables that follow in the order of closing that Match gives, where no stud forces another.",
        ),
        "Match said yes on readings taken just now, or every module is known to be switched off.",
        {"cannot be switched off": ", ".join(names)},
        at=names,
        after=(after,),
        hands="two people",
        tools=("meter", "meter leads"),
        findings=[finding for name in names[:1] for finding in off_findings(bank.module(name))],
        cautions=(
            caution("Bolting a cable between two live modules joins them: a spark means that they were apart."),
            LIVE,
            DROPPED,
        ),
        ticks=(Tick("match", "Match said yes, readings just taken"),),
    )


def _joint_findings(bank: Bank, joint: Joint) -> Iterator[Finding]:
    if joint in lugged(bank, bank.link(joint.link)):
        for finding in (stud_fit(bank, joint, cards.STUD), barrel_fit(bank, joint, cards.LUG)):
            if finding is not None:
                yield finding
    elif joint.post is not None:
        yield stud_fit(bank, joint, cards.STUD)  # a device straight on a post: thread on thread
    yield from torque_findings(bank, joint)


MAINS = ("main", "branch")
ALL_OPEN = (
    "Every module is off; the main switch is open and locked; AC and PV of every inverter are open and locked. "
    "Nothing is closed in this step."
)


def _link(ground: Ground, bolting: Bolting, after: str) -> Step:
    bank = ground.bank
    link = bank.link(bolting.link)
    joints = [joint for name in bolting.joints for joint in bank.joints if joint.name == name]
    bolts, torqued = bolt_of(bank), _torqued(ground, bolting, joints)
    found = _link_findings(bank, link, joints, [bolts[joint.name] for joint in torqued])
    at_main = (caution(ALL_OPEN),) if link.role in MAINS else ()
    return make_step(
        f"build.link.{link.name}",
        f"Bolt {link.name}: {link.a} to {link.b}",
        (
            _bolt_words(joints),
            _faces(link),
            *_seat_words(bank, link),
            *_stack_words(ground, bolting),
            _torque_act(torqued, bank.units),
            _relief(link, bank.units),
        ),
        _done_words(torqued),
        _rests(bank, link, joints, ground.currents),
        at=(link.name, *(joint.name for joint in joints)),
        cautions=(*at_main, *_off(bank, link), LIVE, DROPPED),
        hands="two people",
        tools=("torque wrench", "insulated tools", "paint pen"),
        pieces=_joint_pieces(ground, link, joints, [bolts[joint.name] for joint in torqued]),
        after=(after,),
        findings=together(found),
        counted=counted(found),
        source=Source("NEC", "2017, 2020", "110.14(D); order of work common practice, no source", "read"),
        ticks=_ticks(joints, torqued, bolts, bank.units),
    )


def _faces(link: Link) -> str:
    what = "Bar" if link.straight else "Lug" if link.is_cable else "Strap"
    return (
        f"Wipe both faces. {what} flat on the post, then flat washer, spring washer, nut: no washer between "
        f"{what.lower()} and post, unless the maker's sheet says otherwise."
    )


def _torqued(ground: Ground, bolting: Bolting, joints: list[Joint]) -> list[Joint]:
    """Joints whose bolts are full now, in the order in which they came."""
    bank, bolts = ground.bank, bolt_of(ground.bank)
    torqued = [joint for post in bolting.completes for joint in stack_of(bank, post, ground.currents)]
    torqued += [joint for joint in joints if joint.post is None and bolts[joint.name].owner is joint]
    place = {bolts[name].place: number for number, name in enumerate(bolting.joints)}
    return sorted(torqued, key=lambda joint: place[bolts[joint.name].place])


def _link_findings(bank: Bank, link: Link, joints: list[Joint], bolts: list[Bolt]) -> list[Finding]:
    """Lugs, studs and torques of both ends, room on their posts, bolts that several joints share, the main switch."""
    found = [f for joint in joints for f in _joint_findings(bank, joint)]
    found += [f for post in (link.a, link.b) if (f := room_fit(bank, post, cards.ROOM)) is not None]
    found += [f for bolt in bolts for f in shared_bolt_findings(bolt)]
    return [*found, *(switch_finding(bank) if link.role in MAINS else ())]


def _off(bank: Bank, link: Link) -> Iterator[Caution]:
    """Before a module's post is touched: every module off; those of which that is not known, by name."""
    owners = {post.owner for post in bank.posts if post.name in (link.a, link.b)}
    if not owners & {module.name for module in bank.modules}:
        return
    yield caution("Every module is off, its breaker open; the other posts are covered.")


def _bolt_words(joints: list[Joint]) -> str:
    places = [terminal_name(joint) for joint in joints]
    words = ", then ".join(dict.fromkeys(places))
    last = " Caps stay on the free end until it is in the hand." if len(joints) > 1 else ""
    return f"Caps off one end at a time: {words}.{last}"


def _seat_words(bank: Bank, link: Link) -> Iterator[str]:
    for first, second in direct_seats(bank, link):
        a, b = terminal_name(first), terminal_name(second)
        yield f"{a} and {b} share one bolt: no cable, no lug between them; by the holder's sheet."


def _stack_words(ground: Ground, bolting: Bolting) -> Iterator[str]:
    link = ground.bank.link(bolting.link)
    for post in (link.a, link.b):
        stack = stack_of(ground.bank, post, ground.currents)
        if len(stack) < 2:
            continue
        order = ", ".join(joint.link for joint in stack)
        if post in bolting.completes:
            yield f"{post}: from the post outward {order}, then the washers and the nut."
        else:
            yield f"{post}: leave the nut finger-tight, more lugs follow ({order} from the post outward)."


def _torque_act(torqued: list[Joint], units: str) -> str:
    if not torqued:
        return "No nut of this cable is torqued yet: another lug comes onto each of its posts."
    nuts = {terminal_name(j): torque_words(j, units) for j in torqued}
    words = "; ".join(f"{place} {torque}" for place, torque in nuts.items())
    return f"Torque: {words}. Draw a line over nut and post, take a photo."


def _relief(link: Link, units: str) -> str:
    if link.straight:
        return "The module stands so that its post meets the bar's hole without force: no weight hangs on the joint."
    if not link.is_cable:
        return "The strap lies flat on both studs without force, bent over a radius, covered along its length."
    if link.cable is None:
        return "Strain relief: the first clamp carries the cable, not the lug."
    radius = bend_radius(link.cable)
    note = " (assumed)" if radius.assumed else ""
    return (
        f"Bend no tighter than {amount_text(radius.value, 'height', units)}{note}; the first clamp carries the "
        f"cable, not the lug."
    )


def _done_words(torqued: list[Joint]) -> str:
    unknown = any(joint.torque is None for joint in torqued)
    both = "Both ends sit flat, nothing pulls on the studs, covers are on."
    return (
        f"{both} "
        f"{'One torque is still not known: this step stays open.' if unknown else 'Every torqued nut bears its line.'}"
    )


def _rests(bank: Bank, link: Link, joints: list[Joint], currents: Mapping[str, float] | None) -> dict[str, str]:
    size = link.cable.size if link.cable else "straight on the bar" if link.straight else "not given"
    rests = {"ends": f"{link.a} to {link.b}", "cable": size, "length": cut_words(bank, link)}
    for joint in joints:
        lug = lug_of(link, joint)
        torque = "not given" if joint.torque is None else f"{joint.torque:g} N m"
        rests[f"joint {joint.name}"] = (
            f"lug {lug_words(lug, bank.units)}, stud {joint.stud or 'not given'}, torque {torque}"
        )
    for post in (link.a, link.b):
        rests[f"on {post}, from the post outward"] = ", ".join(joint.link for joint in stack_of(bank, post, currents))
    return rests


def _joint_pieces(ground: Ground, link: Link, joints: list[Joint], torqued: list[Bolt]) -> tuple[str, ...]:
    lugs = (
        ground.ids(f"cable/{link.name}/")
        + ground.ids(f"strap/{link.name}/")
        + ground.ids("lug/", "sleeve/", at=[joint.name for joint in joints])
    )
    places = {bolt.place for bolt in torqued}
    sorts = ("nut", "flat washer", "spring washer", "cover")
    return lugs + tuple(f"{sort}/{place}" for place in sorted(places) for sort in sorts)


def _ticks(joints: list[Joint], torqued: list[Joint], bolts: Mapping[str, Bolt], units: str) -> tuple[Tick, ...]:
    """On, then torqued, joint by joint in the order of bolting; then covered."""
    nuts: dict[str, Joint] = {}
    for joint in torqued:
        nuts.setdefault(bolts[joint.name].place, joint)
    last = {bolts[joint.name].place: joint.name for joint in joints}
    made = []
    for joint in joints:
        place = bolts[joint.name].place
        made.append(Tick(f"bolted/{joint.name}", f"{terminal_name(joint)} on"))
        if place in nuts and last[place] == joint.name:
            nut = nuts.pop(place)
            words = f"{terminal_name(nut)}: {torque_words(nut, units)}, line, photo"
            made.append(Tick(f"torque/{nut.name}", words))
    return (*made, Tick("covered", "Covered"))
