"""Steps of the power cables: crimp proof, cables made up, bars, insulation test, then the links one by one.

Gives: wiring_steps(). Each link step bolts one cable at both ends in the order of build/order, torques what it
completes, and covers it.
Limits: whether a cable carries its current is Plan's question; torque is the maker's, never a default.
Sources: pull-out UL 486A-486B (read on a crimp specification); insulation IEC 60364-6 table 6.1 (numbers read);
lugs and studs in bank/fits; the rest common practice, no source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping

from bankwright.bank.bends import bend_radius
from bankwright.bank.fits import barrel_fit, room_fit, stud_fit
from bankwright.bank.model import Bank, Joint, Link
from bankwright.bank.pieces_wiring import colour_of, lug_of
from bankwright.build.order import Bolting, bolting_order, stack_of
from bankwright.build.steps import DROPPED, LIVE, Ground, caution, make_step, switch_finding
from bankwright.build.torque import torque_findings, torque_words
from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.forms.sheets import ReadingWanted, Step, Tick
from bankwright.forms.wording import amount_text
from bankwright.handbook.tables import OutsideTable, look_up

__all__ = ["wiring_steps"]


def wiring_steps(ground: Ground) -> Iterator[Step]:
    """From the trial crimp to the last link."""
    bank = ground.bank
    yield _proof(bank)
    makes = list(_makes(ground))
    yield from makes
    made = tuple(step.id for step in makes)
    bars = tuple(_bars(ground))
    yield from bars
    yield _insulation(bank, (*made, *(step.id for step in bars)))
    last = "build.insulation"
    for bolting in bolting_order(bank, ground.currents):
        step = _link(ground, bolting, last)
        yield step
        last = step.id


def _kinds(bank: Bank) -> dict[tuple[str, str], list[Link]]:
    """Links by cable and lug: what is crimped with one die."""
    groups: dict[tuple[str, str], list[Link]] = defaultdict(list)
    for link in bank.links:
        size = link.cable.size if link.cable else "cable not given"
        for name in dict.fromkeys(_lug_name(bank, link)):
            groups[size, name].append(link)
    return groups


def _lug_name(bank: Bank, link: Link) -> Iterator[str]:
    for joint in bank.joints_of(link.name):
        lug = lug_of(link, joint)
        yield lug.name if lug is not None else "lug not given"


def _proof(bank: Bank) -> Step:
    acts, kinds = [], _kinds(bank)
    for size, lug in sorted(kinds):
        try:
            force = amount_text(look_up("ul-486a/pull-out", size, "force").value, "force", bank.units)
            pull = f"it must hold {force}"
        except OutsideTable:
            pull = "its pull-out is in the lug's sheet"
        acts.append(f"{lug} on {size}: crimp one on a short end, pull it ({pull}), saw it through and look.")
    acts.append("Strands fill the barrel without a gap, none is outside, the die's mark is whole.")
    return make_step(
        "build.proof",
        "Trial crimp, before any cable is made up",
        acts,
        "One crimp of each pair of lug and cable has been pulled and sawn through, and is full.",
        {"pairs": "; ".join(f"{lug} on {size}" for size, lug in sorted(kinds))},
        tools=("crimp tool", "cable cutter"),
        after=("build.data",),
        source=Source("UL 486A-486B", place="pull-out", how_known="read, address withheld"),
        cautions=(caution("Die and lug belong together: a near die looks right and comes loose warm."),),
        ticks=tuple(Tick(f"proof/{lug}/{size}", f"{lug} on {size}") for size, lug in sorted(kinds)),
    )


def _length_words(bank: Bank, link: Link) -> str:
    return "length not given" if link.length is None else amount_text(link.length, "length", bank.units)


def _makes(ground: Ground) -> Iterator[Step]:
    """One step for the cables of one size: cut, strip, crimp, sleeve, label."""
    bank = ground.bank
    sizes: dict[str, list[Link]] = defaultdict(list)
    for link in bank.links:
        sizes[link.cable.size if link.cable else "cable not given"].append(link)
    for size, links in sizes.items():
        names = [link.name for link in links]
        joints = [joint for link in links for joint in bank.joints_of(link.name)]
        found = [f for joint in joints for f in (stud_fit(bank, joint, "BLD-STUD"), barrel_fit(bank, joint, "BLD-LUG"))]
        acts = (
            "Cut by the cut plan; what belongs to one group is laid side by side and is equal.",
            "Strip as deep as the barrel, push in until the strands show, crimp, shrink the sleeve over barrel "
            "and insulation.",
            "Wrap the cable's name around both ends; put a cap over each lug.",
        )
        yield make_step(
            f"build.make.{size}",
            f"Make up the cables of {size}",
            acts,
            f"{len(links)} cables lie ready, named at both ends, every lug capped.",
            {f"cable {link.name}": f"{size}, {_length_words(bank, link)}, {_lugs_words(bank, link)}" for link in links},
            at=names,
            pieces=ground.ids("cable/", "lug/", "sleeve/", "label/", at=[*names, *(j.name for j in joints)]),
            tools=("crimp tool", "cable cutter", "heat gun"),
            after=("build.proof",),
            findings=_folded([f for f in found if f is not None]),
            cautions=(caution("No lug is crimped before its hole was held against its stud."),),
            ticks=tuple(
                Tick(f"made/{link.name}", f"{link.name}: {_length_words(bank, link)}, {colour_of(link)}")
                for link in links
            ),
        )


def _lugs_words(bank: Bank, link: Link) -> str:
    return " and ".join(dict.fromkeys(_lug_name(bank, link)))


def _folded(found: list[Finding]) -> Iterator[Finding]:
    """One finding for all places that say the same."""
    import dataclasses

    groups: dict[tuple[object, ...], list[Finding]] = defaultdict(list)
    for finding in found:
        groups[finding.code, finding.verdict, finding.missing, finding.figure].append(finding)
    for same in groups.values():
        yield dataclasses.replace(same[0], more=tuple(name for f in same[1:] for name in f.at))


def _bars(ground: Ground) -> Iterator[Step]:
    bank = ground.bank
    if not bank.bars:
        return
    names = [bar.name for bar in bank.bars]
    acts = ["Fix the supports to the frame, the bars to the supports; nothing else is on the bars yet."]
    for bar in bank.bars:
        hole = "" if bar.hole is None else f", holes {amount_text(bar.hole, 'height', bank.units)}"
        acts.append(f"{bar.name}: {len(bar.posts)} studs{hole}; deburr, wipe, cover.")
    yield make_step(
        "build.bars",
        "Mount the bars",
        acts,
        "The bars sit firm, clear of the frame and of each other, and are covered.",
        {
            f"bar {bar.name}": f"{bar.width} x {bar.thickness}, {len(bar.posts)} studs, {bar.material}"
            for bar in bank.bars
        },
        at=names,
        pieces=ground.ids("bar/", "bar support/", "cover/bar", at=names),
        after=("build.data",),
        cautions=(caution("Metal dust from drilling stays out of the rack: drill elsewhere."),),
        ticks=tuple(Tick(f"bar/{name}", f"{name} mounted, covered") for name in names),
    )


def _insulation(bank: Bank, after: tuple[str, ...]) -> Step:
    nominal = max((module.kind.nominal_voltage for module in bank.modules), default=51.2)
    test = look_up("iec-60364-6/insulation", nominal, "test", "next_larger")
    least = look_up("iec-60364-6/insulation", nominal, "least", "next_larger")
    volts = amount_text(test.value, "voltage", bank.units)
    names = [bar.name for bar in bank.bars]
    places = (
        names or [link.name for link in bank.links if link.role == "main"] or [link.name for link in bank.links[:1]]
    )
    what = (
        "each bar to the frame, bar to bar, each made-up cable through"
        if names
        else "each made-up cable: core to jacket, end to end"
    )
    wanted = tuple(ReadingWanted("resistance", name, f"insulation at {volts}", least.value, None) for name in places)
    assert isinstance(test.origin, Source)
    return make_step(
        "build.insulation",
        "Insulation and continuity, while no module and no inverter is on the circuit",
        (
            "Look: nothing is bolted to a module, nothing to an inverter.",
            f"Test at {volts} DC: {what}.",
            "Discharge what was tested before you touch it.",
        ),
        f"At least {amount_text(least.value, 'resistance', bank.units)} everywhere; every cable has continuity.",
        {"nominal": f"{nominal:g} V", "tested": ", ".join(places)},
        at=tuple(places),
        readings=wanted,
        after=after,
        tools=("insulation tester",),
        source=test.origin,
        cautions=(
            caution("Never across a module's electronics or an inverter's input: the test voltage destroys them."),
            caution("The test leaves charge behind; short it away through the tester."),
        ),
        ticks=(Tick("alone", "No module, no inverter connected"), Tick("tested", "All tested")),
    )


def _joint_findings(bank: Bank, joint: Joint) -> Iterator[Finding]:
    for finding in (stud_fit(bank, joint, "BLD-STUD"), barrel_fit(bank, joint, "BLD-LUG")):
        if finding is not None:
            yield finding
    yield from torque_findings(bank, joint)


def _link(ground: Ground, bolting: Bolting, after: str) -> Step:
    bank = ground.bank
    link = bank.link(bolting.link)
    joints = [joint for name in bolting.joints for joint in bank.joints if joint.name == name]
    found = [f for joint in joints for f in _joint_findings(bank, joint)]
    found += [f for post in (link.a, link.b) if (f := room_fit(bank, post, "BLD-ROOM")) is not None]
    torqued = [joint for post in bolting.completes for joint in stack_of(bank, post, ground.currents)]
    torqued += [joint for joint in joints if joint.post is None]
    main = link.role in ("main", "branch")
    cautions = [LIVE, DROPPED]
    if main:
        found += switch_finding(bank)
        cautions.insert(
            0, caution("The main switch is open and locked; every module is off. Nothing is closed in this step.")
        )
    return make_step(
        f"build.link.{link.name}",
        f"Bolt {link.name}: {link.a} to {link.b}",
        (
            _bolt_words(joints),
            *_stack_words(ground, bolting),
            _torque_act(torqued, bank.units),
            _relief(link, bank.units),
        ),
        _done_words(torqued),
        _rests(bank, link, joints, ground.currents),
        at=(link.name, *(joint.name for joint in joints)),
        cautions=cautions,
        hands="two people",
        tools=("torque wrench", "insulated tools", "paint pen"),
        pieces=_joint_pieces(ground, link, joints, torqued),
        after=(after,),
        findings=_folded(found),
        source=Source("NEC", "2017, 2020", "110.14(D); order of work common practice, no source", "read"),
        ticks=_ticks(joints, torqued, bank.units),
    )


def _terminal(joint: Joint) -> str:
    """Post, or terminal of a device with its side: `F1a`."""
    return joint.name.split("@", 1)[1]


def _bolt_words(joints: list[Joint]) -> str:
    places = [_terminal(joint) for joint in joints]
    words = ", then ".join(dict.fromkeys(places))
    last = " Caps stay on the free end until it is in the hand." if len(joints) > 1 else ""
    return f"Caps off one end at a time: {words}.{last}"


def _stack_words(ground: Ground, bolting: Bolting) -> Iterator[str]:
    link = ground.bank.link(bolting.link)
    for post in (link.a, link.b):
        stack = stack_of(ground.bank, post, ground.currents)
        if len(stack) < 2:
            continue
        order = ", ".join(joint.link for joint in stack)
        if post in bolting.completes:
            words = f"{order}, flat washer, spring washer, nut"
            yield f"{post}: from the post outward {words}; no washer between lug and post."
        else:
            yield f"{post}: leave the nut finger-tight, more lugs follow ({order} from the post outward)."


def _torque_act(torqued: list[Joint], units: str) -> str:
    if not torqued:
        return "No nut of this cable is torqued yet: another lug comes onto each of its posts."
    nuts = {_terminal(j): torque_words(j, units) for j in torqued}
    words = "; ".join(f"{place} {torque}" for place, torque in nuts.items())
    return f"Torque: {words}. Draw a line over nut and post, take a photo."


def _relief(link: Link, units: str) -> str:
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
    both = "Both ends sit flat, the cable does not pull on its lugs, covers are on."
    return (
        f"{both} "
        f"{'One torque is still not known: this step stays open.' if unknown else 'Every torqued nut bears its line.'}"
    )


def _rests(bank: Bank, link: Link, joints: list[Joint], currents: Mapping[str, float] | None) -> dict[str, str]:
    size = link.cable.size if link.cable else "not given"
    rests = {"ends": f"{link.a} to {link.b}", "cable": size, "length": _length_words(bank, link)}
    for joint in joints:
        lug = lug_of(link, joint)
        torque = "not given" if joint.torque is None else f"{joint.torque:g} N m"
        rests[f"joint {joint.name}"] = (
            f"lug {lug.name if lug else 'not given'}, stud {joint.stud or 'not given'}, torque {torque}"
        )
    for post in (link.a, link.b):
        rests[f"on {post}, from the post outward"] = ", ".join(joint.link for joint in stack_of(bank, post, currents))
    return rests


def _joint_pieces(ground: Ground, link: Link, joints: list[Joint], torqued: list[Joint]) -> tuple[str, ...]:
    lugs = ground.ids(f"cable/{link.name}/") + ground.ids("lug/", "sleeve/", at=[joint.name for joint in joints])
    places = {joint.post or joint.name for joint in torqued}
    sorts = ("nut", "flat washer", "spring washer", "cover")
    return lugs + tuple(f"{sort}/{place}" for place in sorted(places) for sort in sorts)


def _ticks(joints: list[Joint], torqued: list[Joint], units: str) -> tuple[Tick, ...]:
    made = [Tick(f"bolted/{joint.name}", f"{_terminal(joint)} on") for joint in joints]
    seen: dict[str, Joint] = {}
    for joint in torqued:
        seen.setdefault(joint.post or joint.name, joint)
    made += [
        Tick(f"torque/{joint.name}", f"{_terminal(joint)}: {torque_words(joint, units)}, line, photo")
        for joint in seen.values()
    ]
    return (*made, Tick("covered", "Covered"))
