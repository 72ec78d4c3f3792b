"""How far a source is from a conductor without a device between: walks over the bank's graph.

Gives: unguarded_from() (conductor between the nearest module post and one end of a link, with no guard on the way;
None where nothing feeds that end unguarded), bare_ways() (modules that reach a post without a device of some type).
Limits: lengths of cable only; bars and inner bars count as nothing.
"""

from __future__ import annotations

import heapq
from collections import deque

import bankwright.plan.lines as lines
from bankwright.bank.model import Link
from bankwright.plan.context import Plan

__all__ = ["bare_ways", "past", "unguarded_from"]


def unguarded_from(plan: Plan, link: Link, end: str) -> float | None:
    """Shortest conductor from a module's post to this end of the link, over ways without a guard and without the
    link."""
    guarded = {each.name for each in plan.bank.links if any(lines.is_guard(d) for d in plan.bank.devices_on(each.name))}
    lengths = {each.name: each.length or 0.0 for each in plan.bank.links}
    passable = [edge for edge in lines.conductors(plan) if edge[0] != link.name and edge[0] not in guarded]
    beside = lines.neighbours(passable)
    sources = set(plan.module_of_post)
    best = {end: 0.0}
    waiting = [(0.0, end)]
    while waiting:
        far, here = heapq.heappop(waiting)
        if here in sources:
            return far
        for name, there in beside.get(here, ()):
            total = far + lengths.get(name, 0.0)
            if total < best.get(there, float("inf")):
                best[there] = total
                heapq.heappush(waiting, (total, there))
    return None


def bare_ways(plan: Plan, post: str, types: tuple[str, ...]) -> tuple[str, ...]:
    """Modules that reach a post over conductors none of which holds a device of these types."""
    held = {link.name for link in plan.bank.links if any(d.kind.type in types for d in plan.bank.devices_on(link.name))}
    beside = lines.neighbours(edge for edge in lines.conductors(plan) if edge[0] not in held)
    seen, waiting = {post}, deque([post])
    found: dict[str, None] = {}
    while waiting:
        here = waiting.popleft()
        if here in plan.module_of_post:
            found[plan.module_of_post[here].name] = None
        for _, there in beside.get(here, ()):
            if there not in seen:
                seen.add(there)
                waiting.append(there)
    return tuple(found)


def past(plan: Plan, post: str, cut: set[str]) -> bool:
    """Does a module reach this post without crossing any of these links."""
    return lines.fed(plan, post, *cut)
