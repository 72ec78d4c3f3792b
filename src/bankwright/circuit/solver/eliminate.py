"""Potentials by taking one node after the other out of the network, thousands of variants beside each other.

Gives: Elimination, Reduced, elimination_of(). Nodes with few neighbours go first, in small batches beside each other
where they share none; what one joined is joined directly, by star and mesh: g_ij = g_i g_j / sum g. Chains and bars
stay as thin as they are, so the work grows with the number of nodes. All terms are positive: nothing cancels. An open
edge is a conductance of zero, no graph of its own.
Limits: loads are given currents; an edge of zero ohm is one node with its neighbour and must lie in the tree.
Source: star-mesh transformation [stated law: Kirchhoff]; order by least degree [from memory: Tinney, Walker 1967].
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from bankwright.circuit.network import Array, EdgeKind
from bankwright.circuit.solver.graph import Parts

__all__ = ["Elimination", "Reduced", "elimination_of"]

Shape = tuple[tuple[str, str, str, EdgeKind], ...]
Pair = tuple[int, int]
SMALL_BATCH = 512  # variants up to which nodes go beside each other: more of both no longer fit the cache [measured]
Places = slice | np.ndarray  # one row as a slice, which copies nothing, or several


@dataclass(frozen=True, eq=False, slots=True)
class Step:
    """k nodes go beside each other that share no neighbour, each with m neighbours."""

    nodes: Places  # k
    beside: tuple[Places, ...]  # m times k: the first neighbour of each, the second of each, ...
    rows: np.ndarray  # (m, k): the pairs of the nodes with them
    fill: tuple[tuple[int, int, Places], ...]  # two of the m, and the k pairs of them, which grow
    first: int  # the node, where there is one
    around: tuple[int, ...]  # and its neighbours


@dataclass(frozen=True, eq=False, slots=True)
class Reduced:
    """A batch of networks taken down to the nodes of their loads."""

    order: Elimination
    weights: tuple[Array, ...]  # a step each, (m, k, batch): share of each neighbour in the node's potential
    inverse: tuple[Array, ...]  # a step each, (k, batch): one over what the node was joined with [ohm]
    rest: Array  # (nodes, batch) currents that arrive with no load; those of nodes gone are over their conductance [V]

    def seen_from(self, ends: Sequence[Pair]) -> tuple[Array, Array]:
        """Voltage at rest (batch, loads) and what an ampere at each takes from it (batch, loads, loads)."""
        count, nodes = self.rest.shape[1], self.order.node_of
        b = {int(node): np.zeros((1 + len(ends), count)) for node in self.order.ports}
        for node, sides in b.items():
            sides[0] = self.rest[node]
        for place, (plus, minus) in enumerate(ends, start=1):
            b[int(nodes[plus])][place] += 1.0
            b[int(nodes[minus])][place] -= 1.0
        self._ports_spread(b)
        across = np.array([b[int(nodes[plus])] - b[int(nodes[minus])] for plus, minus in ends])
        across = across.reshape(len(ends), 1 + len(ends), count).transpose(2, 0, 1)
        return np.ascontiguousarray(across[:, :, 0]), np.ascontiguousarray(across[:, :, 1:])

    def _ports_spread(self, b: dict[int, Array]) -> None:
        kept = self.order.inner
        last = list(zip(self.order.steps, self.weights, self.inverse, strict=True))[kept:]
        for step, weight, inverse in last:
            for each, share in zip(step.around, weight[:, 0], strict=True):
                b[each] += share * b[step.first]
            b[step.first] = b[step.first] * inverse[0]
        for step, weight, _ in reversed(last):
            for each, share in zip(step.around, weight[:, 0], strict=True):
                b[step.first] = b[step.first] + share * b[each]

    def potentials(self, ends: Sequence[Pair], J: Array) -> Array:
        """Potentials (nodes, batch) over one node of each part, with the loads drawing J (loads, batch)."""
        V, nodes = self.rest.copy(), self.order.node_of
        for (plus, minus), drawn in zip(ends, J, strict=True):
            V[nodes[plus]] -= drawn
            V[nodes[minus]] += drawn
        ports = {int(node): V[node] for node in self.order.ports}
        self._ports_spread(ports)
        for node, values in ports.items():
            V[node] = values
        inner = self.order.inner
        for step, weight in zip(reversed(self.order.steps[:inner]), reversed(self.weights[:inner]), strict=True):
            for each, share in zip(step.beside, weight, strict=True):
                V[step.nodes] += share * V[each]
        return np.asarray(V[nodes])


@dataclass(frozen=True, eq=False, slots=True)
class Elimination:
    """The order for one shape of network; node numbers are those of the network, joined ones share a number."""

    node_of: np.ndarray  # (nodes,)
    pair_of: np.ndarray  # (edges,) -1: a load, or no two nodes
    pairs: int
    steps: tuple[Step, ...]
    inner: int  # steps before the first node of a load
    ports: tuple[int, ...]  # nodes of loads

    def reduced(self, conductance: Array, injected: Array) -> Reduced:
        """Take all nodes out down to those of the loads.

        `conductance` (edges, batch), 0 where open [S]; `injected` (nodes, batch) into each node [A].
        """
        joined = np.zeros((self.pairs, conductance.shape[1]))
        for edge, pair in enumerate(self.pair_of):
            if pair >= 0:
                joined[pair] += conductance[edge]
        b = np.zeros_like(injected)
        for node, arriving in zip(self.node_of, injected, strict=True):
            b[node] += arriving
        done = [_taken_out(step, joined, b if place < self.inner else None) for place, step in enumerate(self.steps)]
        return Reduced(self, tuple(weight for weight, _ in done), tuple(inverse for _, inverse in done), b)


def _taken_out(step: Step, joined: Array, b: Array | None) -> tuple[Array, Array]:
    """Spread nodes over their neighbours: weights (m, k, batch) of their potential, one over their conductance."""
    own = joined[step.rows]
    total = own.sum(axis=0)
    inverse = np.divide(1.0, total, out=np.zeros_like(total), where=total > 0.0)
    weight = np.asarray(own * inverse)
    for i, j, pair in step.fill:
        joined[pair] += weight[i] * own[j]
    if b is not None:
        arriving = b[step.nodes]
        for each, share in zip(step.beside, weight, strict=True):
            b[each] += share * arriving
        b[step.nodes] = arriving * inverse
    return weight, inverse


def elimination_of(shape: Shape, zero: frozenset[int], batch: int) -> Elimination:
    """The order for networks of a shape whose edges `zero` have no resistance, for so many variants."""
    return _elimination_of(shape, zero, batch <= SMALL_BATCH)


@lru_cache(maxsize=64)
def _elimination_of(shape: Shape, zero: frozenset[int], beside_each_other: bool) -> Elimination:
    names = {name: place for place, name in enumerate(dict.fromkeys(n for edge in shape for n in edge[1:3]))}
    ends = [(names[tail], names[head]) for _, tail, head, _ in shape]
    parts = Parts(len(names))
    for number in sorted(zero):
        parts.join(*ends[number])
    node_of = np.array([parts.root(node) for node in range(len(names))], dtype=np.intp)
    row_of: dict[Pair, int] = {}
    pair_of = np.full(len(shape), -1, dtype=np.intp)
    beside: dict[int, set[int]] = {int(node): set() for node in node_of}
    for number, (tail, head) in enumerate(ends):
        a, b = sorted((int(node_of[tail]), int(node_of[head])))
        if shape[number][3] != "load" and a != b:
            pair_of[number] = row_of.setdefault((a, b), len(row_of))
            beside[a].add(b)
            beside[b].add(a)
    ports = {int(node_of[node]) for number, pair in enumerate(ends) if shape[number][3] == "load" for node in pair}
    steps = tuple(_steps(beside, row_of, ports, beside_each_other))
    inner = sum(step.first not in ports for step in steps)
    return Elimination(node_of, pair_of, len(row_of), steps, inner, tuple(sorted(ports)))


def _steps(beside: dict[int, set[int]], row_of: dict[Pair, int], last: set[int], together: bool) -> Iterator[Step]:
    """First what is no load's, those with fewest neighbours first and as many at once as share none."""
    waiting = set(beside) - last
    while waiting:
        fewest = min(len(beside[node]) for node in waiting)
        group: list[int] = []
        touched: set[int] = set()
        for node in sorted(node for node in waiting if len(beside[node]) == fewest):
            if (together or not group) and touched.isdisjoint((node, *beside[node])):
                group.append(node)
                touched |= {node, *beside[node]}
        yield _step(group, beside, row_of)
        waiting.difference_update(group)
    while last:
        node = min(last, key=lambda each: (len(beside[each]), each))
        yield _step([node], beside, row_of)
        last = last - {node}


def _step(group: list[int], beside: dict[int, set[int]], row_of: dict[Pair, int]) -> Step:
    around = [sorted(beside[node]) for node in group]
    pairs = list(zip(group, around, strict=True))
    rows = [[row_of[min(node, other), max(node, other)] for other in row] for node, row in pairs]
    m, fill = len(around[0]), []
    for i, j in [(low, high) for high in range(m) for low in range(high)]:
        fill.append((i, j, _places([row_of.setdefault((row[i], row[j]), len(row_of)) for row in around])))
    for node, row in pairs:
        for each in row:
            beside[each] |= set(row)
            beside[each] -= {each, node}
    near = tuple(_places([row[i] for row in around]) for i in range(m))
    table = np.array(rows, dtype=np.intp).reshape(len(group), m).T
    return Step(_places(group), near, table, tuple(fill), group[0], tuple(around[0]))


def _places(rows: list[int]) -> Places:
    return slice(rows[0], rows[0] + 1) if len(rows) == 1 else np.array(rows, dtype=np.intp)
