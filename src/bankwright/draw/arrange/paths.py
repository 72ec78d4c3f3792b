"""Paths of cables: corners of every run, and how they are written.

Gives: corners(), rounded(), Point.
Limits: level and upright pieces only; which lane and level is decided in sides and head.
"""

from __future__ import annotations

from bankwright.draw.arrange.layout import Layout
from bankwright.draw.arrange.topology import Run
from bankwright.draw.pen.svg import points

__all__ = ["Point", "corners", "rounded"]

Point = tuple[float, float]
RADIUS = 5.0


def _clean(path: list[Point]) -> list[Point]:
    """Drop doubled points and points in the middle of a straight piece."""
    kept: list[Point] = []
    for point in path:
        if kept and abs(kept[-1][0] - point[0]) < 0.05 and abs(kept[-1][1] - point[1]) < 0.05:
            continue
        if len(kept) > 1 and _straight(kept[-2], kept[-1], point):
            kept.pop()
        kept.append(point)
    return kept


def _straight(a: Point, b: Point, c: Point) -> bool:
    return any(abs(a[i] - b[i]) < 0.05 and abs(b[i] - c[i]) < 0.05 for i in (0, 1))


def _toward(a: Point, b: Point, distance: float) -> Point:
    length = abs(a[0] - b[0]) + abs(a[1] - b[1])
    part = distance / length
    return a[0] + (b[0] - a[0]) * part, a[1] + (b[1] - a[1]) * part


def rounded(path: list[Point], radius: float = RADIUS) -> str:
    """Write a path with rounded corners."""
    kept = _clean(path)
    written: list[str | float] = ["M", *kept[0]]
    for before, at, after in zip(kept, kept[1:], kept[2:], strict=False):
        near = min(radius, _length(before, at) / 2, _length(at, after) / 2)
        written += ["L", *_toward(at, before, near), "Q", *at, *_toward(at, after, near)]
    return points(*written, "L", *kept[-1])


def _length(a: Point, b: Point) -> float:
    return abs(a[0] - b[0]) + abs(a[1] - b[1])


def _start(lay: Layout, run: Run, post: str) -> tuple[int, list[Point]]:
    """Column and first corners of a run at one of its ends at the bank, ready to go outward."""
    pole, owner = run.link.pole, lay.topology.owner[post]
    if owner in lay.topology.place:
        column = lay.topology.place[owner][0]
        return column, [(lay.x(column, pole, -lay.size.inset), lay.heights.end[(run.link.name, post)])]
    stud = lay.plan.studs[post]
    x = lay.x(stud.column, pole, lay.plan.sides[(stud.column, pole)].bar[owner])
    if stud.way != "down":
        return stud.column, [(x, stud.y)]
    bottom = max(s.bottom for s in lay.plan.strips if (s.bar, s.column) == (owner, stud.column))
    return stud.column, [(x, stud.y), (x, bottom + 10)]


def _stem(lay: Layout, run: Run, column: int, part: str) -> float:
    pole = run.link.pole
    return lay.x(column, pole, lay.plan.sides[(column, pole)].stem[(run.link.name, part)])


def _loop(lay: Layout, run: Run) -> list[Point]:
    column, low = _start(lay, run, run.low)
    _, high = _start(lay, run, run.high)
    x = lay.x(column, run.link.pole, lay.plan.sides[(column, run.link.pole)].loop_lane[run.link.name])
    return [*low, (x, low[-1][1]), (x, high[-1][1]), *reversed(high)]


def _lead(lay: Layout, run: Run) -> list[Point]:
    _, low = _start(lay, run, run.low)
    stud = lay.plan.studs[run.high]
    bar = lay.plan.sides[(stud.column, run.link.pole)].bar[lay.topology.owner[run.high]]
    return [*low, (lay.x(stud.column, run.link.pole, bar), low[-1][1])]


def _cross(lay: Layout, run: Run) -> list[Point]:
    (first, low), (second, high) = _start(lay, run, run.low), _start(lay, run, run.high)
    a = _stem(lay, run, first, "low")
    if first == second:
        return [*low, (a, low[-1][1]), (a, high[-1][1]), *reversed(high)]
    b, level = _stem(lay, run, second, "high"), lay.level(run.link.name, run.link.pole)
    return [*low, (a, low[-1][1]), (a, level), (b, level), (b, high[-1][1]), *reversed(high)]


def _trunk(lay: Layout, run: Run) -> list[Point]:
    pole, name = run.link.pole, run.link.name
    column, path = _start(lay, run, run.low)
    x = _stem(lay, run, column, "low")
    path.append((x, path[-1][1]))
    if column != lay.plan.edge[pole]:
        level, gate = lay.level(name, pole), _stem(lay, run, lay.plan.edge[pole], "gate")
        path += [(x, level), (gate, level)]
        x = gate
    zone, jog = lay.edge(pole, lay.head.zone[name]), lay.jog(pole, name)
    if abs(zone - x) > 0.5:
        path += [(x, jog), (zone, jog)]
    far = lay.topology.owner[run.high]
    if far in lay.head.node:
        return [*path, (zone, lay.head.foot)]
    y = lay.head.inlet[(name, far)]
    return [*path, (zone, y), (lay.edge(pole, lay.head.box[pole]), y)]


def _branch(lay: Layout, run: Run) -> list[Point]:
    pole, name = run.link.pole, run.link.name
    branch = next(b for b in lay.head.branches[pole] if b.run.link.name == name)
    near = lay.edge(pole, lay.head.node[branch.near])
    if branch.far in lay.head.node:
        y = lay.head.node_span[branch.far][0] + 8
        return [(near, y), (lay.edge(pole, lay.head.node[branch.far]), y)]
    y = lay.head.inlet[(name, branch.far)]
    return [(near, y), (lay.edge(pole, lay.head.box[pole]), y)]


def corners(lay: Layout, run: Run) -> list[Point]:
    """The corners of a run, from its `low` end."""
    ways = {"loop": _loop, "lead": _lead, "cross": _cross, "trunk": _trunk, "top": _branch}
    return _clean(ways[run.way](lay, run))
