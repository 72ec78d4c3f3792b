"""The network of a bank: posts become nodes; links, bar pieces, modules, inverters, chargers and loads become edges.

Gives: network_of(), stand_in(), asked_of(). With `fine`, every link is cut at its devices and in the middle of its
cable, so that a short can be put there; loops, and so the work of solving, stay the same.
Joints and inner bars that are not given take the usual value of the handbook's range and are marked `assumed`, a device
counts as 0 ohm and is marked; so is what the bank itself says it assumes. The network lists all of it. A missing module
resistance, cable or length stays missing and is asked for by the case that needs it.
Sources: alpha of copper IEC 60028:1925 [read]; handbook tables published/ranges (joint) and connections/limits (bar
between two posts, two contacts and bar).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache

from bankwright.bank.model import Bank, BarPiece, Charger, Device, Inverter, Joint, Link, Load, Module
from bankwright.circuit.network import Edge, Element, Network
from bankwright.circuit.of_bank.cell_part import HOW_TO_GET, Question, lasting, module_resistance
from bankwright.circuit.solver.graph import check
from bankwright.forms.assumed import Assumed
from bankwright.forms.constants import COPPER_ALPHA_20
from bankwright.forms.origin import Origin, Source
from bankwright.forms.toleranced import Toleranced, exact
from bankwright.forms.wording import Figure
from bankwright.handbook.tables import look_up

__all__ = ["asked_of", "network_of", "stand_in"]

_RANGES = {
    "joint": ("published/ranges", "joint", "joint"),
    "inner": ("connections/limits", "bar between two posts", "resistance"),
}
NAMES = {"joint": "resistance of each joint not given", "inner": "resistance of each bar inside a module not given"}
LEFT_OUT = Source("left out: taken as 0 ohm, because it was not given", how_known="common practice, no source")


@cache
def stand_in(what: str) -> tuple[Toleranced, Origin]:
    """Range of a resistance that was not given, "joint" or "inner", with its source and how that is known."""
    found = look_up(*_RANGES[what])
    low, high = found.low, found.high
    return Toleranced(
        found.value, found.value if low is None else low, found.value if high is None else high
    ), found.origin


def network_of(
    bank: Bank, question: Question = "dc", temperature_degc: float | None = None, fine: bool = False
) -> Network:
    """Build and check the network; `question` and the cells' temperature choose the modules' resistance."""
    stood = frozenset(each.key for each in bank.assumed)
    named = frozenset(place for each in bank.assumed for place in each.places)
    edges = [_module_edge(module, asked_of(bank, module, question), temperature_degc, stood) for module in bank.modules]
    edges += [_piece_edge(piece, piece.name in named) for piece in bank.pieces]
    for link in bank.links:
        parts = tuple(_along(bank, link))
        edges += (
            list(_cut(bank, link, parts))
            if fine
            else [Edge(link.name, link.a, link.b, "passive", _whole(bank, link, parts))]
        )
    drawing: tuple[Inverter | Charger | Load, ...] = (*bank.inverters, *bank.chargers, *bank.loads)
    loads = [_load_edge(thing) for thing in drawing]
    if not loads and all(bank.feed_posts):
        loads = [Edge("feed", bank.feed_posts[0][0], bank.feed_posts[1][0], "load")]
    network = Network.of((*edges, *loads), _assumed(bank, question, (*edges, *loads)))
    check(network, network.resistances() @ network.series)
    return network


def _assumed(bank: Bank, question: Question, edges: Iterable[Edge]) -> Iterator[Assumed]:
    """What nobody gave: what the bank itself assumes for this question, then joints, inner bars, devices left out."""
    asked = {f"{m.kind.path}.resistance.{asked_of(bank, m, question)}" for m in bank.modules}
    yield from (each for each in bank.assumed if ".resistance." not in each.key or each.key in asked)
    found = [e for edge in edges for e in edge.elements if e.assumed and e.resistance is not None]
    for kind, what in (("joint", "joint"), ("bar", "inner")):
        inside = [e for e in found if e.kind == kind and e.origin == stand_in(what)[1]]
        if inside:
            value, origin = stand_in(what)
            figure = Figure(value.nominal, "resistance", value.low, value.high)
            yield Assumed(NAMES[what], figure, "usual", origin, tuple(e.name for e in inside))
    out = [e for e in found if e.kind == "device"]
    if out:
        name = f"resistance of {', '.join(e.name for e in out)} left out"
        yield Assumed(name, Figure(0.0, "resistance"), "left out", LEFT_OUT, tuple(e.name for e in out), out[0].needs)


def _load_edge(thing: Inverter | Charger | Load) -> Edge:
    plus, minus = thing.posts
    return Edge(thing.name, plus, minus, "load")


def asked_of(bank: Bank, module: Module, question: Question) -> Question:
    """The question itself; of a surge the one that its longest time asks for."""
    if question != "surge":
        return question
    times = [inverter.kind.surge_time for inverter in bank.inverters if inverter.kind.surge_time is not None]
    return lasting(module.kind, max(times, default=None))


def _module_edge(module: Module, question: Question, temperature_degc: float | None, stood_in: frozenset[str]) -> Edge:
    minus, plus = (next(post for post in module.posts if post.endswith(end)) for end in "-+")
    resistance = module_resistance(module, question, temperature_degc)
    key = f"{module.kind.path}.resistance.{question}"
    stood = key in stood_in
    element = Element(module.name, "module", resistance, 0.0, module.origin, key, HOW_TO_GET[question], stood)
    return Edge(module.name, minus, plus, "module", (element,))


def _piece_edge(piece: BarPiece, stood: bool) -> Edge:
    inner = piece.resistance is None and piece.role == "inner"
    value, origin = stand_in("inner") if inner else (piece.resistance, piece.origin)
    how = "Give the bar's width, thickness and stud spacing."
    element = Element(piece.name, "bar", value, COPPER_ALPHA_20, origin, piece.origin.path, how, inner or stood)
    return Edge(piece.name, piece.a, piece.b, "passive", (element,))


def _joint(joint: Joint) -> Element:
    if joint.resistance is None:
        value, origin = stand_in("joint")
        return Element(joint.name, "joint", value, 0.0, origin, joint.origin.path, assumed=True)
    return Element(joint.name, "joint", joint.resistance, 0.0, joint.origin, joint.origin.path)


def _device(device: Device, link: Link) -> Element:
    name = device.name if device.on == link.name else f"{device.name}@{link.name}"
    key = f"{device.kind.path}.resistance"
    if device.kind.resistance is None:
        return Element(name, "device", exact(0.0), 0.0, LEFT_OUT, key, assumed=True)
    return Element(name, "device", device.kind.resistance, 0.0, device.origin, key)


def _conductor(bank: Bank, link: Link, length: float | None, name: str) -> Element:
    """A stretch of the link's cable; `length` None: all of it."""
    length = link.length if length is None else length
    how = "Give the length of the cable, measured along it, and its size."
    if link.resistance is not None:
        part = 1.0 if length is None or not link.length else length / link.length
        return Element(name, "conductor", link.resistance.scaled(part), COPPER_ALPHA_20, link.origin)
    if link.cable is None or length is None:
        return Element(name, "conductor", None, COPPER_ALPHA_20, link.origin, link.origin.path, how)
    resistance = exact(link.cable.ohm_per_m * length)
    stood = any(link.name in each.places for each in bank.assumed)
    return Element(name, "conductor", resistance, COPPER_ALPHA_20, link.origin, "", how, stood)


def _along(bank: Bank, link: Link) -> Iterator[tuple[float, Element]]:
    """Joints and devices of a link from `a` to `b`, each with its distance along the cable."""
    joints = bank.joints_of(link.name)
    whole = link.length or 0.0
    devices = sorted(bank.devices_on(link.name), key=lambda d: _distance(d, whole))
    yield from ((0.0, _joint(joint)) for joint in joints if joint.device is None and joint.post == link.a)
    for device in devices:
        at = _distance(device, whole)
        yield from ((at, _joint(j)) for j in joints if j.device == device.name and j.name.endswith("a"))
        yield at, _device(device, link)
        yield from ((at, _joint(j)) for j in joints if j.device == device.name and not j.name.endswith("a"))
    yield from ((whole, _joint(joint)) for joint in joints if joint.device is None and joint.post == link.b)


def _distance(device: Device, whole: float) -> float:
    """Where a device sits on its link; not told: at the start, as `bank end` is."""
    return min(device.distance or 0.0, whole)


def _whole(bank: Bank, link: Link, parts: tuple[tuple[float, Element], ...]) -> tuple[Element, ...]:
    first = [element for _, element in parts[:1]]
    rest = [element for _, element in parts[1:]]
    return (*first, _conductor(bank, link, None, link.name), *rest)


def _cut(bank: Bank, link: Link, parts: tuple[tuple[float, Element], ...]) -> Iterator[Edge]:
    """Stretches of a link between the places where a short may lie: both sides of each device, middle of the cable."""
    half = (link.length or 0.0) / 2
    stops: list[tuple[float, Element | None]] = sorted([*parts, (half, None)], key=lambda stop: stop[0])
    here, at, number = link.a, 0.0, 0
    run: list[Element] = []
    known = link.length is not None
    for distance, element in stops:
        if distance > at or (not known and element is None):
            number += 1
            run.append(_conductor(bank, link, distance - at if known else None, f"{link.name}/{number}"))
            at = distance
        split = element is None or element.kind == "device"
        if split and run:
            there = f"{link.name} middle" if element is None else f"{element.name} side a"
            yield Edge(f"{link.name}|{there}", here, there, "passive", tuple(run))
            here, run = there, []
        if element is not None and element.kind == "device":
            there = f"{element.name} side b"
            yield Edge(element.name, here, there, "passive", (element,))
            here = there
        elif element is not None:
            run.append(element)
    yield Edge(link.name, here, link.b, "passive", tuple(run))
