"""Bars beside a rack: where their strips stand and where a stud is on them.

Gives: Strip, Stud, strips(), studs(). A bar that serves several columns is drawn bent: one strip a column.
Studs with a lead lie at the height of that lead; others where their neighbours in the order of studs put them:
beyond the end of the strip, or between two leads.
Limits: heights and columns; how far outward is in sides.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Literal

from bankwright.bank.model import Bank
from bankwright.draw.arrange.grid import Grid
from bankwright.draw.arrange.topology import Topology

__all__ = ["Strip", "Stud", "strips", "studs"]

BEYOND = 14.0  # px that a strip goes on past its last lead
Way = Literal["out", "up", "down"]


@dataclass(frozen=True, slots=True)
class Stud:
    """Where something meets a bar: column, height, and the way it leaves (up and down: at the ends of the strip)."""

    column: int
    y: float
    way: Way


@dataclass(frozen=True, slots=True)
class Strip:
    """The part of a bar that stands in one column."""

    bar: str
    pole: str
    column: int
    top: float
    bottom: float


def _leads(topology: Topology, heights: Grid, bar: str) -> dict[str, tuple[int, float]]:
    """Stud -> column and height of the lead that sits on it."""
    found = {}
    for run in topology.runs:
        if run.way == "lead" and topology.owner[run.high] == bar:
            column = topology.place[topology.owner[run.low]][0]
            found[run.high] = (column, heights.end[(run.link.name, run.low)])
    return found


def _order(bank: Bank, topology: Topology, bar: str) -> list[str]:
    listed = next((b.posts for b in bank.bars if b.name == bar), ())
    return list(listed) or [post for post, owner in topology.owner.items() if owner == bar]


def studs(bank: Bank, topology: Topology, heights: Grid) -> dict[str, Stud]:
    """Every stud of every bar beside a rack that a cable sits on."""
    found: dict[str, Stud] = {}
    for bar in sorted(topology.side_bars):
        leads = _leads(topology, heights, bar)
        used = {p for run in topology.runs for p in (run.low, run.high) if topology.owner[p] == bar}
        order = [post for post in _order(bank, topology, bar) if post in used]
        found |= {post: Stud(column, y, "out") for post, (column, y) in leads.items()}
        for post in order:
            if post not in leads:
                found[post] = _between(order, leads, post)
    return found


def _between(order: list[str], leads: dict[str, tuple[int, float]], post: str) -> Stud:
    index = order.index(post)
    before = next((leads[p] for p in reversed(order[:index]) if p in leads), None)
    after = next((leads[p] for p in order[index + 1 :] if p in leads), None)
    if before and after and before[0] == after[0]:
        return Stud(before[0], (before[1] + after[1]) / 2, "out")
    near = before or after
    if near is None:
        return Stud(0, 0.0, "up")
    column, y = near
    same = [height for c, height in leads.values() if c == column]
    up = y <= (min(same) + max(same)) / 2 if len(same) > 1 else True
    lead = [i for i, p in enumerate(order) if leads.get(p) == near]
    steps = BEYOND * min(abs(index - i) for i in lead)
    return Stud(column, y - steps if up else y + steps, "up" if up else "down")


def strips(topology: Topology, at: dict[str, Stud]) -> tuple[Strip, ...]:
    """The strips of all bars beside a rack, long enough for everything that sits on them."""
    spans: dict[tuple[str, int], list[float]] = defaultdict(list)
    for post, stud in at.items():
        spans[(topology.owner[post], stud.column)].append(stud.y)
    pole = {topology.owner[p]: run.link.pole for run in topology.runs for p in (run.low, run.high)}
    return tuple(
        Strip(bar, pole[bar], column, min(ys) - BEYOND, max(ys) + BEYOND) for (bar, column), ys in sorted(spans.items())
    )
