"""What the bank feeds, and the main cables on their way there: the part of the drawing above the racks.

Gives: Head, plan_head(). Distances are counted from the edge of the sheet inward, on the side of each pole.
Cables that meet without a bar, and bars up there, stand upright at the side;
inverters, chargers and loads lie between the poles.
Limits: lengths only; painted in painted_head.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from bankwright.bank.model import Bank, Charger, Device, Inverter, Load
from bankwright.draw.arrange.sides import Plan
from bankwright.draw.arrange.sizes import BALLOON, Size, label_room
from bankwright.draw.arrange.topology import Run, Topology
from bankwright.draw.pen.letters import room
from bankwright.draw.pen.symbols import DEVICE_WORDS

__all__ = ["Branch", "Consumer", "Head", "consumers", "device_words", "is_brief", "plan_head"]

Consumer = Inverter | Charger | Load
BOX, BRANCH_DEVICE, DEVICE_PITCH = 46.0, 42.0, 58.0


@dataclass(frozen=True, slots=True)
class Branch:
    """A cable up there, turned so that it runs from the side of the bank to what is fed."""

    run: Run
    near: str  # owner
    far: str  # owner


@dataclass(slots=True)
class Head:
    """Where everything above the racks stands. [px]"""

    row: dict[str, float] = field(default_factory=dict)  # consumer -> middle
    node: dict[str, float] = field(default_factory=dict)  # bar or meeting point -> distance from the edge of its side
    node_span: dict[str, tuple[float, float]] = field(default_factory=dict)
    zone: dict[str, float] = field(default_factory=dict)  # trunk -> distance from the edge where its devices stand
    branches: dict[str, tuple[Branch, ...]] = field(default_factory=dict)  # pole -> in order
    inlet: dict[tuple[str, str], float] = field(default_factory=dict)  # link, consumer -> height
    box: dict[str, float] = field(default_factory=dict)  # pole -> distance of the consumers' edge
    case_line: bool = False
    most_devices: int = 0  # in one trunk
    foot: float = 40.0  # where main cables come in
    first_device: float = 0.0
    label: float = 0.0  # height of the trunks' own letters
    bottom: float = 0.0
    behind: dict[str, float] = field(default_factory=dict)  # pole -> distance behind the letters of its last trunk
    need: float = 0.0  # least width of the sheet


def consumers(bank: Bank) -> tuple[Consumer, ...]:
    """Everything with posts of its own that is fed or feeds, in the order of the file."""
    own = tuple(charger for charger in bank.chargers if charger.of is None)
    return (*bank.inverters, *own, *bank.loads)


def _branches(topology: Topology, pole: str, eaters: set[str], starts: list[str]) -> tuple[Branch, ...]:
    """Cables between things up there, walked from the main cables outward."""
    left = list(topology.of(pole, "top"))
    found: list[Branch] = []
    at = list(dict.fromkeys(starts))
    while left:
        if not at:
            free = [topology.owner[p] for run in left for p in (run.low, run.high)]
            at = [next((name for name in free if name not in eaters), free[0])]
        here = at.pop(0)
        for run in [r for r in left if here in (topology.owner[r.low], topology.owner[r.high])]:
            left.remove(run)
            ends = (topology.owner[run.low], topology.owner[run.high])
            far = ends[1] if ends[0] == here else ends[0]
            found.append(Branch(run, here, far))
            at.append(far)
    return tuple(found)


def _rows(topology: Topology, plan: Plan, head: Head, eaters: tuple[str, ...]) -> list[str]:
    """Order of the consumers, topmost first: what the outermost main cable feeds stands highest."""
    order: list[str] = []
    high = {run.link.name: topology.owner[run.high] for run in topology.of("+", "trunk")}
    todo = [high[link] for link in plan.trunks["+"]]
    while todo:
        here = todo.pop(0)
        fed = [branch.far for branch in head.branches["+"] if branch.near == here]
        order += [here] if here in eaters else []
        todo = [*[name for name in eaters if name in fed], *[n for n in fed if n not in eaters], *todo]
    return list(dict.fromkeys([*order, *eaters]))


def _trunk_letters(bank: Bank, link: str, size: Size, brief: bool) -> float:
    """Room that the letters beside a trunk need."""
    said = [device_words(device, brief) for device in bank.devices_on(link)]
    most = room("0" * (16 if size.name == "desk" else 11), size.letter, True)
    widest = max(
        [room(link, size.letter, True), room("979 A", size.letter, True), *(room(t, size.letter, True) for t in said)]
    )
    return min(widest, most) + (32 if brief else BALLOON + 38)


def device_words(device: Device, brief: bool) -> str:
    """Name and kind of a device, or its name alone where room is short."""
    return device.name if brief else f"{device.name} {DEVICE_WORDS[device.kind.type]}"


def is_brief(plan: Plan, size: Size, pole: str) -> bool:
    """True where several main cables of one pole share a narrow sheet."""
    return size.two_lines and len(plan.trunks[pole]) > 1


def _zones(bank: Bank, plan: Plan, size: Size, head: Head, pole: str) -> float:
    """Stand the trunks beside each other, each with room for its letters; returns the distance behind the last."""
    side = plan.sides[(plan.edge[pole], pole)]
    behind = 0.0
    for link in plan.trunks[pole]:
        parts = [side.stem[(link, part)] for part in ("gate", "low") if (link, part) in side.stem]
        lane = size.margin + side.total - parts[0]
        head.zone[link] = max(lane, behind)
        behind = head.zone[link] + _trunk_letters(bank, link, size, is_brief(plan, size, pole))
    return behind


def _branch_room(branch: Branch, size: Size, bank: Bank) -> float:
    devices = len(bank.devices_on(branch.run.link.name))
    letters = room("0000 A", size.letter, True) if size.two_lines else label_room(size)
    return max(letters + 16, BRANCH_DEVICE * devices + 18)


def _nodes(topology: Topology, plan: Plan, bank: Bank, size: Size, head: Head, *, pole: str, eaters: set[str]) -> float:
    """Stand meeting points and bars; returns where the consumers' edge may be."""
    for run in sorted(topology.of(pole, "trunk"), key=lambda r: head.zone[r.link.name]):
        owner = topology.owner[run.high]
        if owner not in eaters:
            head.node.setdefault(owner, head.zone[run.link.name])
    edge = max([zone + 34 for link, zone in head.zone.items() if link in plan.trunks[pole]], default=60.0)
    for branch in head.branches[pole]:
        near = head.node.setdefault(branch.near, size.margin + 24)
        reach = near + 10 + _branch_room(branch, size, bank)
        if branch.far in eaters:
            edge = max(edge, reach)
        else:
            head.node.setdefault(branch.far, reach)
            edge = max(edge, reach + 30)
    return edge


def _inlets(topology: Topology, plan: Plan, head: Head, pole: str, eaters: set[str]) -> None:
    """Heights at which cables come into each consumer, the outermost trunk topmost."""
    coming: dict[str, list[str]] = defaultdict(list)
    high = {run.link.name: topology.owner[run.high] for run in topology.of(pole, "trunk")}
    for link in plan.trunks[pole]:
        coming[high[link]].append(link)
    for branch in head.branches[pole]:
        coming[branch.far].append(branch.run.link.name)
    for name in eaters:
        for i, link in enumerate(coming[name]):
            head.inlet[(link, name)] = head.row[name] + (i - (len(coming[name]) - 1) / 2) * 14


def _spans(head: Head, pole: str, topology: Topology, eaters: set[str]) -> None:
    """How high each upright reaches: from its foot to the highest cable that leaves it."""
    trunked = {topology.owner[run.high] for run in topology.of(pole, "trunk")}
    for name in reversed([n for n in head.node if n not in head.node_span]):
        leaving = [b for b in head.branches[pole] if b.near == name]
        ys = [head.inlet[(b.run.link.name, b.far)] for b in leaving if b.far in eaters]
        ys += [head.node_span[b.far][0] + 8 for b in leaving if b.far in head.node_span]
        if not ys:
            ys = [head.foot - 24]
        head.node_span[name] = (min(ys) - 8, head.foot if name in trunked else max(ys) + 8)


def plan_head(bank: Bank, topology: Topology, plan: Plan, size: Size, case_line: bool) -> Head:
    """Lay out everything above the racks."""
    head = Head(case_line=case_line)
    eaters = tuple(item.name for item in consumers(bank))
    for pole in "+-":
        starts = [topology.owner[run.high] for run in topology.of(pole, "trunk")]
        head.branches[pole] = _branches(topology, pole, set(eaters), starts)
    on_branches = [len(bank.devices_on(b.run.link.name)) for pole in "+-" for b in head.branches[pole]]
    gap = 34.0 if any(on_branches) else 16.0  # below a device stand its name and its rating, or its balloon
    first = (56.0 if case_line else 38.0) + BOX / 2
    for i, name in enumerate(_rows(topology, plan, head, eaters)):
        head.row[name] = first + i * (BOX + gap)
    head.foot = max(head.row.values(), default=first - 40) + BOX / 2 + (24 if any(on_branches) else 12)
    head.behind = {pole: _zones(bank, plan, size, head, pole) for pole in "+-"}
    for pole in "+-":
        head.box[pole] = _nodes(topology, plan, bank, size, head, pole=pole, eaters=set(eaters))
        _inlets(topology, plan, head, pole, set(eaters))
        _spans(head, pole, topology, set(eaters))
    counts = [len(bank.devices_on(link)) for links in plan.trunks.values() for link in links]
    head.most_devices = max(counts, default=0)
    head.first_device = head.foot + 42
    head.label = head.foot + 32 + DEVICE_PITCH * head.most_devices
    brief = any(is_brief(plan, size, pole) for pole in "+-")
    head.bottom = head.label + (46 if brief else 30)
    head.need = max(head.behind["+"] + head.behind["-"], head.box["+"] + head.box["-"] + 150)
    return head
