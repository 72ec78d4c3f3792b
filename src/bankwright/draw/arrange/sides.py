"""How far outward everything stands beside each rack: link lanes, letters, bars, trunks.

Gives: Side, Stem, Plan, plan_sides(). From the rack outward: posts, link lanes, letters, bars, upright cables.
Distances are counted from the face of the rack, outward; positive is left, negative right. From inner racks the
positive goes over, the negative under the other racks, so the poles never meet.
Limits: distances only; paths are in paths.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from bankwright.bank.model import Bank
from bankwright.draw.arrange.bars import Strip, Stud, strips, studs
from bankwright.draw.arrange.grid import Grid
from bankwright.draw.arrange.lanes import Span, lanes, nested
from bankwright.draw.arrange.sizes import BALLOON, Size, label_room
from bankwright.draw.arrange.topology import Topology

__all__ = ["Plan", "Side", "Stem", "plan_sides"]

FAR = 1e6
DEVICE_ROOM = 42.0  # px of a lead that one device takes, at scale 1


@dataclass(frozen=True, slots=True)
class Stem:
    """An upright piece of one cable beside a rack: from its height up, down, or to another height."""

    link: str
    part: str  # "low" or "high" end of the run, "gate" where an inner cable comes out at the edge, "strap" of a bar
    y: float
    to: float  # -FAR up, FAR down
    start: float = 0.0  # distance it comes from

    @property
    def span(self) -> Span:
        """Heights that it covers."""
        return min(self.y, self.to) - 6, max(self.y, self.to) + 6


@dataclass(slots=True)
class Side:
    """One side of one column: distances from the face, outward."""

    column: int
    pole: str
    loop_lane: dict[str, float] = field(default_factory=dict)
    loop_edge: float = 0.0  # outer edge of the link lanes; letters stand beyond it
    bar: dict[str, float] = field(default_factory=dict)  # bar -> middle of its strip
    stem: dict[tuple[str, str], float] = field(default_factory=dict)
    total: float = 0.0


@dataclass(frozen=True, slots=True)
class Plan:
    """All sides, strips and studs of bars, and the levels over (+) and under (-) the racks, outermost first."""

    sides: dict[tuple[int, str], Side]
    strips: tuple[Strip, ...]
    studs: dict[str, Stud]
    over: tuple[str, ...]
    under: tuple[str, ...]
    edge: dict[str, int]  # pole -> outermost column
    trunks: dict[str, tuple[str, ...]]  # pole -> links that go up, outermost first


def _loop_spans(topology: Topology, heights: Grid, column: int, pole: str) -> dict[str, Span]:
    found = {}
    for run in topology.of(pole, "loop"):
        if topology.place[topology.owner[run.low]][0] == column:
            low, high = (heights.end[(run.link.name, post)] for post in (run.low, run.high))
            found[run.link.name] = (min(low, high), max(low, high))
    return found


def _label_room(size: Size) -> float:
    return label_room(size) + BALLOON


def _lead_devices(topology: Topology, column: int, pole: str) -> int:
    counts = [
        len(run.link.devices)
        for run in topology.of(pole, "lead")
        if topology.place[topology.owner[run.low]][0] == column
    ]
    return max(counts, default=0)


def _end(topology: Topology, heights: Grid, at: dict[str, Stud], link: str, post: str) -> tuple[int, float, str]:
    """Column, height and way of one end of a cable at the bank."""
    owner = topology.owner[post]
    if owner in topology.place:
        return topology.place[owner][0], heights.end[(link, post)], "out"
    stud = at[post]
    return stud.column, stud.y, stud.way


def _near(topology: Topology, heights: Grid, at: dict[str, Stud], size: Size, column: int, *, pole: str) -> Side:
    """Link lanes, letters and bars of one side."""
    side = Side(column, pole)
    spans = _loop_spans(topology, heights, column, pole)
    lane_of = nested(list(spans.values()))
    for link, lane in zip(spans, lane_of, strict=True):
        side.loop_lane[link] = size.lane + lane * size.lane_step
    reach = size.lane + max(lane_of, default=0) * size.lane_step
    in_loops = any(run.link.devices for run in topology.of(pole, "loop") if run.link.name in spans)
    side.loop_edge = reach + (11 if in_loops else 5) if spans else 0.0
    side.total = side.loop_edge + 4 + _label_room(size) if spans else 10.0
    bars = [s for s in strips(topology, at) if (s.column, s.pole) == (column, pole)]
    if bars:
        devices = _lead_devices(topology, column, pole)
        lead = _label_room(size) + DEVICE_ROOM * size.device_scale * devices + (8 if devices else 0)
        first = max(side.total + 8, lead + 16)
        for strip, lane in zip(bars, nested([(s.top, s.bottom) for s in bars]), strict=True):
            side.bar[strip.bar] = first + lane * 30
        side.total = max(side.bar.values()) + 11
    return side


def _stems(
    topology: Topology, heights: Grid, at: dict[str, Stud], edge: dict[str, int]
) -> dict[tuple[int, str], list[Stem]]:
    """Upright pieces of every cable that leaves its rack, by side."""
    found: dict[tuple[int, str], list[Stem]] = defaultdict(list)
    for pole in "+-":
        away = -FAR if pole == "+" else FAR
        for run in topology.of(pole, "trunk", "cross"):
            ends = [("low", run.low)] + ([("high", run.high)] if run.way == "cross" else [])
            placed = [(part, *_end(topology, heights, at, run.link.name, post)) for part, post in ends]
            columns = {column for _, column, _, _ in placed}
            for part, column, y, _ in placed:
                to = away
                if run.way == "trunk" and column == edge[pole]:
                    to = -FAR
                elif run.way == "cross" and len(columns) == 1:
                    to = placed[1][2] if part == "low" else placed[0][2]
                if not (run.way == "cross" and len(columns) == 1 and part == "high"):
                    found[(column, pole)].append(Stem(run.link.name, part, y, to))
            if run.way == "trunk" and columns != {edge[pole]}:
                found[(edge[pole], pole)].append(Stem(run.link.name, "gate", away / 2, -FAR))
    return found


def _order(stems: list[Stem]) -> list[int]:
    """Inner ones first: finite by length, then those going down from the lowest, those going up from the highest."""

    def key(i: int) -> tuple[int, float, str]:
        stem = stems[i]
        if stem.to == -FAR:
            return 2, stem.y, stem.link
        if stem.to == FAR:
            return 1, -stem.y, stem.link
        return 0, abs(stem.to - stem.y), stem.link

    return sorted(range(len(stems)), key=key)


def _lay_stems(side: Side, stems: list[Stem], plain: str | None) -> None:
    """Give each upright piece its distance; `plain` goes straight up from the end of its bar."""
    todo = [stem for stem in stems if stem.link != plain]
    lane_of = lanes([stem.span for stem in todo], _order(todo))
    first = side.total + 8
    for stem, lane in zip(todo, lane_of, strict=True):
        side.stem[(stem.link, stem.part)] = first + lane * 16
    if todo:
        side.total = first + max(lane_of) * 16
    if plain is not None:
        side.stem[(plain, "low")] = max(side.bar.values())
    if side.stem:
        side.total = max(side.total, *side.stem.values())


def _level_order(plan: dict[tuple[int, str], Side], pole: str, links: list[str], edge: int) -> tuple[str, ...]:
    """Links that go over or under, outermost level first: those that start farthest from the edge, innermost lane."""

    def key(name: str) -> tuple[float, float, str]:
        starts = [
            (abs(column - edge), -distance)
            for (column, p), side in plan.items()
            if p == pole
            for found, distance in (*side.bar.items(), *_starts(side))
            if found == name
        ]
        far, inner = max(starts)
        return -far, -inner, name

    return tuple(sorted(links, key=key))


def _starts(side: Side) -> list[tuple[str, float]]:
    return [(link, distance) for (link, part), distance in side.stem.items() if part != "gate"]


def _straight(topology: Topology, at: dict[str, Stud], column: int, pole: str) -> str | None:
    """The first trunk that may go straight up from the upper end of the outermost bar."""
    for run in topology.of(pole, "trunk"):
        stud = at.get(run.low)
        if stud and stud.column == column and stud.way == "up":
            return run.link.name
    return None


def plan_sides(bank: Bank, topology: Topology, heights: Grid, size: Size) -> Plan:
    """Lay out both sides of every column."""
    at = studs(bank, topology, heights)
    edge = {"+": 0, "-": topology.columns - 1}
    stems = _stems(topology, heights, at, edge)
    sides: dict[tuple[int, str], Side] = {}
    for column in range(topology.columns):
        for pole in "+-":
            side = _near(topology, heights, at, size, column, pole=pole)
            own = stems.get((column, pole), [])
            straight = _straight(topology, at, column, pole) if column == edge[pole] and len(side.bar) == 1 else None
            _lay_stems(side, own, straight)
            sides[(column, pole)] = side
    over, under = (_levels(topology, stems, sides, pole, edge) for pole in "+-")
    trunks = {pole: _trunk_order(topology, sides[(edge[pole], pole)], pole) for pole in "+-"}
    return Plan(sides, strips(topology, at), at, over, under, edge, trunks)


def _levels(
    topology: Topology,
    stems: dict[tuple[int, str], list[Stem]],
    sides: dict[tuple[int, str], Side],
    pole: str,
    edge: dict[str, int],
) -> tuple[str, ...]:
    away = -FAR if pole == "+" else FAR
    upward = {run.link.name for run in topology.of(pole, "trunk")}
    links = [
        stem.link
        for (column, p), own in stems.items()
        if p == pole
        for stem in own
        if stem.part != "gate" and stem.to == away and (column != edge[pole] or stem.link not in upward)
    ]
    bars = [bar for (_, p), side in sides.items() if p == pole for bar in side.bar]
    bent = [bar for bar in dict.fromkeys(bars) if bars.count(bar) > 1]
    return _level_order(sides, pole, [*dict.fromkeys(links), *bent], edge[pole])


def _trunk_order(topology: Topology, side: Side, pole: str) -> tuple[str, ...]:
    """Trunks of a pole, outermost first."""
    names = {run.link.name: run for run in topology.of(pole, "trunk")}
    found = [(distance, link) for (link, part), distance in side.stem.items() if link in names and part != "high"]
    return tuple(link for _, link in sorted(found, key=lambda pair: (-pair[0], pair[1])))
