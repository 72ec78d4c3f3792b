"""Lugs: hole and stud, barrel and cable, how many on a post.

Gives: CHECKS (P-JOINT-1 to P-JOINT-3, P-JOINT-5). The comparison itself is bank/pieces/fits, which the build sheet
asks joint by joint too.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from bankwright.bank.asks import asking
from bankwright.bank.lug_choice import LOOSE_GAP
from bankwright.bank.model import Bar, Joint
from bankwright.bank.pieces.fits import MOST_WIDE, barrel_card, barrel_fit, room_card, room_fit, stud_card, stud_fit
from bankwright.bank.sizes import stud_diameter
from bankwright.forms.card import Card, Forced
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.origin import Source
from bankwright.forms.trace import given, words
from bankwright.forms.wording import Figure, say
from bankwright.plan.context import Plan
from bankwright.plan.figures.air import post_key

__all__ = ["CHECKS"]

TAPPED = 0.78  # of the thread: least core diameter of coarse threads M5 to M16 and 1/4 to 1/2 in, ISO 724, ASME B1.1
# [from memory]; a smaller hole takes neither the stud nor its thread
ROUNDING = 1e-9  # m

_ONE, _TWO, _THREE = stud_card("P-JOINT-1"), barrel_card("P-JOINT-2"), room_card("P-JOINT-3")


def _asked(plan: Plan, joint: Joint, found: Finding) -> tuple[Missing, ...]:
    """What is missing, asked once a kind and not once a joint."""
    posts = {post.name: post for post in plan.bank.posts}
    post = posts.get(joint.post or "")
    device = next((d for d in plan.bank.devices if d.name == joint.device), None)
    asked = []
    for item in found.missing:
        if item.key.endswith((".lug", ".hole")) or item.key.startswith("kinds.device."):
            asked.append(asking(item.key))
        elif device is not None:
            asked.append(asking(f"{device.kind.path}.terminals.stud"))
        elif post is None or post.owner_kind == "junction":
            asked.append(item)
        else:
            asked.append(asking(post_key(plan, post, "stud")))
    return tuple(asked)


@check("P-JOINT-1", "The lug's hole fits the stud")
def hole_fits_the_stud(plan: Plan) -> Iterator[Finding]:
    """The hole is a little larger than the stud: 0.2 mm <= hole - stud; above 1.6 mm a caution, above 4/3 of the stud,
    where a washer rests on a rim, a fail.

    A device that sits straight on a post has no lug: its thread is held against the post's. A bar's own holes are held
    to the same limits; a smaller one may be tapped for its stud, down to 0.78 of it.

    Why: a lug that is too tight does not seat; one that is too loose touches on a rim. Inch and metric look alike.
    Not seen here: torque and washers (Build).
    Source: clearance holes ISO 273, ASME B18.2.8 [read]; thresholds common practice, no source.
    """
    told: set[tuple[str, ...]] = set()
    for joint in plan.bank.joints:
        found = stud_fit(plan.bank, joint, _ONE)
        if found.at in told:  # the other half of a pair under one bolt
            continue
        told.add(found.at)
        found = replace(found, missing=_asked(plan, joint, found))
        keys = ", ".join(item.key for item in found.missing)
        unknown = say("{joint}: not given: {keys}", joint=joint.name, keys=keys)
        yield found if found.text is not None else replace(found, text=unknown)
    for bar in plan.bank.bars:
        if bar.hole is not None and bar.spec.stud is not None:
            yield _bar_holes(plan, bar, bar.hole, bar.spec.stud)


def _bar_holes(plan: Plan, bar: Bar, hole: float, stud: str) -> Finding:
    """Holes of a bar against its own studs: passed through, or tapped for them."""
    across = stud_diameter(stud)
    tapped = hole <= across + ROUNDING
    text = say(
        "{bar} has holes of {hole} for studs {stud}"
        + (", tapped for them" if TAPPED * across <= hole and tapped else ""),
        bar=bar.name,
        hole=Figure(hole, "height"),
        stud=stud,
    )
    inputs = (
        given("hole", f"hole of {bar.name}", hole, "height", plan.bank.key(f"{bar.origin.path}.hole")),
        given("stud", f"stud of {bar.name}", across, "height", plan.bank.key(f"{bar.origin.path}.stud")),
    )
    do = say("Drill {bar} for its studs, or take studs for its holes.", bar=bar.name)
    if tapped:
        limits: tuple[float | None, float | None] = (TAPPED * across, None)
        return _ONE.found(bar.name, Figure(hole, "height"), limits, text, do, inputs=inputs)
    loose = hole - across <= MOST_WIDE * across - across + ROUNDING
    figure, limits = Figure(hole - across, "height"), (None, LOOSE_GAP)
    return _ONE.found(bar.name, figure, limits, text, do, inputs=inputs, ends_at="caution" if loose else "fail")


@check("P-JOINT-2", "The lug is listed for the cable")
def barrel_fits_the_cable(plan: Plan) -> Iterator[Finding]:
    """The lug's list contains the cable's size and its strand class.

    Why: a barrel for another size or strand class crimps loose, whatever the die. The nominal mm2 is a name.
    Not seen here: die and crimp, which belong together (Build).
    Source: NEC 110.14(A), fine-strand rule read for 2008, present number from memory.
    """
    for joint in plan.bank.joints:
        found = barrel_fit(plan.bank, joint, _TWO)
        if found is not None:
            missing = tuple(asking(item.key, item.how) for item in found.missing)
            yield replace(found, missing=missing, inputs=_listed(plan, joint))


def _listed(plan: Plan, joint: Joint) -> tuple[Input, ...]:
    """The cable, and what the lug is listed for, each with its line of the file."""
    cable, lug = plan.bank.link(joint.link).cable, joint.lug
    found = []
    if cable is not None:
        size = f"{cable.size}, {cable.strands or 'strands not given'}"
        found.append(words("cable", "size and strands", size, plan.bank.key(cable.size_path)))
    if lug is not None:
        listed = ", ".join((*lug.cables, *lug.strands)) or "not given"
        found.append(words("list", f"what {lug.name} is listed for", listed, plan.bank.key(f"{lug.path}.cables")))
    return tuple(found)


@check("P-JOINT-3", "No more lugs on a post than it takes")
def lugs_on_a_post(plan: Plan) -> Iterator[Finding]:
    """Lugs on one post are no more than its kind says; not stated: one passes, more are unknown.

    Why: every lug in between is one more contact, and the clamping length of the stud is limited.
    Not seen here: washers between lug and bar (stainless steel has 42 times the resistance of copper).
    Source: NEC 110.14(A) [from memory].
    """
    for post in plan.bank.posts:
        if post.owner_kind == "junction":
            continue
        found = room_fit(plan.bank, post.name, _THREE)
        if found is not None:
            count, allowed = len([joint for joint in plan.bank.joints if joint.post == post.name]), found.limits[1]
            told = "as many as it takes is not given" if allowed is None else f"it takes {allowed:g}"
            missing = (asking(post_key(plan, post, "lugs")),) if found.missing else ()
            yield replace(
                found,
                missing=missing,
                text=say("{count} lugs on {post}; {told}", count=str(count), post=post.name, told=told),
            )


_METALS = Card(
    "P-JOINT-5",
    "One metal at each joint",
    "metal of the bar is copper, like its lugs",
    Source("contact of aluminium and copper", how_known="common practice, no source"),
    "code",
    "caution",
)


@check(_METALS.code, _METALS.title)
def one_metal_at_a_joint(plan: Plan) -> Iterator[Finding]:
    """Lugs and bar are of one metal: bar material = copper. Ends at caution: a lug's metal and plating cannot be given.

    Why: bare copper on aluminium corrodes, its resistance grows, and no reading of the first day shows it.
    Not seen here: plating, compound and spring washers; the order of washers (lug on the bar, washers above it).
    Source: common practice, no source.
    """
    for bar in plan.bank.bars:
        if not any({link.a, link.b} & set(bar.posts) for link in plan.bank.links):
            continue
        copper = "alumin" not in bar.material
        text = say(
            "{bar} is of {metal}" + ("" if copper else ": lugs on it must be plated for it, with joint compound"),
            bar=bar.name,
            metal=bar.material,
        )
        inputs = (
            words("material", f"metal of {bar.name}", bar.material, plan.bank.key(f"{bar.origin.path}.material")),
        )
        do = say("Use tin-plated lugs listed for both metals, brush the bar, and use joint compound.")
        forced: Forced | None = None if copper else "caution"
        yield _METALS.found(bar.name, None, (None, None), text, do, inputs=inputs, forced=forced)


CHECKS = (hole_fits_the_stud, barrel_fits_the_cable, lugs_on_a_post, one_metal_at_a_joint)
