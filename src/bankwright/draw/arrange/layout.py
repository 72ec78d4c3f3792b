"""The whole arrangement of a bank on one sheet: every x and y that the painters need.

Gives: Layout, layout(). Depends on the bank, the size and nothing else: currents, findings and marks change letters
and widths only, so the drawing stays where it is from stage to stage.
Limits: paths of cables are in paths; nothing is painted here.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bank.model import Bank, Device, Link
from bankwright.draw.arrange.grid import Grid, grid
from bankwright.draw.arrange.head import Head, plan_head
from bankwright.draw.arrange.sides import Plan, plan_sides
from bankwright.draw.arrange.sizes import SIZES, Size, pitch
from bankwright.draw.arrange.topology import Topology, topology

__all__ = ["Layout", "layout", "ordered_devices"]

JOG, LEVEL, BETWEEN, RACK_NAME = 14.0, 30.0, 14.0, 16.0


def ordered_devices(bank: Bank, link: Link) -> tuple[Device, ...]:
    """Devices of a link from its `a` to its `b`; those of a shared handle without a place of their own come last."""
    found = {device.name: device for device in bank.devices_on(link.name)}
    first = [found.pop(name) for name in link.devices if name in found]
    return (*first, *found.values())


@dataclass(frozen=True, slots=True)
class Layout:
    """Where everything stands. [px]"""

    bank: Bank
    size: Size
    topology: Topology
    heights: Grid
    plan: Plan
    head: Head
    width: float
    height: float
    left: tuple[float, ...]  # faces of the columns
    right: tuple[float, ...]

    def x(self, column: int, pole: str, distance: float) -> float:
        """Place of a distance outward from the face of a column."""
        return self.left[column] - distance if pole == "+" else self.right[column] + distance

    def edge(self, pole: str, distance: float) -> float:
        """Place of a distance inward from the edge of the sheet."""
        return distance if pole == "+" else self.width - distance

    def level(self, name: str, pole: str) -> float:
        """Height of a cable or bar that goes over (+) or under (-) the racks."""
        if pole == "+":
            return self.head.bottom + self._jogs() + 22 + LEVEL * self.plan.over.index(name)
        return (
            self.heights.floor + 44 + self._labels() + LEVEL * (len(self.plan.under) - 1 - self.plan.under.index(name))
        )

    def jog(self, pole: str, link: str) -> float:
        """Height at which a trunk steps inward to its devices: inner ones lower."""
        return self.head.bottom + 8 + JOG * max(self.plan.trunks[pole].index(link) - 1, 0)

    def _labels(self) -> float:
        return RACK_NAME if any(shelf.label for shelf in self.topology.shelves) else 0.0

    def _jogs(self) -> float:
        return _jogs(self.plan)

    def out(self, pole: str) -> int:
        """-1 where outward is to the left."""
        return -1 if pole == "+" else 1


def _jogs(plan: Plan) -> float:
    most = max((len(links) for links in plan.trunks.values()), default=0)
    return JOG * max(most - 1, 0)


def _device_rows(bank: Bank, found: Topology) -> int:
    loops = (run.link for pole in "+-" for run in found.of(pole, "loop"))
    return max((len(bank.devices_on(link.name)) for link in loops), default=0)


def _faces(plan: Plan, columns: int, size: Size, need: float) -> tuple[float, tuple[float, ...], tuple[float, ...]]:
    """Width of the sheet and the faces of the racks; what is left over goes to faces first, then to the sides."""
    own = {pole: plan.sides[(plan.edge[pole], pole)].total + size.margin for pole in "+-"}
    gaps = [plan.sides[(c, "-")].total + plan.sides[(c + 1, "+")].total + BETWEEN for c in range(columns - 1)]
    outer = 2 * max(own.values())
    if outer + columns * size.least_face + sum(gaps) > size.width and columns == 1:
        outer = sum(own.values())  # no room for equal sides
    face = min(size.widest_face, max(size.least_face, (max(size.width, need) - outer - sum(gaps)) / columns))
    inner = columns * face + sum(gaps)
    width = max(size.width, outer + inner, need)
    first = (width - inner) / 2 if outer == 2 * max(own.values()) else own["+"] + (width - inner - outer) / 2
    lefts: list[float] = []
    for column in range(columns):
        lefts.append(first)
        first += face + (gaps[column] if column < len(gaps) else 0.0)
    return width, tuple(lefts), tuple(left + face for left in lefts)


def layout(bank: Bank, size_name: str = "desk") -> Layout:
    """Arrange a bank on a sheet of one of the two sizes."""
    size = SIZES[size_name]
    case_line = size.two_lines
    found = topology(bank, stacked=size_name == "phone")
    rows = max((found.rows(column) for column in range(found.columns)), default=0)
    step = pitch(rows, _device_rows(bank, found))
    head = plan_head(bank, found, plan_sides(bank, found, grid(found, step, 0.0), size), size, case_line)
    heights = grid(found, step, 0.0)
    plan = plan_sides(bank, found, heights, size)
    top = head.bottom + _jogs(plan) + 12 + LEVEL * len(plan.over) + (8 if plan.over else 0)
    heights = grid(found, step, top)
    plan = plan_sides(bank, found, heights, size)
    width, left, right = _faces(plan, found.columns, size, head.need)
    _widen(plan, {"+": left[0] - size.margin, "-": width - right[-1] - size.margin})
    head = plan_head(bank, found, plan, size, case_line)
    _center_boxes(head, width, left[0], right[-1], found.columns)
    labelled = any(shelf.label for shelf in found.shelves)
    low = max((strip.bottom + 8 for strip in plan.strips), default=0.0)
    under = LEVEL * len(plan.under) + 14 if plan.under else 0.0
    height = max(heights.floor, low) + 30 + (RACK_NAME if labelled else 0) + under
    return Layout(bank, size, found, heights, plan, head, width, height, left, right)


def _widen(plan: Plan, free: dict[str, float]) -> None:
    """Move bars and uprights of the outer sides to the edge of the sheet, so that letters get the room left over."""
    for pole in "+-":
        side = plan.sides[(plan.edge[pole], pole)]
        more = free[pole] - side.total
        if more > 0:
            side.bar.update({bar: distance + more for bar, distance in side.bar.items()})
            side.stem.update({key: distance + more for key, distance in side.stem.items()})
            side.total += more


def _center_boxes(head: Head, width: float, left: float, right: float, columns: int) -> None:
    """Consumers stand over the rack; over several racks, in the middle."""
    for pole, face in (("+", left), ("-", width - right)):
        head.box[pole] = max(head.box[pole], face if columns == 1 else (width - 260) / 2)
