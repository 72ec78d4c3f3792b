"""The bank under one load as functions of its unknowns: every look, and how it moves with each of them.

Gives: Unknowns, predicted(). Unknowns: resistance of every element, emf of every module, current of every load in
every state. With the loads taken as given currents J the loops left are those of modules and rings, T:
    f = Y E + (1 - Y R) p J,   Y = T (T' R T)^-1 T',   df/dR_e = -Y_e f_e,   df/dE = Y,   df/dJ = (1 - Y R) p
with p the way a load's current takes through the tree. A drop is R f; volts between two nodes are the sum of E - R f
along the tree between them.
Limits: linear loads only (given currents); rings without resistance are refused (circuit/errors).
Source: loop analysis [stated law: Kirchhoff's laws]; the derivatives are derived in docs/method.md.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from bankwright.circuit.errors import LoadWithoutReturn, RingWithoutResistance
from bankwright.circuit.inverse.looks import Look, State
from bankwright.circuit.network import Array, Network
from bankwright.circuit.solver.basis import Basis, shared_basis

__all__ = ["Unknowns", "predicted"]


@dataclass(frozen=True, eq=False)
class Unknowns:
    """Names and places of all unknowns: elements, then `E M1`, then `I1 in <state>`."""

    network: Network
    states: tuple[State, ...]

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Name of every unknown."""
        elements = tuple(element.name for element in self.network.elements)
        emfs = tuple(f"E {name}" for name in self.network.module_names)
        loads = tuple(f"{load} in {state.name}" for state in self.states for load in self.network.load_names)
        return elements + emfs + loads

    @cached_property
    def place(self) -> Mapping[str, int]:
        """Place of each unknown by name."""
        return {name: number for number, name in enumerate(self.names)}

    @property
    def emf_start(self) -> int:
        """Place of the first emf."""
        return len(self.network.elements)

    def loads_start(self, state: int) -> int:
        """Place of the first load's current in a state."""
        return self.emf_start + len(self.network.modules) + state * len(self.network.loads)

    def state(self, name: str) -> int:
        """Number of a state."""
        return next(number for number, state in enumerate(self.states) if state.name == name)

    def start(self, resistance: Array, emf: Array) -> Array:
        """The vector of unknowns for resistances (elements,), emfs (modules,) and the loads that the states name."""
        loads = [state.loads.get(load, 0.0) for state in self.states for load in self.network.load_names]
        return np.concatenate([resistance, emf, loads])


@dataclass(frozen=True, eq=False)
class _Point:
    """One state at one vector of unknowns."""

    unknowns: Unknowns
    number: int
    basis: Basis
    ohms: Array  # (elements,) in this state
    factor: Array  # (elements,) ohms over the unknown
    edge_ohms: Array  # (edges,)
    emf: Array  # (edges,)
    flow: Array  # f (edges,)
    response: Array  # Y (edges, edges)
    per_load: Array  # (edges, loads)

    @cached_property
    def moves(self) -> Array:
        """df over all unknowns (edges, unknowns)."""
        network, unknowns = self.unknowns.network, self.unknowns
        columns = np.zeros((len(network.edges), len(unknowns.names)))
        edge_of = network.edge_of
        columns[:, : len(edge_of)] = -self.response[:, edge_of] * (self.flow[edge_of] * self.factor)
        first = unknowns.emf_start
        columns[:, first : first + len(network.modules)] = self.response[:, list(network.modules)]
        first = unknowns.loads_start(self.number)
        columns[:, first : first + len(network.loads)] = self.per_load
        return columns

    def look(self, look: Look) -> tuple[float, Array]:
        """Value of a look and its row over all unknowns."""
        if look.kind == "current":
            edge = self.unknowns.network.edge_index[look.at[0]]
            return float(self.flow[edge]), self.moves[edge]
        return self._volts(*look.at) if look.kind == "voltage" else self._drop(look.at)

    def _drop(self, names: Sequence[str]) -> tuple[float, Array]:
        network = self.unknowns.network
        value, row = 0.0, np.zeros(len(self.unknowns.names))
        for place in _elements(network, names):
            edge = int(network.edge_of[place])
            value += float(self.ohms[place] * self.flow[edge])
            row += self.ohms[place] * self.moves[edge]
            row[place] += self.flow[edge] * self.factor[place]
        return value, row

    def _volts(self, plus: str, minus: str) -> tuple[float, Array]:
        network, unknowns = self.unknowns.network, self.unknowns
        ends = network.node_index[plus], network.node_index[minus]
        if self.basis.part_of[ends[0]] != self.basis.part_of[ends[1]]:
            raise ValueError(f"nothing ties {plus} to {minus} in {unknowns.states[self.number].name}")
        way = self.basis.ways[ends[0]] - self.basis.ways[ends[1]]
        row = -(way * self.edge_ohms) @ self.moves
        edge_of = network.edge_of
        row[: len(edge_of)] -= way[edge_of] * self.flow[edge_of] * self.factor
        first = unknowns.emf_start
        row[first : first + len(network.modules)] += way[list(network.modules)]
        return float(way @ (self.emf - self.edge_ohms * self.flow)), row


def _elements(network: Network, names: Sequence[str]) -> list[int]:
    """Places of elements; an edge's name stands for all that lies in it, unless an element alone bears it too."""
    found: list[int] = []
    for name in names:
        edge = next((i for i, each in enumerate(network.edges) if each.name == name), None)
        if edge is None:
            found.append(network.element_index[name])
        else:
            found += np.flatnonzero(network.edge_of == edge).tolist()
    return found


def _loops(basis: Basis, edge_ohms: Array) -> Array:
    """Y (edges, edges): edge currents per volt put into an edge, no load changing its current."""
    T = basis.inner_loops
    try:
        return np.asarray(T @ np.linalg.solve(T.T @ (edge_ohms[:, None] * T), T.T))
    except np.linalg.LinAlgError as error:
        raise RingWithoutResistance(basis.network.edges[i].name for i in basis.inner) from error


def _ways_of_loads(basis: Basis, loads: Array) -> Array:
    """p (edges, loads): the tree way of each load's own current; a load that nothing feeds must be idle."""
    network = basis.network
    ways = np.zeros((len(network.edges), len(network.loads)))
    for column, number in enumerate(network.loads):
        tail, head = network.ends[number]
        if basis.part_of[tail] == basis.part_of[head]:
            ways[:, column] = basis.ways[tail] - basis.ways[head]
            ways[number, column] = 1.0
        elif loads[column] != 0.0:
            raise LoadWithoutReturn((network.edges[number].name,))
    return ways


def _point(unknowns: Unknowns, number: int, values: Array) -> _Point:
    network, state = unknowns.network, unknowns.states[number]
    basis = shared_basis(network, frozenset(network.load_names) | state.off)
    factor = np.array([state.factor.get(element.name, 1.0) for element in network.elements])
    ohms = values[: len(factor)] * factor
    edge_ohms = ohms @ network.series
    emf = np.zeros(len(network.edges))
    emf[list(network.modules)] = values[unknowns.emf_start : unknowns.emf_start + len(network.modules)]
    first = unknowns.loads_start(number)
    loads = values[first : first + len(network.loads)]
    ways = _ways_of_loads(basis, loads)
    Y = _loops(basis, edge_ohms)
    per_load = ways - Y @ (edge_ohms[:, None] * ways)
    return _Point(
        unknowns, number, basis, ohms, factor, edge_ohms, emf, Y @ emf + per_load @ loads, response=Y, per_load=per_load
    )


def predicted(unknowns: Unknowns, looks: Sequence[Look], values: Array) -> tuple[Array, Array]:
    """What the looks would show (looks,) and how they move with each unknown (looks, unknowns)."""
    points: dict[str, _Point] = {}
    value, rows = np.empty(len(looks)), np.empty((len(looks), len(unknowns.names)))
    for place, look in enumerate(looks):
        if look.state not in points:
            points[look.state] = _point(unknowns, unknowns.state(look.state), values)
        value[place], rows[place] = points[look.state].look(look)
    return value, rows
