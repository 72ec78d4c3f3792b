"""Lugs: hole and stud, barrel and cable, how many on a post.

Gives: CHECKS (P-JOINT-1 to P-JOINT-3). The comparison itself is bank/fits, which the build sheet asks joint by
joint too.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from bankwright.bank.fits import barrel_fit, room_fit, stud_fit
from bankwright.bank.model import Joint
from bankwright.forms.checks import check
from bankwright.forms.finding import Finding, Input, Missing
from bankwright.forms.wording import say
from bankwright.plan.air import post_key
from bankwright.plan.asks import asking
from bankwright.plan.context import Plan
from bankwright.plan.trace import words

__all__ = ["CHECKS"]


def _asked(plan: Plan, joint: Joint, found: Finding) -> tuple[Missing, ...]:
    """What is missing, asked once a kind and not once a joint."""
    posts = {post.name: post for post in plan.bank.posts}
    post = posts.get(joint.post or "")
    device = next((d for d in plan.bank.devices if d.name == joint.device), None)
    asked = []
    for item in found.missing:
        if item.key.endswith(".lug") or item.key.endswith(".hole"):
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
    """The hole is a little larger than the stud: 0.2 mm <= hole - stud; above 1.6 mm a caution.

    Why: a lug that is too tight does not seat; one that is too loose touches on a rim. Inch and metric look alike.
    Not seen here: torque and washers (Build).
    Source: clearance holes ISO 273, ASME B18.2.8 [read]; thresholds common practice, no source.
    """
    for joint in plan.bank.joints:
        found = stud_fit(plan.bank, joint, "P-JOINT-1")
        found = replace(found, missing=_asked(plan, joint, found))
        keys = ", ".join(item.key for item in found.missing)
        unknown = say("{joint}: not given: {keys}", joint=joint.name, keys=keys)
        yield found if found.text is not None else replace(found, text=unknown)


@check("P-JOINT-2", "The lug is listed for the cable")
def barrel_fits_the_cable(plan: Plan) -> Iterator[Finding]:
    """The lug's list contains the cable's size and its strand class.

    Why: a barrel for another size or strand class crimps loose, whatever the die. The nominal mm2 is a name.
    Not seen here: die and crimp, which belong together (Build).
    Source: NEC 110.14(A), fine-strand rule read for 2008, present number from memory.
    """
    for joint in plan.bank.joints:
        found = barrel_fit(plan.bank, joint, "P-JOINT-2")
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
        found = room_fit(plan.bank, post.name, "P-JOINT-3")
        if found is not None:
            count, allowed = len([joint for joint in plan.bank.joints if joint.post == post.name]), found.limits[1]
            told = "as many as it takes is not given" if allowed is None else f"it takes {allowed:g}"
            missing = (asking(post_key(plan, post, "lugs")),) if found.missing else ()
            yield replace(
                found,
                missing=missing,
                text=say("{count} lugs on {post}; {told}", count=str(count), post=post.name, told=told),
            )


CHECKS = (hole_fits_the_stud, barrel_fits_the_cable, lugs_on_a_post)
