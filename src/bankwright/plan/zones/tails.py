"""Conductor that lies bare: between a module's post and the first overcurrent device that its current meets.

Gives: Tail, Shared, tails_of(), shared_of(), MOST_BARE, listed(). A tail is what one module reaches alone; what two or
more reach with no device between is shared. With a device that counts at the post nothing is bare.
Limits: sources are the modules and modules to come; joints have no length of their own.
Sources: 1.5 m is common practice (not found in any text read); NEC 240.21(H), 706.31(F) [from memory].
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from bankwright.bank.model import Device
from bankwright.plan.context import Plan
from bankwright.plan.once import once
from bankwright.plan.zones.breakers import Standing, standing_of
from bankwright.plan.zones.guarding import guarding_of
from bankwright.plan.zones.zones import Zone

__all__ = ["MOST_BARE", "Shared", "Tail", "listed", "shared_of", "tails_of"]

MOST_BARE = 1.5  # m; common practice, not found in any text read


@dataclass(frozen=True, slots=True)
class Tail:
    """Conductor that one module feeds bare: to its first devices, or to the end of the line without one."""

    module: str
    links: tuple[str, ...]
    longest: float  # m, to the farthest first device
    device: str  # that device; "" where a way ends without one
    ends_at: str  # place where a way ends without a device; ""
    unplaced: tuple[Device, ...]  # devices on these cables whose place is not given
    unmeasured: tuple[str, ...]  # cables without a length
    standing: Standing


@dataclass(frozen=True, slots=True)
class Shared:
    """Conductor that several modules reach with no device between, and the standing of their breakers."""

    modules: tuple[str, ...]
    links: tuple[str, ...]
    standings: tuple[Standing, ...]
    to_come: int


def _zones(plan: Plan) -> list[Zone]:
    return [zone for zone in guarding_of(plan).all_zones.zones if zone.pole in plan.protected_poles]


def _bare(plan: Plan, zone: Zone) -> tuple[list[str], list[Standing]]:
    """Modules of a zone whose breakers do not count for sure, with their standing."""
    found = [(name, standing_of(plan, plan.bank.module(name))) for name in zone.bare]
    kept = [(name, standing) for name, standing in found if standing.counts != "yes"]
    return [name for name, _ in kept], [standing for _, standing in kept]


def _links(zone: Zone) -> tuple[str, ...]:
    bare = [s for s in zone.stretches if s.link is not None and s.device is None and s.length != 0.0]
    return tuple(dict.fromkeys(s.link for s in bare if s.link is not None))


def shared_of(plan: Plan) -> tuple[Shared, ...]:
    """What several modules reach bare."""
    found = []
    for zone in _zones(plan):
        modules, standings = _bare(plan, zone)
        if len(modules) + zone.to_come > 1:
            found.append(Shared(tuple(modules), _links(zone), tuple(standings), zone.to_come))
    return tuple(found)


@once
def tails_of(plan: Plan) -> tuple[Tail, ...]:
    """The bare tail of every module that has one, kept once found."""
    return tuple(_tail(plan, zone) for zone in _zones(plan) if _alone(plan, zone))


def _alone(plan: Plan, zone: Zone) -> bool:
    return len(_bare(plan, zone)[0]) == 1 and not zone.to_come


def _tail(plan: Plan, zone: Zone) -> Tail:
    modules, standings = _bare(plan, zone)
    module = modules[0]
    start = next(
        post for post, name in guarding_of(plan).wiring.sources.items() if name == module and post in zone.places
    )
    far = _distances(zone, start)
    users = [post for user in plan.users for post in user.posts if post in zone.places]
    names = dict.fromkeys(
        s.link for b in zone.bounds for s in guarding_of(plan).wiring.stretches if s.name == b.stretch
    )
    crossed = tuple(dict.fromkeys((*_links(zone), *(name for name in names if name is not None))))
    bounds = {bound.device.name: far.get(bound.inside, 0.0) for bound in zone.bounds}
    device = max(bounds, key=lambda name: bounds[name], default="")
    unplaced = tuple(b.device for b in zone.bounds if b.device.distance is None)
    lengths = {link.name: link.length for link in plan.bank.links}
    unmeasured = tuple(name for name in crossed if lengths[name] is None)
    longest = max(bounds.values(), default=max(far.values()))
    return Tail(module, crossed, longest, device, users[0] if users else "", unplaced, unmeasured, standings[0])


def _distances(zone: Zone, start: str) -> dict[str, float]:
    """Conductor from a place to every other place of a zone, by the shortest way. [m]"""
    beside: dict[str, list[tuple[float, str]]] = {}
    for stretch in zone.stretches:
        beside.setdefault(stretch.tail, []).append((stretch.length or 0.0, stretch.head))
        beside.setdefault(stretch.head, []).append((stretch.length or 0.0, stretch.tail))
    best, waiting = {start: 0.0}, [(0.0, start)]
    while waiting:
        far, here = heapq.heappop(waiting)
        if far > best[here]:
            continue
        for length, there in beside.get(here, ()):
            if far + length < best.get(there, float("inf")):
                best[there] = far + length
                heapq.heappush(waiting, (far + length, there))
    return best


def listed(names: Sequence[str]) -> str:
    """Names with a plus between them; many of one stem as "F-M1 to F-M4"."""
    if len(names) <= 3:
        return " + ".join(names)
    parts = []
    for _, group in groupby(sorted(names, key=_split), key=lambda name: _split(name)[0]):
        row = list(group)
        parts.append(" + ".join(row) if len(row) < 3 else f"{row[0]} to {row[-1]} ({len(row)})")
    return " + ".join(parts)


def _split(name: str) -> tuple[str, int]:
    stem = name.rstrip("0123456789")
    return stem, int(name[len(stem) :] or 0)
