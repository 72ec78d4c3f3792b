"""Devices side by side: fuses and breakers in cables that lead from the same place to the same place.

Gives: side_by_side(), the cables of each such group. Two places are the same where the way between them, over bars and
cables without a device, takes up no module in between, or where all modules that reach it come in at one place of it.
Two cables fed from both ends of a bar with the modules' leads between them have a current each, and are none.
Limits: chargers and loads between two cables make no two places of one: the modules feed both cables alike.
Sources: series and parallel branches of a network [derived].
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

from bankwright.bank.model import Link, Pole
from bankwright.plan.context import Plan
from bankwright.plan.once import once
from bankwright.plan.walks.lines import Edge, conductors, is_guard, neighbours

__all__ = ["side_by_side"]

Ends = tuple[str, str]


@once
def side_by_side(plan: Plan) -> tuple[tuple[Link, ...], ...]:
    """Groups of two and more cables of one pole whose fuses and breakers lie side by side."""
    return tuple(group for pole in ("+", "-") for group in _Graph(plan, pole).groups())


@dataclass(frozen=True, eq=False)
class _Graph:
    """One pole of the wiring: its cables and bars, which cables hold a guard, and where the modules come in."""

    plan: Plan
    pole: Pole

    @cached_property
    def guarded(self) -> dict[str, Link]:
        held = (link for link in self.plan.bank.links if link.pole == self.pole)
        return {each.name: each for each in held if any(map(is_guard, self.plan.bank.devices_on(each.name)))}

    @cached_property
    def sources(self) -> frozenset[str]:
        return frozenset(next(p for p in m.posts if p.endswith(self.pole)) for m in self.plan.bank.modules)

    @cached_property
    def segments(self) -> frozenset[str]:
        return frozenset(piece.name for piece in self.plan.bank.pieces if piece.role == "segment")

    @cached_property
    def all(self) -> dict[str, list[Ends]]:
        return neighbours(self._own())

    @cached_property
    def bare(self) -> dict[str, list[Ends]]:
        return neighbours(edge for edge in self._own() if edge[0] not in self.guarded)

    def _own(self) -> Iterator[Edge]:
        poles = {post.name: post.pole for post in self.plan.bank.posts}
        return (edge for edge in conductors(self.plan) if poles[edge[1]] == self.pole)

    def groups(self) -> Iterator[tuple[Link, ...]]:
        """Cables that are side by side, joined to groups."""
        for alike in self._candidates():
            group: dict[str, set[str]] = {each.name: {each.name} for each in alike}
            for one, two in combinations(alike, 2):
                if group[one.name] is not group[two.name] and self._beside(one, two):
                    joined = group[one.name] | group[two.name]
                    group.update(dict.fromkeys(joined, joined))
            for names in {id(each): each for each in group.values()}.values():
                if len(names) > 1:
                    yield tuple(each for each in alike if each.name in names)

    def _candidates(self) -> Iterable[list[Link]]:
        """Guarded cables whose ends lie in the same two parts of the wiring without guards."""
        part = self._parts()
        found: dict[frozenset[str], list[Link]] = {}
        for link in self.guarded.values():
            found.setdefault(frozenset((part[link.a], part[link.b])), []).append(link)
        return found.values()

    def _parts(self) -> dict[str, str]:
        found: dict[str, str] = {}
        for post in self.all:
            for each in _reached(self.bare, post, ()) if post not in found else ():
                found[each] = post
        return found

    def _beside(self, one: Link, two: Link) -> bool:
        """Whether two cables lead from the same place to the same place, one way round or the other."""
        turned = ((one.a, two.a, one.b, two.b), (one.a, two.b, one.b, two.a))
        return any(self._alike((p, q), (r, s), {one.name, two.name}) for p, q, r, s in turned)

    def _alike(self, here: Ends, there: Ends, own: set[str]) -> bool:
        ways = [_way(self.bare, *ends) for ends in (here, there)]
        if ways[0] is None or ways[1] is None or set(ways[0][0]) & set(ways[1][0]) or self._in_a_row(ways, own):
            return False
        barred = {*ways[0][0], *ways[1][0]}
        return all(self._one_place(posts, edges, barred, own) for posts, edges in (ways[0], ways[1]))

    def _in_a_row(self, ways: list[tuple[list[str], list[str]] | None], own: set[str]) -> bool:
        """Whether the two meet at a place where nothing else is: one behind the other."""
        meeting = [way[0][0] for way in ways if way is not None and len(way[0]) == 1]
        users = {post for user in self.plan.users for post in user.posts} | self.sources
        return any(post not in users and {name for name, _ in self.all[post]} <= own for post in meeting)

    def _one_place(self, posts: list[str], edges: list[str], barred: set[str], own: set[str]) -> bool:
        """Whether a way is one place: no module comes in between its ends, or all come in at one post of it."""
        entries = [self._fed(post, barred - {post}, own) for post in posts]
        if sum(entries) < 2:
            return True
        return not any(entries[1:-1]) and set(edges) <= self.segments

    def _fed(self, post: str, barred: set[str], own: set[str]) -> bool:
        beside = {at: [each for each in row if each[0] not in own] for at, row in self.all.items()}
        return bool(self.sources & set(_reached(beside, post, barred)))


def _reached(beside: dict[str, list[Ends]], post: str, barred: Iterable[str]) -> tuple[str, ...]:
    """All posts that a post reaches without going through the barred ones."""
    seen, waiting = {post: None}, [post]
    no = set(barred)
    while waiting:
        for _, there in beside.get(waiting.pop(), ()):
            if there not in seen and there not in no:
                seen[there] = None
                waiting.append(there)
    return tuple(seen)


def _way(beside: dict[str, list[Ends]], start: str, end: str) -> tuple[list[str], list[str]] | None:
    """Posts and edges of the shortest way between two posts; None where there is none."""
    came: dict[str, Ends] = {start: ("", "")}
    waiting = deque([start])
    while waiting and end not in came:
        here = waiting.popleft()
        for name, there in beside.get(here, ()):
            if there not in came:
                came[there] = (name, here)
                waiting.append(there)
    if end not in came:
        return None
    posts, edges = [end], []
    while posts[-1] != start:
        name, before = came[posts[-1]]
        edges.append(name)
        posts.append(before)
    return posts, edges
