"""Steady solutions of a bank, each case solved when it is first asked for.

Gives: steady(), Steady: case(), each(), worst(), continuous. Conductors are solved at the temperature their own current
gives them, in the air where they lie (room, and the rack's own rise for links between modules).
Limits: modules at equal state of charge, for the minutes after a load step; later states of charge drift apart and the
run over time (circuit/run) says how. A case whose data is missing raises NeedsValue; the others still work.
Source: see circuit/solve, circuit/warming, circuit/cases.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from bankwright.bank.model import Bank
from bankwright.circuit.cases import case_names, case_of, continuous_names, emf_of
from bankwright.circuit.cell_part import Question
from bankwright.circuit.errors import CircuitError
from bankwright.circuit.network import Array, Network
from bankwright.circuit.of_bank import network_of
from bankwright.circuit.published_points import warming_of
from bankwright.circuit.solution import Case, Solution
from bankwright.circuit.solve import solve
from bankwright.circuit.warming import Warmth

__all__ = ["Steady", "Worst", "steady"]

MAX_TURNS = 30
SETTLED = 1e-6  # of the largest current


@dataclass(frozen=True, slots=True)
class Worst:
    """The case in which something carries its largest current; signed as the edge runs."""

    case: str
    current: float


@dataclass(frozen=True, eq=False)
class Steady:
    """All steady cases of one bank."""

    bank: Bank
    _solved: dict[str, Solution | CircuitError] = field(default_factory=dict, repr=False)
    _networks: dict[tuple[Question, float | None], Network] = field(default_factory=dict, repr=False)
    _warmth: dict[Network, Warmth] = field(default_factory=dict, repr=False)

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Names of all cases."""
        return case_names(self.bank)

    @cached_property
    def continuous(self) -> tuple[str, ...]:
        """Names of the continuous cases, out of which design currents come."""
        return continuous_names(self.bank)

    def warmth(self, network: Network) -> Warmth:
        """How the conductors of one of the networks warm."""
        if network not in self._warmth:
            self._warmth[network] = Warmth.of(network, warming_of(self.bank))
        return self._warmth[network]

    @property
    def network(self) -> Network:
        """The network with the resistances of sharing."""
        return self.network_for("dc", None)

    def network_for(self, question: Question, temperature_degc: float | None) -> Network:
        """The network with the modules' resistance for another question or cell temperature."""
        key = (question, temperature_degc)
        if key not in self._networks:
            self._networks[key] = network_of(self.bank, question, temperature_degc)
        return self._networks[key]

    def case(self, name: str) -> Solution:
        """Solve a case by name; NeedsValue or NotDeliverable come back each time it is asked for."""
        if name not in self._solved:
            try:
                self._solved[name] = self.solved(case_of(self.bank, name))
            except CircuitError as error:
                self._solved[name] = error
        found = self._solved[name]
        if isinstance(found, CircuitError):
            raise found
        return found

    def each(self, names: Iterable[str] | None = None) -> Iterator[tuple[str, Solution | CircuitError]]:
        """Cases with their solution, or with the error that stands in its way."""
        for name in self.names if names is None else names:
            try:
                yield name, self.case(name)
            except CircuitError as error:
                yield name, error

    def worst(self, name: str, names: Iterable[str] | None = None) -> Worst:
        """Largest current of an edge or element over cases, the continuous ones if not told otherwise."""
        chosen = self.continuous if names is None else tuple(names)
        currents = [(float(np.asarray(self.case(case).current(name))), case) for case in chosen]
        if not currents:
            return Worst("no continuous case", 0.0)
        top = max(abs(current) for current, _ in currents)
        current, case = next(pair for pair in currents if abs(pair[0]) >= top * (1.0 - 1e-9))
        return Worst(case, current)

    def solved(self, case: Case, partly: bool = False) -> Solution:
        """Solve any case on this bank, one of your own making too."""
        network = self.network_for(case.resistance, case.temperature_degc)
        emf = emf_of(self.bank, case.emf)
        solution = self._warm(case, network, emf, partly)
        if case.emf != "held":
            return solution
        return solve(network, case, solution.resistance, emf + self._lift(solution), partly)

    def metal_degc(self, solution: Solution, link: str) -> float:
        """Temperature of the metal of a link's cable in a solution of one case. [degC]"""
        metal = self.warmth(solution.network).metal_degc(solution.edge_current)
        return float(metal[solution.network.element_index[link]])

    def hot(self, case: Case) -> Array:
        """Resistance of every element over that at 20 degC in a case, for scatters and corners."""
        return self.warmth(self.network).factor(self.solved(case, partly=True).edge_current)

    def _warm(self, case: Case, network: Network, emf: Array, partly: bool) -> Solution:
        """Repeat with the resistance at the metal's temperature until the currents settle."""
        cold, warmth = network.resistances(), self.warmth(network)
        solution = solve(network, case, cold * warmth.factor(np.zeros(len(network.edges))), emf, partly)
        for _ in range(MAX_TURNS):
            before = solution.edge_current
            solution = solve(network, case, cold * warmth.factor(before), emf, partly)
            if np.abs(solution.edge_current - before).max() <= SETTLED * max(np.abs(before).max(), 1e-9):
                break
        return solution

    def _lift(self, at_rest: Solution) -> float:
        """How much every emf must rise so that the lowest inverter stands exactly at its lowest voltage.

        Only currents are given in such a case: an equal rise moves potentials and no current.
        """
        short = [
            inverter.kind.lowest_voltage - float(np.asarray(at_rest.voltage(inverter.name)))
            for inverter in self.bank.inverters
            if inverter.kind.lowest_voltage is not None and not at_rest.is_dead(inverter.name)
        ]
        return max(short, default=0.0)


def steady(bank: Bank) -> Steady:
    """Prepare the steady cases of a bank; nothing is solved yet."""
    return Steady(bank)
