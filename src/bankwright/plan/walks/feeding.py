"""What reaches a post without a device between: walks over the bank's graph.

Gives: bare_ways() (modules that reach a post without a device of some type), past().
Limits: whole cables: a device counts for all of its cable (plan/zones knows where it sits).
"""

from __future__ import annotations

from collections import deque

import bankwright.plan.walks.lines as lines
from bankwright.plan.context import Plan

__all__ = ["bare_ways", "past"]


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
