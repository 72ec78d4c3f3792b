"""The order of taking apart: the whole bank, one joint, cable or device, or one module, as a sheet of its own.

Gives: apart_sheet().
Limits: a pure function of the bank; ticks of it are not kept in the logbook.
Source: common practice, no source; it is the reverse of build/joints/order.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from bankwright.bank.model import Bank, Module
from bankwright.build.apart.dead import dead_steps
from bankwright.build.apart.off import cable_steps, out_steps
from bankwright.build.joints.order import Bolting, bolting_order, stack_of
from bankwright.build.steps.make import said
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.nearest import did_you_mean
from bankwright.forms.sheets import Sheet

__all__ = ["apart_sheet"]


def apart_sheet(bank: Bank, what: str | None = None, currents: Mapping[str, float] | None = None) -> Sheet:
    """All steps; `what`: a module, a link, a joint or a device that comes out, else the whole bank. QuestionError."""
    links = _links(bank, what, currents)
    steps = (*dead_steps(bank), *cable_steps(bank, links, currents), *out_steps(bank, what, links))
    title = "Taking apart " + (bank.title or "the bank" if what is None else what)
    notes = said(
        "Two people; the second one can switch off and call for help. Makers' sheets, the local code and a licensed "
        "electrician have the last word.",
        "A step that cannot be done as it stands ends the work: what is not proved dead is live.",
    )
    return Sheet("apart", title, steps, notes)


def _links(bank: Bank, what: str | None, currents: Mapping[str, float] | None) -> tuple[Bolting, ...]:
    """The cables that come off, in the order in which they come off; of one that only lies above, the one lug."""
    order = tuple(reversed(bolting_order(bank, currents)))
    if what is None:
        return order
    wanted, posts = _wanted(bank, what)
    above = _above(bank, wanted, posts, currents)
    found = []
    for bolting in order:
        if bolting.link in wanted:
            found.append(bolting)
        elif bolting.link in above:
            found.append(replace(bolting, joints=tuple(j for j in bolting.joints if j in above[bolting.link])))
    return tuple(found)


def _wanted(bank: Bank, what: str) -> tuple[set[str], set[str]]:
    """Links that come off whole, and the posts at which they do."""
    joints = {joint.name: joint for joint in bank.joints}
    modules = {module.name: module for module in bank.modules}
    devices = {device.name: device for device in bank.devices}
    links = {link.name for link in bank.links}
    if what in modules:
        posts = _posts(bank, modules[what])
        wanted = {joint.link for joint in bank.joints if joint.post in posts}
    elif what in joints:
        wanted = {joints[what].link}
    elif what in devices:
        wanted = {devices[what].on, *devices[what].also_on}
    elif what in links:
        wanted = {what}
    else:
        names = [*modules, *links, *devices, *joints]
        hint = did_you_mean(what, names, "A module, a cable, a device, or a joint as L1+@M1+", 3)
        raise QuestionError((Fault("--apart", "place-unknown", f"there is no {what!r} to take out", hint=hint),))
    return wanted, {joint.post for joint in bank.joints if joint.link in wanted and joint.post is not None}


def _posts(bank: Bank, module: Module) -> set[str]:
    return {post.name for post in bank.posts if post.owner == module.name}


def _above(bank: Bank, wanted: set[str], posts: set[str], currents: Mapping[str, float] | None) -> dict[str, set[str]]:
    """By link: joints that lie over a wanted link's own on its posts and come off before it can."""
    found: dict[str, set[str]] = {}
    for post in posts:
        stack = stack_of(bank, post, currents)
        lowest = min(n for n, joint in enumerate(stack) if joint.link in wanted)
        for joint in stack[lowest:]:
            if joint.link not in wanted:
                found.setdefault(joint.link, set()).add(joint.name)
    return found
