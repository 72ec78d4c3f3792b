"""Questions to the graph that need no solving: parts, trees, ways, and the named errors.

Gives: Parts (union of nodes), check(), way_between().
Limits: resistances enter only as "is it exactly zero".
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable

from bankwright.circuit.errors import BridgedModule, FloatingPart, LoadWithoutReturn, RingWithoutResistance
from bankwright.circuit.network import Array, Network

__all__ = ["Parts", "check", "fed_loads", "way_between"]


class Parts:
    """Disjoint parts of a graph, grown edge by edge."""

    def __init__(self, count: int) -> None:
        """Every node a part of its own."""
        self.parent = list(range(count))

    def root(self, node: int) -> int:
        """The node that stands for a part."""
        while self.parent[node] != node:
            self.parent[node] = self.parent[self.parent[node]]
            node = self.parent[node]
        return node

    def join(self, tail: int, head: int) -> bool:
        """Join two parts; False when they were one already (the edge closes a ring)."""
        first, second = self.root(tail), self.root(head)
        self.parent[second] = first
        return first != second


def _parts(network: Network, numbers: Iterable[int]) -> Parts:
    parts = Parts(len(network.nodes))
    for number in numbers:
        parts.join(*network.end_pairs[number])
    return parts


def way_between(network: Network, numbers: Iterable[int], start: int, goal: int) -> tuple[str, ...]:
    """Names of the edges of a shortest way from one node to another over the given edges; empty when there is none."""
    beside: dict[int, list[tuple[int, str]]] = {}
    for number in numbers:
        tail, head = network.end_pairs[number]
        name = network.edges[number].name
        beside.setdefault(tail, []).append((head, name))
        beside.setdefault(head, []).append((tail, name))
    come: dict[int, tuple[int, str]] = {start: (start, "")}
    waiting = deque([start])
    while waiting and goal not in come:
        here = waiting.popleft()
        for there, name in beside.get(here, ()):
            if there not in come:
                come[there] = (here, name)
                waiting.append(there)
    if goal not in come:
        return ()
    names: list[str] = []
    while goal != start:
        goal, name = come[goal]
        names.append(name)
    return tuple(reversed(names))


def fed_loads(network: Network, closed: Iterable[int]) -> tuple[int, ...]:
    """Loads with a way from one terminal through a module to the other, over the closed edges."""
    closed = tuple(closed)
    kinds = [edge.kind for edge in network.edges]
    passive = _parts(network, (i for i in closed if kinds[i] == "passive"))
    sources = _parts(network, (i for i in closed if kinds[i] != "load"))
    fed = []
    for load in network.loads:
        tail, head = network.end_pairs[load]
        if load in closed and passive.root(tail) != passive.root(head) and sources.root(tail) == sources.root(head):
            fed.append(load)
    return tuple(fed)


def check(network: Network, edge_resistance: Array) -> None:
    """Raise the named error of an ill-posed network; `edge_resistance` (edges,) may hold NaN for unknown ones."""
    everything = range(len(network.edges))
    passive = [i for i in everything if network.edges[i].kind == "passive"]
    _check_one_part(network, everything)
    parts = _parts(network, passive)
    for module in network.modules:
        minus, plus = network.end_pairs[module]
        if parts.root(minus) == parts.root(plus):
            raise BridgedModule((network.edges[module].name, *way_between(network, passive, plus, minus)))
    lost = set(network.loads) - set(fed_loads(network, everything))
    if lost:
        raise LoadWithoutReturn(network.edges[i].name for i in sorted(lost))
    _check_rings(network, [i for i in everything if network.edges[i].kind != "load" and edge_resistance[i] == 0.0])


def _check_one_part(network: Network, everything: Iterable[int]) -> None:
    parts = _parts(network, everything)
    roots = [parts.root(node) for node in range(len(network.nodes))]
    main = parts.root(int(network.ends[network.modules[0]][0])) if network.modules else roots[0]
    loose = [network.nodes[node] for node, root in enumerate(roots) if root != main]
    if loose:
        raise FloatingPart(loose)


def _check_rings(network: Network, zero: list[int]) -> None:
    parts = Parts(len(network.nodes))
    for place, number in enumerate(zero):
        tail, head = network.end_pairs[number]
        if not parts.join(tail, head):
            way = way_between(network, zero[:place], head, tail)
            raise RingWithoutResistance((network.edges[number].name, *way))
