"""What a solved network holds, and the views that findings and drawings take of it.

Gives: Case, Solution, stacked(). Axes: case, variant (those present), things last. Arrays are read-only.
Signs: see circuit/network. Views by name answer with a float for one case, with an array otherwise.
Limits: nothing is solved here (circuit/solve).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

import numpy as np

from bankwright.circuit.laws import Law
from bankwright.circuit.network import Array, Network, frozen

__all__ = ["Case", "Solution", "stacked"]

Way = Literal["charge", "discharge"]


@dataclass(frozen=True, slots=True)
class Case:
    """One operating condition. Loads not named are idle; `only` lists modules that pass one direction of current."""

    name: str
    loads: Mapping[str, Law] = field(default_factory=lambda: MappingProxyType({}))
    open: frozenset[str] = frozenset()
    only: Mapping[str, Way] = field(default_factory=lambda: MappingProxyType({}))
    emf: str = "nominal"  # a name in circuit/voltages, or "as read"
    resistance: Literal["dc", "surge", "ohmic"] = "dc"
    temperature_degc: float | None = None  # of the cells; None: the data sheet's 25 degC


@dataclass(frozen=True, eq=False, slots=True)
class Solution:
    """Currents, potentials and what is dead; `fraction` below 1 marks power that could not be delivered in full."""

    network: Network
    cases: tuple[Case, ...]
    edge_current: Array  # (case, [variant], edge)
    node_potential: Array  # (case, [variant], node); NaN in a part that nothing ties to the first node
    dead: np.ndarray  # (case, edge)
    resistance: Array  # (case, [variant], element)
    emf: Array  # (case, [variant], module)
    fraction: Array  # (case, [variant])

    def _one(self, values: Array) -> float | Array:
        return float(values) if values.ndim == 0 else values

    def current(self, name: str) -> float | Array:
        """Current of an edge or of the edge an element lies in. [A]"""
        return self._one(self.edge_current[..., self.network.edge_index[name]])

    def potential(self, node: str) -> float | Array:
        """Potential of a node over the first node. [V]"""
        return self._one(self.node_potential[..., self.network.node_index[node]])

    def voltage(self, name: str) -> float | Array:
        """Voltage at a load's or a module's own terminals, plus over minus. [V]"""
        edge = self.network.edges[self.network.edge_index[name]]
        plus, minus = (edge.tail, edge.head) if edge.kind == "load" else (edge.head, edge.tail)
        index = self.network.node_index
        return self._one(self.node_potential[..., index[plus]] - self.node_potential[..., index[minus]])

    def ohms(self, name: str) -> float | Array:
        """Resistance of a whole edge (a link with all that is in it), or else of an element. [ohm]"""
        number = self.network.edge_index[name]
        if self.network.edges[number].name == name:
            return self._one(np.asarray(self.resistance[..., self.network.edge_of == number].sum(axis=-1)))
        return self._one(self.resistance[..., self.network.element_index[name]])

    def drop(self, name: str) -> float | Array:
        """Voltage lost along an element or an edge, signed as its current. [V]"""
        return self._one(np.asarray(self.ohms(name) * np.asarray(self.current(name))))

    def loss(self, name: str) -> float | Array:
        """Heat in an element or an edge. [W]"""
        return self._one(np.asarray(self.ohms(name) * np.square(self.current(name))))

    def module_currents(self) -> Array:
        """Currents of the modules (..., modules)."""
        return np.asarray(self.edge_current[..., list(self.network.modules)])

    def share(self, module: str) -> float | Array:
        """Part of the bank's current that a module carries; 1/N each when all share alike. [-]"""
        return self._one(self._shares()[..., self.network.module_names.index(module)])

    def shares(self) -> dict[str, float | Array]:
        """Share of every module, by name."""
        return {name: self._one(part) for name, part in zip(self.network.module_names, self._rows(), strict=True)}

    def _rows(self) -> list[Array]:
        shares = self._shares()
        return [shares[..., place] for place in range(shares.shape[-1])]

    def _shares(self) -> Array:
        currents = self.module_currents()
        total = currents.sum(axis=-1, keepdims=True)
        return np.asarray(np.divide(currents, total, out=np.zeros_like(currents), where=total != 0.0))

    def is_dead(self, name: str) -> bool | np.ndarray:
        """True when no loop passes the edge: open, or hanging loose."""
        flags = self.dead[..., self.network.edge_index[name]]
        return bool(flags) if flags.ndim == 0 else flags

    @property
    def load_power(self) -> float | Array:
        """Power that all loads together draw. [W]"""
        loads = self.network.load_names
        parts = [np.nan_to_num(np.asarray(self.voltage(name))) * np.asarray(self.current(name)) for name in loads]
        return self._one(np.asarray(sum(parts)))

    @property
    def losses(self) -> float | Array:
        """Heat in all elements, modules included. [W]"""
        edges = self.edge_current[..., self.network.edge_of]
        return self._one(np.asarray((self.resistance * edges**2).sum(axis=-1)))

    @property
    def source_power(self) -> float | Array:
        """Power that the emfs give. [W]"""
        return self._one(np.asarray((self.emf * self.module_currents()).sum(axis=-1)))

    def case(self, name: str) -> Solution:
        """One case of several."""
        names = [case.name for case in self.cases]
        place = names.index(name)
        if len(names) == 1:
            return self
        fields = ("edge_current", "node_potential", "dead", "resistance", "emf", "fraction")
        parts = {key: getattr(self, key)[place] for key in fields}
        return Solution(self.network, (self.cases[place],), **parts)


def stacked(solutions: Sequence[Solution]) -> Solution:
    """Put solutions of single cases on one network under a common case axis."""
    first = solutions[0]
    join = {
        key: frozen([getattr(solution, key) for solution in solutions])
        for key in ("edge_current", "node_potential", "resistance", "emf", "fraction")
    }
    dead = np.array([solution.dead for solution in solutions])
    dead.setflags(write=False)
    return Solution(first.network, tuple(case for s in solutions for case in s.cases), dead=dead, **join)
