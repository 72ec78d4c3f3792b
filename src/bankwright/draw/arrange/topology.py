"""How the links of a bank run on paper: which stay beside a rack, which go to a bar, which go up to what is fed.

Gives: Topology, topology(). Every link falls into exactly one of: loop (two modules of one column), lead (module to a
bar beside the rack), cross (between columns or bars), trunk (up to what is fed), top (between things up there).
Limits: no lengths; rows and columns are counted, grid and sides turn them into px.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import Literal

from bankwright.bank.model import Bank, Link, Module, Post

__all__ = ["MOST_ROWS", "Run", "Shelf", "Topology", "topology"]

MOST_ROWS = 16
Way = Literal["loop", "lead", "cross", "trunk", "top"]


@dataclass(frozen=True, slots=True)
class Shelf:
    """Modules that stand over each other in one rack, lowest first; a column holds one shelf (phone: all of them)."""

    label: str | None
    column: int
    modules: tuple[Module, ...]


@dataclass(frozen=True, slots=True)
class Run:
    """One link and how it runs; `low` is its end at the bank (of two ends there: the first), `high` the other."""

    link: Link
    way: Way
    low: str  # post
    high: str  # post


@dataclass(frozen=True, slots=True)
class Topology:
    """Shelves, places of modules, bars beside the rack, and the runs."""

    shelves: tuple[Shelf, ...]
    place: dict[str, tuple[int, int]]  # module -> column, row counted from the floor of its column
    side_bars: frozenset[str]  # owners of posts that are drawn as bars beside a rack
    owner: dict[str, str]  # post -> owner
    runs: tuple[Run, ...]

    @property
    def columns(self) -> int:
        """Number of columns."""
        return 1 + max((shelf.column for shelf in self.shelves), default=0)

    def rows(self, column: int) -> int:
        """Number of modules in a column."""
        return sum(len(shelf.modules) for shelf in self.shelves if shelf.column == column)

    def of(self, pole: str, *ways: Way) -> tuple[Run, ...]:
        """Runs of one pole and some ways."""
        return tuple(run for run in self.runs if run.link.pole == pole and run.way in ways)


def _by_slot(modules: list[Module]) -> list[Module]:
    return sorted(modules, key=lambda m: math.inf if m.slot is None else m.slot)


def _shelves(bank: Bank, stacked: bool) -> tuple[Shelf, ...]:
    groups: dict[str | None, list[Module]] = {rack.name: [] for rack in bank.racks}
    for module in bank.modules:
        groups.setdefault(module.rack, []).append(module)
    filled = [(name, _by_slot(group)) for name, group in groups.items() if group]
    shelves: list[Shelf] = []
    for name, group in filled:
        parts = math.ceil(len(group) / MOST_ROWS)
        rows = math.ceil(len(group) / parts)
        for first in range(0, len(group), rows):
            label = name if len(filled) > 1 else None
            shelves.append(Shelf(label, 0 if stacked else len(shelves), tuple(group[first : first + rows])))
    return tuple(shelves)


def _owners(bank: Bank) -> dict[str, str]:
    return {post.name: post.owner for post in bank.posts}


def _side_bars(bank: Bank, posts: dict[str, Post]) -> frozenset[str]:
    """A bar (or a point where cables meet) stands beside the rack when it gathers modules, not only main cables."""
    gathers: dict[str, set[str]] = defaultdict(set)
    chained = {link.pole for link in bank.links if all(posts[end].owner_kind == "module" for end in (link.a, link.b))}
    for link in bank.links:
        for near, far in ((posts[link.a], posts[link.b]), (posts[link.b], posts[link.a])):
            if near.owner_kind == "module" and far.owner_kind in ("bar", "junction"):
                gathers[far.owner].add(near.owner)
    kind = {post.owner: post.owner_kind for post in posts.values()}
    pole = {post.owner: post.pole for post in posts.values() if post.owner_kind in ("bar", "junction")}
    least = {"bar": 1, "junction": 2}
    return frozenset(
        name for name, modules in gathers.items() if len(modules) >= (3 if pole[name] in chained else least[kind[name]])
    )


def _run(link: Link, posts: dict[str, Post], place: dict[str, tuple[int, int]], bars: frozenset[str]) -> Run:
    def at_bank(post: Post) -> bool:
        return post.owner in place or post.owner in bars

    a, b = posts[link.a], posts[link.b]
    if not at_bank(a) and not at_bank(b):
        return Run(link, "top", a.name, b.name)
    if at_bank(a) != at_bank(b):
        low, high = (a, b) if at_bank(a) else (b, a)
        return Run(link, "trunk", low.name, high.name)
    if a.owner in place and b.owner in place:
        same = place[a.owner][0] == place[b.owner][0]
        low, high = sorted((a, b), key=lambda post: place[post.owner])
        return Run(link, "loop" if same else "cross", low.name, high.name)
    if a.owner in bars and b.owner in bars:
        return Run(link, "cross", a.name, b.name)
    low, high = (a, b) if a.owner in place else (b, a)
    return Run(link, "lead", low.name, high.name)


def topology(bank: Bank, stacked: bool = False) -> Topology:
    """Sort the links of a bank by how they run; `stacked` puts all racks into one column, for narrow sheets."""
    shelves = _shelves(bank, stacked)
    place: dict[str, tuple[int, int]] = {}
    counted: dict[int, int] = defaultdict(int)
    for shelf in shelves:
        for module in shelf.modules:
            place[module.name] = (shelf.column, counted[shelf.column])
            counted[shelf.column] += 1
    posts = {post.name: post for post in bank.posts}
    bars = _side_bars(bank, posts)
    runs = tuple(_run(link, posts, place, bars) for link in bank.links)
    return Topology(shelves, place, bars, _owners(bank), runs)
