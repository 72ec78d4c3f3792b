"""What a meter should show: the engine's figure for this load, this room and this age of the step, with its band.

Gives: Conditions, Expected, expected(), loads_of(). The band is the 99 % interval over the tolerances of the bank file;
the limits of the reading are added to it by whoever judges (they do not shrink when the file gets as-built values).
Limits: loads are given currents, shared equally by the inverters unless told; modules at equal charge.
Sources: engine (circuit/steady) with R at the age of the step (circuit/of_bank/at_age); rack gradient 0 to 5 K where
the modules' own temperatures were not read [common practice, no source].
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from types import MappingProxyType

import numpy as np

from bankwright.bank.model import Bank
from bankwright.circuit.cases import emf_of
from bankwright.circuit.inverse.looks import Look
from bankwright.circuit.network import Array, Edge, Network
from bankwright.circuit.of_bank.at_age import resistance_at
from bankwright.circuit.of_bank.network import network_of
from bankwright.circuit.of_bank.published_points import warming_of
from bankwright.circuit.of_bank.warming import Warmth
from bankwright.circuit.scatter.causes import gradient, own_causes
from bankwright.circuit.scatter.sobol import points
from bankwright.circuit.solution import Case, Solution, Variants
from bankwright.circuit.solver.laws import Current
from bankwright.circuit.solver.solve import variants
from bankwright.circuit.steady import warm_solution
from bankwright.forms.wording import Figure

__all__ = ["Conditions", "Expected", "expected", "loads_of"]

COUNT = 2048
ENDS = (0.005, 0.995)
QUANTITY = {"current": "current", "voltage": "voltage", "drop": "voltage_drop"}


@dataclass(frozen=True, slots=True)
class Conditions:
    """Under what is read: currents of the loads [A], age of the step [s], modules off, room and cells [degC]."""

    loads: Mapping[str, float]
    age: float
    off: frozenset[str] = frozenset()
    room_degc: float | None = None
    cells_degc: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def total(self) -> float:
        """Current out of the bank. [A]"""
        return sum(self.loads.values())


def loads_of(bank: Bank, total: float, on: tuple[str, ...] = ()) -> dict[str, float]:
    """Share a current among the inverters (or what draws, or the named ones), each the same. [A]"""
    names = on or tuple(thing.name for thing in bank.inverters) or tuple(thing.name for thing in bank.loads)
    names = names or (("feed",) if not bank.chargers else tuple(thing.name for thing in bank.chargers))
    return {name: total / len(names) for name in names}


@dataclass(frozen=True, eq=False)
class Expected:
    """The bank under some conditions, solved, and over its tolerances."""

    bank: Bank
    conditions: Conditions
    network: Network  # modules at the age of the step
    solution: Solution
    warm: Array  # (elements,) resistance over that of the network: copper at its temperature

    @cached_property
    def variants(self) -> Variants:
        """The same over the tolerances (COUNT variants)."""
        causes = own_causes(self.network)
        rack = None if self.conditions.cells_degc else gradient(self.bank)
        causes += () if rack is None else (rack,)
        u = points(COUNT, len(causes), 1) if causes else np.zeros((1, 0))
        R = np.tile(self.solution.resistance, (len(u), 1))
        for place, cause in enumerate(causes):
            R[:, [self.network.element_index[name] for name in cause.touches]] *= cause.values(u[:, place])
        return variants(self.network, self.solution.case, R, self.solution.emf)

    def figure(self, look: Look) -> Figure:
        """What a look should show, with its 99 % interval."""
        low, high = np.quantile(_shown(self.variants, look), ENDS)
        value = float(_shown(self.solution, look))
        return Figure(value, QUANTITY[look.kind], min(float(low), value), max(float(high), value))

    def share(self, module: str) -> Figure:
        """A module's current over the mean of those that are on, with its 99 % interval."""
        low, high = np.quantile(self._share(self.variants, module), ENDS)
        value = float(self._share(self.solution, module))
        return Figure(value, "share", min(float(low), value), max(float(high), value))

    def _share(self, solution: Solution | Variants, module: str) -> Array:
        currents = solution.module_currents()
        count = len(self.network.modules) - len(self.conditions.off & set(self.network.module_names))
        return np.asarray(currents[..., self.network.module_names.index(module)] * count / currents.sum(axis=-1))


def _shown(solution: Solution | Variants, look: Look) -> Array:
    """A look at a solved bank, one value or one a variant."""
    if look.kind == "current":
        return np.asarray(solution.current(look.at[0]))
    if look.kind == "voltage":
        return np.asarray(solution.potential(look.at[0]) - np.asarray(solution.potential(look.at[1])))
    return np.asarray(np.sum([np.asarray(solution.drop(name)) for name in look.at], axis=0))


def expected(bank: Bank, conditions: Conditions) -> Expected:
    """Solve the bank as it should be; NeedsValue (forms/checks) for a value that the file does not give."""
    room = conditions.room_degc
    here = bank if room is None else bank.replaced(site=replace(bank.site, ambient_high_degc=room))
    network = _at_age(here, conditions)
    warmth = Warmth.of(network, warming_of(here))
    laws = {name: Current(value) for name, value in conditions.loads.items()}
    case = Case("as read", laws, conditions.off)
    solution = warm_solution(network, warmth, case, emf_of(here, "nominal"))
    return Expected(here, conditions, network, solution, warmth.factor(solution.edge_current))


def _at_age(bank: Bank, conditions: Conditions) -> Network:
    """The network with every module's resistance at the age of the step and the temperature of its cells."""
    modules = {module.name: module for module in bank.modules}
    edges: list[Edge] = []
    for edge in network_of(bank).edges:
        if edge.kind == "module":
            (element,) = edge.elements
            degc = conditions.cells_degc.get(edge.name)
            value = resistance_at(modules[edge.name], conditions.age, degc)
            edge = replace(edge, elements=(replace(element, resistance=value),))
        edges.append(edge)
    return Network.of(edges)
