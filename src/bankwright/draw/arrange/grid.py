"""Heights: where each module, post and cable end stands.

Gives: Grid, grid(). Cable ends at one module part by where they go: up on top, outward in the middle, down below;
short links lie inside long ones, so that no link crosses another of its own.
Limits: heights only; the way outward is in sides.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.model import Module
from bankwright.draw.arrange.topology import Run, Shelf, Topology

__all__ = ["Grid", "grid"]

SHELF_GAP = 34.0  # between racks that stand over each other on a narrow sheet
End = tuple[str, str]  # link, post


@dataclass(frozen=True, slots=True)
class Grid:
    """Heights on the sheet, downward. [px]"""

    pitch: float
    middle: dict[str, float]  # module
    post: dict[str, float]
    end: dict[End, float]  # of one link at one post
    shelf: tuple[tuple[Shelf, float, float], ...]  # shelf, top, floor
    top: float
    floor: float

    def face(self, module: str) -> tuple[float, float]:
        """Upper edge and height of a module's face."""
        return self.middle[module] - self.pitch / 2 + 3, self.pitch - 6


def _shelf_heights(topology: Topology, row_pitch: float, top: float) -> tuple[tuple[Shelf, float, float], ...]:
    """Columns stand on one floor; shelves of one column over each other."""
    heights = []
    for column in range(topology.columns):
        inside = [shelf for shelf in topology.shelves if shelf.column == column]
        heights.append(sum(len(s.modules) * row_pitch for s in inside) + SHELF_GAP * max(len(inside) - 1, 0))
    floor_of_all = top + max(heights, default=0.0)
    found = []
    for column in range(topology.columns):
        floor = floor_of_all
        for shelf in topology.shelves:
            if shelf.column == column:
                height = len(shelf.modules) * row_pitch
                found.append((shelf, floor - height, floor))
                floor -= height + SHELF_GAP
    return tuple(found)


def _direction(run: Run, post: str) -> int:
    """Where a run goes from a post: +1 up, 0 outward, -1 down."""
    if run.way != "loop":
        return 0
    return 1 if run.low == post else -1


def _ends_of(module: Module, pole: str, topology: Topology) -> dict[str, list[tuple[tuple[float, ...], str]]]:
    """Post -> its cable ends, topmost first."""
    ends: dict[str, list[tuple[tuple[float, ...], str]]] = {p: [] for p in module.posts if _pole_of(p, module) == pole}
    row_of = {post: topology.place[owner][1] for post, owner in topology.owner.items() if owner in topology.place}
    for run in topology.of(pole, "loop", "lead", "cross", "trunk"):
        for post in (run.low, run.high):
            if post in ends:
                way = _direction(run, post)
                far = row_of[run.high] - row_of[run.low] if way else 0
                ends[post].append(((-way, far * way), run.link.name))
    for found in ends.values():
        found.sort()
    return ends


def _pole_of(post: str, module: Module) -> str:
    return "+" if post[len(module.name) :].startswith("+") else "-"


def _upper_first(ends: dict[str, list[tuple[tuple[float, ...], str]]]) -> list[str]:
    """The posts of one pole, upper one first: the one whose cables go up more."""

    def key(post: str) -> tuple[float, str]:
        ways = [way for (way, _), _ in ends[post]]
        return (sum(ways) / len(ways) if ways else 0.5 * post.endswith("b"), post)

    return sorted(ends, key=key)


def _place_ends(
    middle: float, row_pitch: float, ends: dict[str, list[tuple[tuple[float, ...], str]]]
) -> tuple[dict[str, float], dict[End, float]]:
    order = _upper_first(ends)
    count = sum(map(len, ends.values()))
    off = min(13.0, row_pitch * 0.23)
    if len(order) == 2 and all(len(ends[post]) <= 1 for post in order):
        posts = {order[0]: middle - off, order[1]: middle + off}
        return posts, {(link, post): posts[post] for post in order for _, link in ends[post]}
    step = min(2 * off, (row_pitch - 10) / max(count, 2), 12.0)
    heights = [middle + (i - (count - 1) / 2) * step for i in range(count)]
    post_y: dict[str, float] = {}
    end_y: dict[End, float] = {}
    at = iter(heights)
    for place, post in enumerate(order):
        own = {(link, post): next(at) for _, link in ends[post]}
        end_y |= own
        free = middle + (off if place else -off) * (len(order) - 1)
        post_y[post] = sum(own.values()) / len(own) if own else free
    return post_y, end_y


def grid(topology: Topology, row_pitch: float, top: float) -> Grid:
    """Stand everything at its height; `top` is the upper edge of the highest rack."""
    shelves = _shelf_heights(topology, row_pitch, top)
    middle: dict[str, float] = {}
    posts: dict[str, float] = {}
    ends: dict[End, float] = {}
    for shelf, _, floor in shelves:
        for row, module in enumerate(shelf.modules):
            middle[module.name] = floor - (row + 0.5) * row_pitch
            for pole in "+-":
                found = _place_ends(middle[module.name], row_pitch, _ends_of(module, pole, topology))
                posts |= found[0]
                ends |= found[1]
    floor = max((low for _, _, low in shelves), default=top)
    return Grid(row_pitch, middle, posts, ends, shelves, top, floor)
