"""Bolted shorts: from every place to the opposite pole, inside every module, to frame where a pole is earthed.

Gives: shorts(), Shorts: at(), between(), strongest(), through(), prospective(), inside(), to_frame(), alone(). Places
are all posts, both sides of every device, and the middle of every link. All shorts share one solved system: a short
between nodes p and q carries J = (V_p - V_q) / Z_pq, and every edge f = f0 + J (k_p - k_q), k_n the response to a unit
drawn at node n.
Limits: the settled current (the rise with its time constant L/R is in physics); arcs carry less (checks halve it).
Sources: superposition and Thevenin's theorem [stated law].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from bankwright.bank.model import Bank
from bankwright.circuit.network import Array, Network, frozen
from bankwright.circuit.of_bank.short_network import EXTENSION, End, ShortNetwork, short_network
from bankwright.circuit.solver.basis import shared_basis
from bankwright.circuit.solver.graph import Parts

__all__ = ["Short", "Shorts", "Through", "shorts"]


@dataclass(frozen=True, eq=False, slots=True)
class Short:
    """One short: where, its current, and the current of every edge behind it."""

    place: str
    opposite: str
    current: float
    edge_current: Array = field(repr=False)
    edge_index: dict[str, int] = field(repr=False)

    def through(self, name: str) -> float:
        """Current of an edge or element while the short lasts; signed as the edge runs. [A]"""
        return float(self.edge_current[self.edge_index[name]])


@dataclass(frozen=True, slots=True)
class Through:
    """Largest currents through one thing over all shorts, along its edge and against it, and where the short lies."""

    forward: float
    forward_at: tuple[str, str]
    backward: float
    backward_at: tuple[str, str]

    @property
    def largest(self) -> float:
        """Larger of the two. [A]"""
        return max(self.forward, self.backward)


@dataclass(frozen=True, eq=False)
class Shorts:
    """All shorts of a bank at one end of what is possible."""

    bank: Bank
    end: End
    feeding: ShortNetwork = field(repr=False)

    @cached_property
    def _poles(self) -> dict[str, list[int]]:
        network, parts = self.feeding.network, Parts(len(self.feeding.network.nodes))
        for edge, (tail, head) in zip(network.edges, network.ends, strict=True):
            if edge.kind == "passive":
                parts.join(int(tail), int(head))
        roots = [parts.root(node) for node in range(len(network.nodes))]
        plus = {roots[int(network.ends[module][1])] for module in network.modules}
        minus = {roots[int(network.ends[module][0])] for module in network.modules}
        real = [k for k, name in enumerate(network.nodes) if not name.startswith(EXTENSION)]
        return {
            "+": [node for node in real if roots[node] in plus],
            "-": [node for node in real if roots[node] in minus],
        }

    @cached_property
    def places(self) -> dict[str, str]:
        """Pole of every place a short may start from."""
        nodes = self.feeding.network.nodes
        return {nodes[node]: pole for pole, found in self._poles.items() for node in found}

    @cached_property
    def _response(self) -> tuple[Array, Array, Array, Array]:
        """V0 (nodes,), f0 (edges,), k (nodes, edges), M (nodes, nodes)."""
        return _responses(self.feeding, self.feeding.emf, self.feeding.resistance)

    @cached_property
    def _impedance(self) -> Array:
        """Resistance that a short between every plus and every minus place sees (plus, minus). [ohm]"""
        M = self._response[3]
        plus, minus = self._poles["+"], self._poles["-"]
        own = np.diag(M)
        Z = own[plus][:, None] + own[minus][None, :] - M[np.ix_(plus, minus)] - M[np.ix_(minus, plus)].T
        return frozen(np.maximum(Z, 1e-12))

    @cached_property
    def _pairs(self) -> Array:
        """Current of a short between every plus and every minus place (plus, minus)."""
        V0 = self._response[0]
        plus, minus = self._poles["+"], self._poles["-"]
        return frozen((V0[plus][:, None] - V0[minus][None, :]) / self._impedance)

    def between(self, pairs: Sequence[tuple[str, str]], inside: Array | float = 0.0) -> Array:
        """Edge currents of shorts between pairs of places, plus and minus (pairs, edges); `inside` is the resistance of
        each short itself. [A]"""
        V0, f0, k, M = self._response
        index = self.feeding.network.node_index
        p = np.array([index[plus] for plus, _ in pairs], dtype=np.intp)
        q = np.array([index[minus] for _, minus in pairs], dtype=np.intp)
        Z = np.maximum(M[p, p] + M[q, q] - M[p, q] - M[q, p] + inside, 1e-12)
        return np.asarray(f0 + ((V0[p] - V0[q]) / Z)[:, None] * (k[p] - k[q]))

    def strongest(self, place: str) -> str:
        """The place of the other pole to which a short carries most."""
        return self.at(place).opposite

    def at(self, place: str, opposite: str | None = None) -> Short:
        """Short from a place to the opposite pole: to a place given, else where it carries most (lowest end: least)."""
        plus, minus = self._poles["+"], self._poles["-"]
        index = self.feeding.network.node_index
        node, flip = index[place], self.places[place] == "-"
        currents = self._pairs[:, minus.index(node)] if flip else self._pairs[plus.index(node)]
        others = plus if flip else minus
        pick = int(np.argmin(currents) if self.end == "lowest" else np.argmax(currents))
        other = others[pick] if opposite is None else index[opposite]
        return self._short(other if flip else node, node if flip else other, place)

    def _short(self, p: int, q: int, place: str) -> Short:
        _, f0, k, _ = self._response
        current = float(self._pairs[self._poles["+"].index(p), self._poles["-"].index(q)])
        nodes = self.feeding.network.nodes
        opposite = nodes[q] if nodes[p] == place else nodes[p]
        currents = frozen(f0 + current * (k[p] - k[q]))
        return Short(place, opposite, current, currents, self.feeding.network.edge_index)

    def through(self, name: str) -> Through:
        """Largest currents through an edge over shorts between any two places of opposite pole."""
        edge = self.feeding.network.edge_index[name]
        _, f0, k, _ = self._response
        plus, minus = self._poles["+"], self._poles["-"]
        return self._largest(f0[edge] + self._pairs * (k[plus, edge][:, None] - k[minus, edge][None, :]))

    def _largest(self, currents: Array) -> Through:
        """Largest of the currents of an edge over all pairs of places (plus, minus), both ways along it."""
        plus, minus = self._poles["+"], self._poles["-"]
        high = np.unravel_index(int(np.argmax(currents)), currents.shape)
        low = np.unravel_index(int(np.argmin(currents)), currents.shape)
        nodes = self.feeding.network.nodes

        def pair(found: tuple[np.intp, ...]) -> tuple[str, str]:
            return nodes[plus[int(found[0])]], nodes[minus[int(found[1])]]

        forward, backward = max(float(currents[high]), 0.0), max(-float(currents[low]), 0.0)
        return Through(forward, pair(high), backward, pair(low))

    def prospective(self, device: str) -> Through:
        """Largest currents that shorts can send through a device, its own resistance left out of the way. [A]

        A rating to interrupt is held against the current that is available at the device's terminals (IEC 60947-1,
        prospective current, from memory; NEC 110.9, available at the line terminals).
        """
        edge = self.feeding.network.edge_index[device]
        _, f0, k, _ = self._response
        step = k[self._poles["+"], edge][:, None] - k[self._poles["-"], edge][None, :]
        seen = self._seen[edge] + step**2 / self._impedance  # A per V put into the edge, with the short closed
        left = 1.0 - self.feeding.resistance[edge] * seen
        return self._largest((f0[edge] + self._pairs * step) / np.maximum(left, 1e-9))

    @cached_property
    def _seen(self) -> Array:
        """Current of each edge for a volt put into it, no short anywhere (edges,). [A/V]"""
        basis = shared_basis(self.feeding.network)
        C = basis.inner_loops
        G = C.T @ (self.feeding.resistance[:, None] * C)
        return frozen(np.einsum("ei,ie->e", C, np.linalg.solve(G, C.T)))

    def inside(self, module: str) -> Short:
        """Short behind a module's own device: what the others drive into it, `current` through that device. [A]

        The edge of the module without its voltage and its resistance: compensation theorem.
        """
        edge = self.feeding.network.edge_index[module]
        f0 = self._response[1]
        E, R = self.feeding.emf[edge], self.feeding.resistance[edge]
        answer = self._answer(edge)
        current = (f0[edge] - answer[edge] * E) / max(1.0 - R * answer[edge], 1e-9)
        place, currents = f"inside {module}", frozen(f0 + answer * (R * current - E))
        return Short(place, place, -float(current), currents, self.feeding.network.edge_index)

    def _answer(self, edge: int) -> Array:
        """Currents of all edges for a volt put into one (edges,). [A/V]"""
        C = shared_basis(self.feeding.network).inner_loops
        return np.asarray(C @ np.linalg.solve(C.T @ (self.feeding.resistance[:, None] * C), C[edge]))

    def to_frame(self) -> tuple[Short, ...]:
        """Shorts from every place of the other pole to the frame, through the earthing points; none when floating."""
        earthing = self.bank.site.earthing
        if earthing.pole not in ("minus", "plus") or not earthing.at:
            return ()
        earthed, other = ("-", "+") if earthing.pole == "minus" else ("+", "-")
        points = [point for point in earthing.at if self.places.get(point) == earthed]
        starts = [place for place, pole in self.places.items() if pole == other]
        found = [self.at(start, point) for start in starts for point in points]
        return tuple(found)

    def alone(self, module: str) -> Shorts:
        """The same with all other modules open: one module alone on the bus."""
        whole = self.feeding
        edges = whole.network.edges
        kept = [i for i, edge in enumerate(edges) if edge.kind != "module" or edge.name == module]
        network = Network.of(edges[i] for i in kept)
        return Shorts(self.bank, self.end, ShortNetwork(network, whole.resistance[kept], whole.emf[kept], ()))


def _responses(feeding: ShortNetwork, E: Array, R: Array) -> tuple[Array, Array, Array, Array]:
    basis = shared_basis(feeding.network)
    C, W = basis.inner_loops, basis.ways
    G = C.T @ (R[:, None] * C)
    f0 = C @ np.linalg.solve(G, C.T @ E)
    k = W - (C @ np.linalg.solve(G, C.T @ (R[:, None] * W.T))).T
    M = (W * R) @ k.T
    V0 = W @ (E - R * f0)
    index = feeding.network.node_index
    for plus, minus, amperes in feeding.injected:
        step = k[index[plus]] - k[index[minus]]
        f0 = f0 - amperes * step
        V0 = V0 + amperes * (W @ (R * step))
    return frozen(V0), frozen(f0), frozen(k), frozen(M)


def shorts(bank: Bank, end: End = "highest") -> Shorts:
    """Prepare the shorts of a bank."""
    return Shorts(bank, end, short_network(bank, end))
