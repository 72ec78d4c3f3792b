"""The bank as its loads see it, by potentials of nodes: for many variants at once, with work that grows as the bank.

Gives: ByNodes, by_nodes(). The same answers as circuit/solver/seen. Currents of modules and rings come from the
potentials, all others by sums along the tree, so that currents close at every node by construction here too.
Limits: None where it does not apply: a resistance of zero in some variants only, or a ring closed by one.
Source: circuit/solver/eliminate; superposition [stated law].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array, Network
from bankwright.circuit.solver.basis import Basis
from bankwright.circuit.solver.eliminate import Reduced, elimination_of

__all__ = ["ByNodes", "along_the_tree", "by_nodes", "conductances", "pushed"]


@dataclass(frozen=True, eq=False, slots=True)
class ByNodes:
    """Open-circuit voltage (batch, loads) and resistance (batch, loads, loads), loads as in `basis.loads`."""

    basis: Basis
    voltage: Array
    resistance: Array
    cut_off: np.ndarray  # (batch,) True where no module is left to feed a tree load
    reduced: Reduced
    conductance: Array  # (edges, batch)
    emf: Array  # (batch or 1, edges)

    def currents(self, J: Array) -> Array:
        """Current of every edge (batch, edges)."""
        basis = self.basis
        drawn = np.ascontiguousarray(J.T)
        V = self.reduced.potentials(_ends(basis, basis.loads), drawn)
        inner = list(basis.inner)
        tails, heads = basis.network.ends[inner].T
        found = self.conductance[inner] * (self.emf.T[inner] - (V[heads] - V[tails]))
        return along_the_tree(basis, basis.inner + basis.loop_loads, [*found, *drawn[len(basis.tree_loads) :]], len(J))


def _ends(basis: Basis, edges: tuple[int, ...]) -> list[tuple[int, int]]:
    return [basis.network.end_pairs[edge] for edge in edges]


def along_the_tree(basis: Basis, chords: tuple[int, ...], currents: Sequence[Array], count: int) -> Array:
    """Current of every edge (batch, edges) from those that close loops, (batch,) each: sums towards the first node."""
    network = basis.network
    found = np.zeros((len(network.edges), count))
    arriving = np.zeros((len(network.nodes), count))
    for chord, current in zip(chords, currents, strict=True):
        tail, head = network.end_pairs[chord]
        arriving[tail] -= current
        arriving[head] += current
        found[chord] = current
    for edge, here, there, sign in reversed(basis.walk):
        np.multiply(arriving[there], -sign, out=found[edge])
        arriving[here] += arriving[there]
    return np.ascontiguousarray(found.T)


def conductances(basis: Basis, R: Array) -> tuple[Array, frozenset[int]] | None:
    """Conductance (edges, batch), and the edges that have no resistance; None where potentials do not lead on."""
    ohms = np.ascontiguousarray(R.T)
    counted = ~basis.dead
    counted[list(basis.network.loads)] = False
    zero = (ohms == 0.0) & counted[:, None]
    always = zero.all(axis=1)
    if (zero.any(axis=1) != always).any() or always[list(basis.inner)].any():
        return None
    open_ones = ~counted | always
    ohms[open_ones] = np.inf
    return 1.0 / ohms, frozenset(map(int, np.flatnonzero(always)))


def by_nodes(basis: Basis, R: Array, E: Array, off: np.ndarray | None = None) -> ByNodes | None:
    """Take every variant down to its loads; arguments as of circuit/solver/seen.seen()."""
    found = conductances(basis, R)
    if found is None:
        return None
    g, zero = found
    if off is not None:
        g[list(basis.inner)] *= ~off.T
    reduced = elimination_of(basis.network.shape, zero, len(R)).reduced(g, pushed(basis.network, g, E))
    voltage, resistance = reduced.seen_from(_ends(basis, basis.loads))
    cut_off = _cut_off(basis, off, len(R))
    voltage[cut_off], resistance[cut_off] = 0.0, np.eye(len(basis.loads))
    return ByNodes(basis, voltage, resistance, cut_off, reduced, g, E)


def pushed(network: Network, g: Array, E: Array) -> Array:
    """Current that the emfs push into each node (nodes, batch), modules seen as current sources. [A]"""
    injected = np.zeros((len(network.nodes), g.shape[1]))
    for module in network.modules:
        minus, plus = network.end_pairs[module]
        current = g[module] * E[:, module]
        injected[minus] -= current
        injected[plus] += current
    return injected


def _cut_off(basis: Basis, off: np.ndarray | None, count: int) -> np.ndarray:
    cut = np.zeros(count, dtype=bool)
    if off is not None:
        for row in basis.load_rows[0]:
            cut |= off[:, row != 0.0].all(axis=1)
    return cut
