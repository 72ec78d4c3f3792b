"""Shorts that one module alone feeds, all modules and all pairs of places at once.

Gives: Alone, alone(). With one source each pole is a network of resistances of its own: the loop is E / (R_module +
R_pole(post, place) twice), and the current of an edge follows from the potentials of a unit current in its pole.
Limits: chargers and modules to come are left out; an edge of 0 ohm counts as 0.1 uohm.
Sources: resistance between two nodes from the inverse of the conductance matrix [stated law: Kirchhoff].
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from bankwright.circuit.network import Array, frozen
from bankwright.circuit.of_bank.short_network import ShortNetwork
from bankwright.circuit.solver.graph import Parts

__all__ = ["Alone", "alone"]

LEAST_OHM = 1e-7
MOST_KEPT = 10_000_000  # numbers: 80 MB


@dataclass(frozen=True, eq=False)
class Alone:
    """Currents of shorts between pairs of nodes (pairs, 2), plus and minus, fed by each module in turn."""

    feeding: ShortNetwork = field(repr=False)
    pairs: np.ndarray
    inside: Array | float = 0.0  # ohm in each short itself (pairs,)

    @cached_property
    def _potential(self) -> Array:
        """Potential of every node for a unit current into every node of its own part (nodes, nodes). [ohm]"""
        network = self.feeding.network
        count, parts = len(network.nodes), Parts(len(network.nodes))
        conductance = np.zeros((count, count))
        for number, edge in enumerate(network.edges):
            if edge.kind == "passive":
                tail, head = (int(node) for node in network.ends[number])
                parts.join(tail, head)
                g = 1.0 / max(float(self.feeding.resistance[number]), LEAST_OHM)
                conductance[[tail, head], [tail, head]] += g
                conductance[[tail, head], [head, tail]] -= g
        root = np.array([parts.root(node) for node in range(count)])
        return np.asarray(np.linalg.inv(conductance + (root[:, None] == root[None, :])))

    @cached_property
    def _posts(self) -> tuple[np.ndarray, np.ndarray]:
        """Minus and plus node of each module."""
        ends = self.feeding.network.ends[list(self.feeding.network.modules)]
        return ends[:, 0], ends[:, 1]

    @cached_property
    def current(self) -> Array:
        """Current of each short from each module alone (modules, pairs). [A]"""
        X, own = self._potential, np.diag(self._potential)
        minus, plus = self._posts
        p, q = self.pairs[:, 0], self.pairs[:, 1]
        way = (
            own[plus][:, None]
            + own[p]
            - 2 * X[np.ix_(plus, p)]
            + own[minus][:, None]
            + own[q]
            - 2 * X[np.ix_(minus, q)]
        )
        modules = list(self.feeding.network.modules)
        loop = self.feeding.resistance[modules][:, None] + way + self.inside
        return np.asarray(self.feeding.emf[modules][:, None] / loop)

    def through(self, edge: int) -> Array:
        """Current of an edge of a pole in each of these shorts (modules, pairs), signed along the edge. [A]"""
        if edge in self._through:
            return self._through[edge]
        found = frozen(self._found_through(edge))
        if (len(self._through) + 1) * found.size <= MOST_KEPT:
            self._through[edge] = found
        return found

    @cached_property
    def _through(self) -> dict[int, Array]:
        return {}

    def _found_through(self, edge: int) -> Array:
        X = self._potential
        tail, head = (int(node) for node in self.feeding.network.ends[edge])
        step = X[tail] - X[head]
        minus, plus = self._posts
        p, q = self.pairs[:, 0], self.pairs[:, 1]
        fall = step[plus][:, None] - step[p] + step[q] - step[minus][:, None]
        return np.asarray(self.current * fall / max(float(self.feeding.resistance[edge]), LEAST_OHM))


def alone(feeding: ShortNetwork, pairs: list[tuple[int, int]], inside: Array | float = 0.0) -> Alone:
    """Prepare the shorts between pairs of nodes, plus and minus, with what resistance each has itself. [ohm]"""
    return Alone(feeding, np.array(pairs, dtype=np.intp).reshape(-1, 2), inside)
