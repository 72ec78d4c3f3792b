"""Which devices lie in which line, and what guards a conductor: questions to the bank's graph, no currents.

Gives: in_line(), is_guard(), is_part_range(), conductors(), neighbours(), guards_of(), guards_towards(), other_pole(),
fed(). A guard is a fuse or breaker.
Limits: a module's own breaker is not counted as a guard of the wiring.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable

from bankwright.bank.model import Device, Link
from bankwright.plan.context import Plan
from bankwright.plan.once import once

__all__ = [
    "conductors",
    "fed",
    "guards_of",
    "guards_towards",
    "in_line",
    "is_guard",
    "is_part_range",
    "neighbours",
    "other_pole",
]

Edge = tuple[str, str, str]  # name, a, b


def in_line(plan: Plan, types: tuple[str, ...] = ("fuse", "breaker", "disconnect")) -> tuple[Device, ...]:
    """Devices of some types."""
    return tuple(device for device in plan.bank.devices if device.kind.type in types)


def is_guard(device: Device) -> bool:
    """True for what opens by itself on too much current."""
    return device.kind.type in ("fuse", "breaker")


def is_part_range(device: Device) -> bool:
    """True for fuses of class a: short circuits only."""
    name = (device.kind.device_class or "").strip().lower().removeprefix("class ").strip()
    return device.kind.type == "fuse" and name[:2] in ("ar", "am", "ab", "ag") and name[:1] == "a"


def conductors(plan: Plan) -> tuple[Edge, ...]:
    """Links and solid pieces as edges between posts."""
    return (
        *((link.name, link.a, link.b) for link in plan.bank.links),
        *((piece.name, piece.a, piece.b) for piece in plan.bank.pieces),
    )


def neighbours(edges: Iterable[Edge]) -> dict[str, list[tuple[str, str]]]:
    """post -> (edge, other post)."""
    beside: dict[str, list[tuple[str, str]]] = {}
    for name, a, b in edges:
        beside.setdefault(a, []).append((name, b))
        beside.setdefault(b, []).append((name, a))
    return beside


def guards_of(plan: Plan, link: Link) -> tuple[Device, ...]:
    """Devices that bound the current of a link: its own smallest, else the sum of those that feed it.

    Walks from each end of the link to the sources; where every way meets a guard on this side, their sum bounds the
    current that comes from there. Of two ends the smaller set rules if both are bounded; fed from one end, that one.
    """
    found = _guards(plan, link)
    twin = other_pole(plan, link)
    return found or (() if twin is None else _guards(plan, twin))


def other_pole(plan: Plan, link: Link) -> Link | None:
    """The conductor of the other pole that carries the same current: main or lead of one circuit, by its name."""
    if link.role == "link":
        return None
    name = link.name.replace("+", "\0").replace("-", "+").replace("\0", "-")
    return plan.bank.link(name) if name in {each.name for each in plan.bank.links} else None


def _guards(plan: Plan, link: Link) -> tuple[Device, ...]:
    own = [device for device in plan.bank.devices_on(link.name) if is_guard(device)]
    if own:
        return (min(own, key=lambda device: device.kind.rating or float("inf")),)
    sides = [_feeding(plan, link, end) for end in (link.a, link.b)]
    fed = [side for side in sides if side is None or side]
    if not fed or any(side is None for side in fed):
        return ()
    bounded = [side for side in fed if side is not None]
    return max(bounded, key=_sum)


def _sum(devices: tuple[Device, ...]) -> float:
    return sum(device.kind.rating or float("inf") for device in devices)


def _feeding(plan: Plan, link: Link, end: str) -> tuple[Device, ...] | None:
    """Guards on the ways from the sources to one end, leaving the link out; empty: not fed; None: a way without
    one."""
    return guards_towards(plan, end, link.name)


@once
def guards_towards(plan: Plan, post: str, without: str = "") -> tuple[Device, ...] | None:
    """First guards on the ways from a post to the modules; empty: nothing feeds it; None: a way without one."""
    sources = set(plan.module_of_post)
    guards = {each.name: [d for d in plan.bank.devices_on(each.name) if is_guard(d)] for each in plan.bank.links}
    beside = neighbours(edge for edge in conductors(plan) if edge[0] != without)
    seen, waiting = {post}, deque([post])
    found: dict[Device, None] = {}
    while waiting:
        here = waiting.popleft()
        if here in sources:
            return None
        for name, there in beside.get(here, ()):
            if guards.get(name):
                if fed(plan, there, name, without):
                    found[min(guards[name], key=lambda d: d.kind.rating or float("inf"))] = None
            elif there not in seen:
                seen.add(there)
                waiting.append(there)
    return tuple(found)


def fed(plan: Plan, post: str, *without: str) -> bool:
    """Does a module reach this post without these conductors."""
    beside = neighbours(edge for edge in conductors(plan) if edge[0] not in without)
    seen, waiting = {post}, deque([post])
    while waiting:
        here = waiting.popleft()
        if here in plan.module_of_post:
            return True
        for _, there in beside.get(here, ()):
            if there not in seen:
                seen.add(there)
                waiting.append(there)
    return False
