"""Steps before the first power cable is bolted: crimp proof, cables made up, bars, insulation test.

Gives: proof_step(), cable_steps(), bar_steps(), insulation_step();
counted(), cut_words(), lugged() for the steps that bolt.
Limits: nothing is bolted to a module or an inverter here.
Sources: pull-out UL 486A-486B (read on a crimp specification); insulation IEC 60364-6 table 6.1 (numbers read);
lugs and studs in bank/pieces/fits; the rest common practice, no source.
"""

from __future__ import annotations

import dataclasses
from collections import defaultdict
from collections.abc import Iterator

from bankwright.bank.lug_choice import lug_or_fit
from bankwright.bank.model import Bank, Bar, Joint, Link
from bankwright.bank.model_kinds import LugKind
from bankwright.bank.pieces.bolts import cable_lengths, direct_seats
from bankwright.bank.pieces.fits import barrel_fit, stud_fit
from bankwright.bank.pieces.wiring import colour_of
from bankwright.build import cards
from bankwright.build.steps.make import Ground, caution, make_step
from bankwright.forms.finding import Finding
from bankwright.forms.grouping import together
from bankwright.forms.origin import Source
from bankwright.forms.sheets import ReadingWanted, Step, Tick
from bankwright.forms.wording import amount_text
from bankwright.handbook.tables import OutsideTable, look_up

__all__ = [
    "bar_steps",
    "cable_steps",
    "counted",
    "cut_words",
    "insulation_step",
    "lug_words",
    "lugged",
    "proof_step",
    "real_lengths",
]


def counted(found: list[Finding]) -> Iterator[Finding]:
    """What a step's digest counts, one for all places with one figure: ticks of older logbooks hold by this rule."""
    groups: dict[tuple[object, ...], list[Finding]] = defaultdict(list)
    for finding in found:
        groups[finding.code, finding.verdict, finding.missing, finding.figure].append(finding)
    for same in groups.values():
        yield dataclasses.replace(same[0], more=tuple(name for f in same[1:] for name in f.at))


def real_lengths(bank: Bank, link: Link) -> tuple[float | None, ...]:
    """Lengths of the cables of a link, hole to hole, without those of nothing."""
    return tuple(length for length in cable_lengths(bank, link) if length != 0.0)


def cut_words(bank: Bank, link: Link) -> str:
    """A link's cables as the hand cuts them: devices part it."""
    lengths = real_lengths(bank, link)
    said = ["length not given" if n is None else amount_text(n, "length", bank.units) for n in lengths]
    return said[0] if len(said) == 1 else f"{len(said)} cables, {' and '.join(said)}"


def lugged(bank: Bank, link: Link) -> list[Joint]:
    """Joints of a link that have a lug: not those of a device straight on a post, or of a post straight on a bar."""
    if link.straight:
        return []
    bare = {joint.name for pair in direct_seats(bank, link) for joint in pair}
    return [joint for joint in bank.joints_of(link.name) if joint.name not in bare]


def _kinds(bank: Bank) -> dict[tuple[str, str], list[Link]]:
    """Links by cable and lug: what is crimped with one die."""
    groups: dict[tuple[str, str], list[Link]] = defaultdict(list)
    for link in (each for each in bank.links if each.is_cable):
        size = link.cable.size if link.cable else "cable not given"
        for name in dict.fromkeys(name.removesuffix(" (fits; confirm)") for name in _lug_names(bank, link)):
            groups[size, name].append(link)
    return groups


def _lug_names(bank: Bank, link: Link) -> Iterator[str]:
    for joint in lugged(bank, link):
        lug, fits = lug_or_fit(bank, joint)
        yield "lug not given" if lug is None else f"{lug.name} (fits; confirm)" if fits else lug.name


def lug_words(lug: LugKind | None, units: str) -> str:
    """A lug with its hole, as a step rests on it."""
    if lug is None:
        return "not given"
    return lug.name if lug.hole is None else f"{lug.name}, hole {amount_text(lug.hole, 'height', units)}"


def proof_step(bank: Bank) -> Step:
    """Crimp, pull and saw through one of each pair of lug and cable."""
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


def cable_steps(ground: Ground) -> Iterator[Step]:
    """One step for the cables of one size: cut, strip, crimp, sleeve, label."""
    bank = ground.bank
    sizes: dict[str, list[Link]] = defaultdict(list)
    for link in (each for each in bank.links if each.is_cable):
        sizes[link.cable.size if link.cable else "cable not given"].append(link)
    for size, links in sizes.items():
        yield _made_up(ground, size, links)
    straps = [link for link in bank.links if not link.is_cable and not link.straight]
    if straps:
        yield _straps_step(ground, straps)


def _straps_step(ground: Ground, links: list[Link]) -> Step:
    bank, names = ground.bank, [link.name for link in links]
    joints = [joint for link in links for joint in lugged(bank, link)]
    fits = [stud_fit(bank, joint, cards.STUD) for joint in joints]
    said = {f"strap {k.name}": f"{k.cable.size if k.cable else ''}, {cut_words(bank, k)}" for k in links}
    return make_step(
        "build.make.straps",
        "Make the straps",
        (
            "Cut each strap half its width longer than its hole on either side (lengths here are from hole to hole).",
            "Drill, deburr both faces; hold each hole against its stud.",
            "Sleeve or cover all but the ends; write its name on the sleeve.",
        ),
        f"{len(names)} straps lie ready, named, flat and bright at both ends.",
        said,
        at=names,
        pieces=ground.ids("strap/", "label/", at=names),
        tools=("saw", "drill", "heat gun"),
        after=("build.data",),
        findings=together(fits),
        counted=counted(fits),
        cautions=(caution("Metal dust from drilling stays out of the rack: drill elsewhere."),),
        ticks=tuple(Tick(f"made/{link.name}", f"{link.name}: {cut_words(bank, link)}") for link in links),
    )


def _made_up(ground: Ground, size: str, links: list[Link]) -> Step:
    bank, names = ground.bank, [link.name for link in links]
    count = sum(len(real_lengths(bank, link)) for link in links)
    joints = [joint for link in links for joint in lugged(bank, link)]
    asked = (f for joint in joints for f in (stud_fit(bank, joint, cards.STUD), barrel_fit(bank, joint, cards.LUG)))
    fits = [finding for finding in asked if finding is not None]
    dies = _dies(bank, joints)
    rests = {f"cable {link.name}": f"{size}, {cut_words(bank, link)}, {_lugs_words(bank, link)}" for link in links}
    return make_step(
        f"build.make.{size}",
        f"Make up the cables of {size}",
        (
            "Cut by the cut plan (lengths here are from hole to hole); what belongs to one group is laid side by side "
            "and is equal.",
            "Hold each lug against its stud and the cut cable before it is crimped.",
            "Strip as deep as the barrel, push in until the strands show, crimp, shrink the sleeve over barrel "
            "and insulation.",
            *(f"Crimp {lug} with: {die}." for lug, die in dies.items()),
            "Wrap the cable's name around both ends; put a cap over each lug.",
        ),
        f"{count} cables lie ready, named at both ends, every lug capped.",
        {**rests, **{f"die for {lug}": die for lug, die in dies.items()}},
        at=names,
        pieces=ground.ids("cable/", "lug/", "sleeve/", "label/", at=[*names, *(j.name for j in joints)]),
        tools=("crimp tool", "cable cutter", "heat gun"),
        after=("build.proof",),
        findings=together(fits),
        counted=counted(fits),
        cautions=(caution("No lug is crimped before its hole was held against its stud."),),
        ticks=tuple(
            Tick(f"made/{link.name}", f"{link.name}: {cut_words(bank, link)}, {colour_of(link)}") for link in links
        ),
    )


def _lugs_words(bank: Bank, link: Link) -> str:
    lugs = (lug_or_fit(bank, joint)[0] for joint in lugged(bank, link))
    return " and ".join(dict.fromkeys(lug_words(lug, bank.units) for lug in lugs))


def _dies(bank: Bank, joints: list[Joint]) -> dict[str, str]:
    """Die or tool of each kind of lug, as its sheet names it; one that is silent is asked for."""
    lugs = [lug for lug, _ in (lug_or_fit(bank, joint) for joint in joints) if lug is not None]
    return {lug.name: lug.crimp or "the die that the lug's sheet names (not given)" for lug in lugs}


def bar_steps(ground: Ground) -> Iterator[Step]:
    """Mount the bars, where the bank has any."""
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
        {f"bar {bar.name}": f"{_size(bar, bank.units)}, {len(bar.posts)} studs, {bar.material}" for bar in bank.bars},
        at=names,
        pieces=ground.ids("bar/", "bar support/", "cover/bar", at=names),
        after=("build.data",),
        cautions=(caution("Metal dust from drilling stays out of the rack: drill elsewhere."),),
        ticks=tuple(Tick(f"bar/{name}", f"{name} mounted, covered") for name in names),
    )


def _size(bar: Bar, units: str) -> str:
    sides = (bar.width, None if bar.thickness is None else bar.thickness / bar.layers)
    each = " x ".join("?" if side is None else amount_text(side, "height", units) for side in sides)
    return each if bar.layers == 1 else f"{bar.layers} stacked, each {each}"


def insulation_step(bank: Bank, after: tuple[str, ...]) -> Step:
    """Test bars and cables while no module and no inverter is on the circuit."""
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
