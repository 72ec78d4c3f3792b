"""How inductive the loop is from the modules to what they feed: lengths, sections and spacing of the cables on the way.

Gives: loop_henry(), on_the_way(). Cables on the way are the mains and leads, both poles; of cables side by side the one
of least inductance alone, which is the most that the set of them can have.
Limits: modules and their own leads are not counted; a cable whose length or size is not given counts nothing.
Sources: physics/conductor.loop_inductance; spacing that is not given: common practice, no source.
"""

from __future__ import annotations

import heapq
import math

from bankwright.bank.model import BarPiece, Charger, Inverter, Link, Load
from bankwright.physics.conductor import loop_inductance
from bankwright.plan.context import Plan
from bankwright.plan.once import once

__all__ = ["loop_henry", "on_the_way"]

USUAL_SPACING = 0.05  # m, where the file is silent; common practice, no source


def loop_henry(plan: Plan, user: Inverter | Charger | Load) -> float:
    """Inductance of the loop between the modules and the posts of an inverter, a charger or a load. [H]"""
    return _to_a_module(plan, user.posts[0])


def _own(link: Link) -> float:
    if link.role not in ("main", "branch") or link.cable is None or link.length is None:
        return 0.0
    radius = math.sqrt(link.cable.area / math.pi)
    apart = max(link.cable.spacing or USUAL_SPACING, 2 * radius)
    return float(loop_inductance(link.length, apart, radius))


def _beside(plan: Plan) -> dict[str, dict[str, str]]:
    """post -> link or solid piece -> post at its other end."""
    found: dict[str, dict[str, str]] = {}
    ways: tuple[Link | BarPiece, ...] = (*plan.bank.links, *plan.bank.pieces)
    for each in ways:
        found.setdefault(each.a, {})[each.name] = each.b
        found.setdefault(each.b, {})[each.name] = each.a
    return found


@once
def _to_a_module(plan: Plan, post: str) -> float:
    """Least sum of inductances over the ways from a post to any module; nothing where no way leads to one. [H]"""
    henry = {link.name: _own(link) for link in plan.bank.links}
    beside = _beside(plan)
    least, waiting = {post: 0.0}, [(0.0, post)]
    while waiting:
        so_far, here = heapq.heappop(waiting)
        if here in plan.module_of_post:
            return so_far
        for name, there in beside.get(here, {}).items():
            total = so_far + henry.get(name, 0.0)
            if total < least.get(there, math.inf):
                least[there] = total
                heapq.heappush(waiting, (total, there))
    return 0.0


def on_the_way(plan: Plan, user: Inverter | Charger | Load) -> frozenset[str]:
    """Links and solid pieces between the modules and what they feed; what leads to something else alone is left out."""
    return _between(plan, user.posts)


@once
def _between(plan: Plan, ends: tuple[str, str]) -> frozenset[str]:
    """What is left when every dead end has been taken away, back to where ways to the modules and the posts part."""
    beside = _beside(plan)
    kept = {*ends, *plan.module_of_post}
    bare = [post for post, ways in beside.items() if len(ways) == 1 and post not in kept]
    while bare:
        post = bare.pop()
        for name, there in beside.pop(post).items():
            del beside[there][name]
            if len(beside[there]) == 1 and there not in kept:
                bare.append(there)
    return frozenset(name for ways in beside.values() for name in ways)
