"""The wiring as stretches between places: cables cut at their devices and in their middle, solid pieces, devices.

Gives: Wiring, Stretch, wiring_of(), opens_by_itself(). A stretch that holds a device has no length; the others know
their cable and the conductor in it. Places bear the names of the network of shorts, so that currents can be looked up.
Limits: joints have no length; a segment of a bar is as long as its studs lie apart, nothing where that is not given.
Sources: a supplementary protector is no overcurrent device (UL 1077, from memory),
nor a switch (IEC 60947-3, from memory).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from bankwright.bank.model import Bank, Device, Link
from bankwright.bank.model_kinds import DeviceKind
from bankwright.circuit.network import Edge
from bankwright.circuit.of_bank.network import network_of

__all__ = ["Stretch", "Wiring", "opens_by_itself", "wiring_of"]

NO_DEVICE = ("1077", "60947-3")  # parts of standards whose things open nothing by themselves that counts


@dataclass(frozen=True, slots=True)
class Stretch:
    """One edge of the wiring between two places."""

    name: str  # of the network's edge
    tail: str
    head: str
    link: str | None
    device: Device | None
    length: float | None  # m; None where the cable's length is not given


@dataclass(frozen=True, eq=False)
class Wiring:
    """All stretches of a bank."""

    bank: Bank
    stretches: tuple[Stretch, ...]

    @cached_property
    def beside(self) -> dict[str, list[tuple[Stretch, str]]]:
        """place -> (stretch, place at its other end)."""
        found: dict[str, list[tuple[Stretch, str]]] = {}
        for stretch in self.stretches:
            found.setdefault(stretch.tail, []).append((stretch, stretch.head))
            found.setdefault(stretch.head, []).append((stretch, stretch.tail))
        return found

    @cached_property
    def sources(self) -> dict[str, str]:
        """Places at which modules feed the wiring: place -> module, of both poles."""
        first = {m.name: [next(p for p in m.posts if p.endswith(s)) for s in "+-"] for m in self.bank.modules}
        return {post: name for name, posts in first.items() for post in posts}

    @cached_property
    def of_link(self) -> dict[str, tuple[Stretch, ...]]:
        """Stretches of each cable in their order."""
        found: dict[str, list[Stretch]] = {}
        for stretch in self.stretches:
            if stretch.link is not None:
                found.setdefault(stretch.link, []).append(stretch)
        return {name: tuple(row) for name, row in found.items()}

    @cached_property
    def poles(self) -> dict[str, str]:
        """Pole of every place that the modules reach."""
        found: dict[str, str] = {}
        for post in self.sources:
            waiting = [post]
            while waiting:
                here = waiting.pop()
                if here not in found:
                    found[here] = post[-1]
                    waiting += [there for _, there in self.beside.get(here, ())]
        return found


def opens_by_itself(kind: DeviceKind) -> bool:
    """True for fuses and breakers; not for what is sold as a breaker under a standard of switches or protectors."""
    name = (kind.device_class or "").lower()
    return kind.type in ("fuse", "breaker") and not any(word in name for word in NO_DEVICE)


def wiring_of(bank: Bank) -> Wiring:
    """Cut the bank's wiring into stretches."""
    edges = [edge for edge in network_of(bank, "ohmic", None, fine=True).edges if edge.kind == "passive"]
    named = {edge.name: edge for edge in edges}
    found = list(_solid(bank, named))
    owned = _by_link(bank, edges)
    for link in bank.links:
        found += _measured(bank, link, owned.get(link.name, []))
    return Wiring(bank, tuple(found))


def _by_link(bank: Bank, edges: list[Edge]) -> dict[str, list[Edge]]:
    """Edges that a link is cut into, by its name: its own, "link|place", and the devices on it."""
    carried: dict[str, list[str]] = {}
    for link in bank.links:
        for device in bank.devices_on(link.name):
            carried.setdefault(_edge_name(device, link), []).append(link.name)
    found: dict[str, list[Edge]] = {}
    for edge in edges:
        heads = [edge.name[:place] for place, letter in enumerate(edge.name) if letter == "|"]
        for owner in dict.fromkeys([edge.name, *heads, *carried.get(edge.name, ())]):
            found.setdefault(owner, []).append(edge)
    return found


def _edge_name(device: Device, link: Link) -> str:
    return device.name if device.on == link.name else f"{device.name}@{link.name}"


def _device_of(bank: Bank, edge: Edge, link: Link) -> Device | None:
    for device in bank.devices_on(link.name):
        if edge.name == _edge_name(device, link):
            return device
    return None


def _solid(bank: Bank, named: dict[str, Edge]) -> Iterator[Stretch]:
    apart = {bar.name: bar.spacing or 0.0 for bar in bank.bars}
    for piece in bank.pieces:
        edge = named[piece.name]
        yield Stretch(piece.name, edge.tail, edge.head, None, None, apart.get(piece.owner, 0.0))


def _measured(bank: Bank, link: Link, edges: list[Edge]) -> Iterator[Stretch]:
    """The stretches of a cable with their lengths; the network cuts it in this order from its first end."""
    at, whole = 0.0, link.length
    for edge in edges:
        device = _device_of(bank, edge, link)
        if device is not None:
            yield Stretch(edge.name, edge.tail, edge.head, link.name, device, 0.0)
            continue
        there = _place_of(bank, link, edge.head)
        length = None if whole is None or there is None else max(there - at, 0.0)
        at = at if there is None else there
        yield Stretch(edge.name, edge.tail, edge.head, link.name, None, length)


def _place_of(bank: Bank, link: Link, place: str) -> float | None:
    """Distance along the cable of a place on it."""
    if link.length is None:
        return None
    if place == link.b:
        return link.length
    if place == f"{link.name} middle":
        return link.length / 2
    named = place.partition(" side ")[0].partition("@")[0]
    return next((min(d.distance or 0.0, link.length) for d in bank.devices if d.name == named), None)
