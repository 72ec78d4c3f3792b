"""What a solved network holds, and the views that findings and drawings take of it.

Gives: Case, Solution (one case: views by name are floats), Variants (one case many times: views are arrays, a value a
variant). Axes: variant first where there are any, things last. Arrays are read-only. Signs: see circuit/network.
Limits: nothing is solved here (circuit/solver/solve).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

import numpy as np

from bankwright.circuit.network import Array, Network
from bankwright.circuit.solver.laws import Law
from bankwright.forms.assumed import Assumed
from bankwright.forms.nearest import UnknownName

__all__ = ["Case", "Solution", "Variants"]

Way = Literal["charge", "discharge"]


@dataclass(frozen=True, slots=True)
class Case:
    """One operating condition. Loads not named are idle; `only` lists modules that pass one direction of current."""

    name: str
    loads: Mapping[str, Law] = field(default_factory=lambda: MappingProxyType({}))
    open: frozenset[str] = frozenset()
    only: Mapping[str, Way] = field(default_factory=lambda: MappingProxyType({}))
    emf: str = "nominal"  # a name in circuit/cases, or "as read"
    resistance: Literal["dc", "surge", "ohmic"] = "dc"
    temperature_degc: float | None = None  # of the cells; None: the data sheet's 25 degC


@dataclass(frozen=True, eq=False, slots=True)
class _Solved:
    """Currents, potentials and what is dead; `fraction` below 1 marks power that could not be delivered in full."""

    network: Network
    case: Case
    edge_current: Array  # ([variant], edge)
    node_potential: Array  # ([variant], node); NaN in a part that nothing ties to the first node
    dead: np.ndarray  # (edge,)
    resistance: Array  # ([variant], element)
    emf: Array  # ([variant], module)
    fraction: Array  # ([variant])

    @property
    def assumed(self) -> tuple[Assumed, ...]:
        """Values that nobody gave and that these currents, shares and drops rest on, each with its range."""
        return tuple(dict.fromkeys(each for each in self.network.assumed if _counts(each, self.case)))

    def _edge(self, name: str) -> int:
        """Number of an edge, or of the edge that an element lies in; UnknownName with the nearest."""
        try:
            return self.network.edge_index[name]
        except KeyError:
            raise UnknownName("module, link, device or joint", name, self.network.edge_index) from None

    def _node(self, node: str) -> int:
        index = self.network.node_index
        if node not in index:
            raise UnknownName("post", node, index)
        return index[node]

    def _current(self, name: str) -> Array:
        return np.asarray(self.edge_current[..., self._edge(name)])

    def _voltage(self, name: str) -> Array:
        edge, V = self.network.edges[self._edge(name)], self.node_potential
        plus, minus = (edge.tail, edge.head) if edge.kind == "load" else (edge.head, edge.tail)
        return np.asarray(V[..., self._node(plus)] - V[..., self._node(minus)])

    def _ohms(self, name: str) -> Array:
        number = self._edge(name)
        if self.network.edges[number].name == name:
            return np.asarray(self.resistance[..., self.network.edge_of == number].sum(axis=-1))
        return np.asarray(self.resistance[..., self.network.element_index[name]])

    def module_currents(self) -> Array:
        """Currents of the modules ([variant], modules)."""
        return np.asarray(self.edge_current[..., list(self.network.modules)])

    def is_dead(self, name: str) -> bool:
        """True when no loop passes the edge: open, or hanging loose."""
        return bool(self.dead[self._edge(name)])


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class Solution(_Solved):
    """One solved case."""

    def __repr__(self) -> str:
        """Its case, and which modules there are."""
        return f"<Solution of {self.case.name}: modules {', '.join(self.network.module_names)}>"

    def current(self, name: str) -> float:
        """Current of an edge or of the edge an element lies in. [A]"""
        return float(self._current(name))

    def potential(self, node: str) -> float:
        """Potential of a node over the first node. [V]"""
        return float(self.node_potential[self._node(node)])

    def voltage(self, name: str) -> float:
        """Voltage at a load's or a module's own terminals, plus over minus. [V]"""
        return float(self._voltage(name))

    def ohms(self, name: str) -> float:
        """Resistance of a whole edge (a link with all that is in it), or else of an element. [ohm]"""
        return float(self._ohms(name))

    def drop(self, name: str) -> float:
        """Voltage lost along an element or an edge, signed as its current. [V]"""
        return self.ohms(name) * self.current(name)

    def loss(self, name: str) -> float:
        """Heat in an element or an edge. [W]"""
        return self.ohms(name) * self.current(name) ** 2

    def share(self, module: str) -> float:
        """Part of the bank's current that a module carries; 1/N each when all share alike. [-]"""
        if module not in self.network.module_names:
            raise UnknownName("module", module, self.network.module_names)
        return self.shares()[module]

    def shares(self) -> dict[str, float]:
        """Share of every module, by name; 0 where no current flows at all."""
        currents = self.module_currents()
        total = float(currents.sum())
        parts = [float(each) / total if total else 0.0 for each in currents]
        return dict(zip(self.network.module_names, parts, strict=True))

    @property
    def load_power(self) -> float:
        """Power that all loads together draw. [W]"""
        volts = [0.0 if math.isnan(self.voltage(name)) else self.voltage(name) for name in self.network.load_names]
        return sum(u * self.current(name) for u, name in zip(volts, self.network.load_names, strict=True))

    @property
    def losses(self) -> float:
        """Heat in all elements, modules included. [W]"""
        return float(self.resistance @ self.edge_current[self.network.edge_of] ** 2)

    @property
    def source_power(self) -> float:
        """Power that the emfs give. [W]"""
        return float(self.emf @ self.module_currents())


@dataclass(frozen=True, eq=False, slots=True, repr=False)
class Variants(_Solved):
    """One case solved many times, each with resistances or emfs of its own."""

    def __repr__(self) -> str:
        """Its case, and how many there are."""
        return f"<{len(self.fraction)} variants of {self.case.name}>"

    def current(self, name: str) -> Array:
        """Current of an edge or of the edge an element lies in (variant,). [A]"""
        return self._current(name)

    def potential(self, node: str) -> Array:
        """Potential of a node over the first node (variant,). [V]"""
        return np.asarray(self.node_potential[:, self._node(node)])

    def drop(self, name: str) -> Array:
        """Voltage lost along an element or an edge, signed as its current (variant,). [V]"""
        return np.asarray(self._ohms(name) * self._current(name))


def _counts(assumed: Assumed, case: Case) -> bool:
    """Whether a case rests on it: what a load draws, where it draws; its lowest voltage, where that is held."""
    if assumed.key.endswith(".lowest_voltage"):
        return case.emf == "held"
    return not assumed.key.endswith(".efficiency") or any(name in case.loads for name in assumed.places)
