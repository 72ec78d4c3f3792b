"""A tree of the network and the loops its other edges close.

Gives: Basis, Stride, basis_of(), shared_basis(). Tree: conductors first, then loads, then modules; so the loops are the
modules, one edge a ring, and further loads. With loop currents y = (x, J_c) every edge current is C y:
node sums close by construction.
Limits: topology only; an open edge, and a load that no module can feed, are left out and carry nothing.
Source: loop analysis with a fundamental cycle matrix [stated law: Kirchhoff's current and voltage laws].
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import NamedTuple

import numpy as np

from bankwright.circuit.network import Array, Edge, EdgeKind, Network, frozen
from bankwright.circuit.solver.graph import Parts, fed_loads

__all__ = ["Basis", "Stride", "basis_of", "shared_basis"]


class Stride(NamedTuple):
    """One edge of the tree, walked from one node to the next; forward is 1, against the edge -1."""

    edge: int
    here: int
    there: int
    sign: float


@dataclass(frozen=True, eq=False)
class Basis:
    """Loops of a network with some edges open. Numbers are edge numbers of the network."""

    network: Network
    tree: tuple[int, ...]
    inner: tuple[int, ...]  # loops solved for: modules and rings
    tree_loads: tuple[int, ...]
    loop_loads: tuple[int, ...]
    walk: tuple[Stride, ...]  # along the tree, each part from its first node
    part_of: np.ndarray  # (nodes,) number of the part, 0 holds the zero of potential

    @property
    def loads(self) -> tuple[int, ...]:
        """Loads that are fed, those in the tree first."""
        return self.tree_loads + self.loop_loads

    @cached_property
    def ways(self) -> Array:
        """The tree way from the first node of its part to each node (nodes, edges) of -1, 0, 1."""
        ways = np.zeros((len(self.network.nodes), len(self.network.edges)))
        for edge, here, there, sign in self.walk:
            ways[there] = ways[here]
            ways[there, edge] = sign
        return frozen(ways)

    @cached_property
    def loops(self) -> Array:
        """C (edges, inner + loop loads) of -1, 0, 1."""
        chords = self.inner + self.loop_loads
        columns = np.zeros((len(self.network.edges), len(chords)))
        for place, chord in enumerate(chords):
            tail, head = self.network.ends[chord]
            columns[:, place] = self.ways[tail] - self.ways[head]
            columns[chord, place] = 1.0
        return frozen(columns)

    @cached_property
    def inner_loops(self) -> Array:
        """C_x: columns of modules and rings."""
        return frozen(self.loops[:, : len(self.inner)])

    @cached_property
    def load_loops(self) -> Array:
        """C_J: columns of the loads that close loops of their own."""
        return frozen(self.loops[:, len(self.inner) :])

    @cached_property
    def without_loads(self) -> tuple[Array, Array]:
        """T_x and T_J: the same with the rows of loads cleared."""
        cleared = self.loops.copy()
        cleared[list(self.network.loads)] = 0.0
        split = len(self.inner)
        return frozen(cleared[:, :split]), frozen(cleared[:, split:])

    @cached_property
    def load_rows(self) -> tuple[Array, Array]:
        """D_x and D_J: rows of the tree loads."""
        rows = self.loops[list(self.tree_loads)]
        return frozen(rows[:, : len(self.inner)]), frozen(rows[:, len(self.inner) :])

    @cached_property
    def dead(self) -> np.ndarray:
        """True for each edge that no loop passes: open, or hanging loose."""
        flags = np.asarray(~self.loops.any(axis=1))
        flags.setflags(write=False)
        return flags

    @cached_property
    def products(self) -> tuple[Array, Array, Array]:
        """P (edges, pairs) of loop entries T_ei T_ej: inner-inner, inner-load, load-load; each is one product R P."""
        inner, loads = self.without_loads
        return _pairs(inner, inner), _pairs(inner, loads), _pairs(loads, loads)


def _pairs(first: Array, second: Array) -> Array:
    return frozen((first[:, :, None] * second[:, None, :]).reshape(len(first), -1))


def shared_basis(network: Network, opened: frozenset[str] = frozenset()) -> Basis:
    """Basis with some edges open, made once for all networks of this shape; resistances do not matter to it."""
    return _of_shape(network.shape, frozenset(network.edge_index[name] for name in opened))


@lru_cache(maxsize=1024)
def _of_shape(shape: tuple[tuple[str, str, str, EdgeKind], ...], shut: frozenset[int]) -> Basis:
    return _grown(_bare(shape), shut)


@lru_cache(maxsize=64)
def _bare(shape: tuple[tuple[str, str, str, EdgeKind], ...]) -> Network:
    return Network(tuple(Edge(*each) for each in shape))


def basis_of(network: Network, opened: frozenset[str] = frozenset()) -> Basis:
    """Grow the tree and find the loops; `opened` are edge or element names."""
    return _grown(network, frozenset(network.edge_index[name] for name in opened))


def _grown(network: Network, shut: frozenset[int]) -> Basis:
    closed = [i for i in range(len(network.edges)) if i not in shut]
    fed = fed_loads(network, closed)
    order = [i for i in closed if network.edges[i].kind == "passive"] + list(fed)
    order += [i for i in network.modules if i not in shut]
    parts = Parts(len(network.nodes))
    tree: list[int] = []
    chords: list[int] = []
    for number in order:
        (tree if parts.join(*network.end_pairs[number]) else chords).append(number)
    walk, part_of = _walk(network, tree)
    return Basis(
        network,
        tuple(tree),
        inner=tuple(i for i in chords if i not in fed),
        tree_loads=tuple(i for i in tree if i in fed),
        loop_loads=tuple(i for i in chords if i in fed),
        walk=walk,
        part_of=part_of,
    )


def _walk(network: Network, tree: list[int]) -> tuple[tuple[Stride, ...], np.ndarray]:
    """Walk the tree from the first node of each part."""
    beside: dict[int, list[Stride]] = {}
    ends = network.end_pairs
    for number in tree:
        tail, head = ends[number]
        beside.setdefault(tail, []).append(Stride(number, tail, head, 1.0))
        beside.setdefault(head, []).append(Stride(number, head, tail, -1.0))
    part_of = np.full(len(network.nodes), -1)
    walk: list[Stride] = []
    count = 0
    for start in range(len(network.nodes)):
        if part_of[start] >= 0:
            continue
        part_of[start], waiting = count, [start]
        while waiting:
            for stride in beside.get(waiting.pop(), ()):
                if part_of[stride.there] < 0:
                    part_of[stride.there] = count
                    walk.append(stride)
                    waiting.append(stride.there)
        count += 1
    part_of.setflags(write=False)
    return tuple(walk), part_of
