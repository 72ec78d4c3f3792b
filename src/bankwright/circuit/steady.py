"""Steady solutions of a bank, each case solved when it is first asked for.

Gives: steady(), Steady: case(), ahead(), edge_current(), each(), worst(), continuous; warm_solution(),
warm_currents(). Conductors are solved at the temperature their own current gives them, in the air where they lie
(room, and the rack's own rise for links between modules).
Limits: modules at equal state of charge, for the minutes after a load step; later states of charge drift apart and the
run over time (circuit/run) says how. A case whose data is missing raises NeedsValue; the others still work.
Source: see circuit/solver/solve, circuit/of_bank/warming, circuit/cases.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from bankwright.bank.model import Bank
from bankwright.circuit.cases import case_names, case_of, continuous_names, emf_of, is_case
from bankwright.circuit.errors import CircuitError, NotDeliverable
from bankwright.circuit.network import Array, Network, frozen
from bankwright.circuit.of_bank.cell_part import Question
from bankwright.circuit.of_bank.network import network_of
from bankwright.circuit.of_bank.published_points import warming_of
from bankwright.circuit.of_bank.warming import Warmth
from bankwright.circuit.solution import Case, Solution
from bankwright.circuit.solver.laws import Current
from bankwright.circuit.solver.many import Together, many, whole
from bankwright.circuit.solver.solve import solve
from bankwright.forms.checks import NeedsValue
from bankwright.forms.nearest import UnknownName

__all__ = ["Steady", "Worst", "steady", "warm_currents", "warm_solution"]

MAX_TURNS = 30
LEAST_BATCH = 8  # cases from which a batch pays
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
    _solved: dict[str, Solution | CircuitError | NeedsValue] = field(default_factory=dict, repr=False)
    _currents: dict[str, tuple[Array, float]] = field(default_factory=dict, repr=False)
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
        """Solve a case by name; UnknownName (a KeyError) with the nearest; NeedsValue or NotDeliverable each time."""
        if name not in self._solved:
            if not is_case(self.bank, name):
                raise UnknownName("case", name, self.names)
            try:
                self._solved[name] = self.solved(case_of(self.bank, name))
            except (CircuitError, NeedsValue) as error:
                self._solved[name] = error
        found = self._solved[name]
        if isinstance(found, (CircuitError, NeedsValue)):
            raise found
        return found

    def ahead(self, names: Sequence[str]) -> None:
        """Solve the currents of many cases beside each other, as far as they allow it; the others wait for case()."""
        asked = [name for name in names if name not in self._currents and name not in self._solved]
        asked = [name for name in asked if name in self._known]
        groups: dict[tuple[Question, float | None, str], list[Case]] = {}
        for name in asked if len(asked) >= LEAST_BATCH else ():
            try:
                case = case_of(self.bank, name)
            except NeedsValue:
                continue
            groups.setdefault((case.resistance, case.temperature_degc, _laws(case)), []).append(case)
        for (question, degc, _), cases in groups.items():
            self._currents.update(self._ahead(self.network_for(question, degc), cases))

    @cached_property
    def _known(self) -> frozenset[str]:
        return frozenset(self.names)

    def _ahead(self, network: Network, cases: list[Case]) -> dict[str, tuple[Array, float]]:
        if np.isnan(network.resistances()).any():
            return {}
        cases = [case for case in cases if whole(network, case)]
        emfs = np.array([emf_of(self.bank, case.emf) for case in cases])
        found = warm_currents(network, self.warmth(network), cases, emfs) if cases else None
        if found is None:
            return {}
        return {
            case.name: (frozen(row), float(part)) for case, row, part in zip(cases, found[0], found[1], strict=True)
        }

    def edge_current(self, name: str, partly: bool = False) -> Array:
        """Edge currents of a case (edge,): of ahead() where they stand there, else of case(). [A]

        With `partly` those of the most that can be delivered, where that is less than is asked for.
        """
        if name in self._currents:
            found, fraction = self._currents[name]
            if fraction < 1.0 and not partly:
                raise NotDeliverable(name, fraction)
            return found
        try:
            return self.case(name).edge_current
        except NotDeliverable:
            if not partly:
                raise
            return self.solved(case_of(self.bank, name), partly=True).edge_current

    def each(self, names: Iterable[str] | None = None) -> Iterator[tuple[str, Solution | CircuitError | NeedsValue]]:
        """Cases with their solution, or with the error that stands in its way."""
        for name in self.names if names is None else names:
            try:
                yield name, self.case(name)
            except (CircuitError, NeedsValue) as error:
                yield name, error

    def worst(self, name: str, names: Iterable[str] | None = None) -> Worst:
        """Largest current of an edge or element over cases, the continuous ones if not told otherwise."""
        chosen = self.continuous if names is None else tuple(names)
        currents = [(self.case(case).current(name), case) for case in chosen]
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
        return warm_solution(network, self.warmth(network), case, emf, partly)

    def _lift(self, at_rest: Solution) -> float:
        """How much every emf must rise so that the lowest inverter stands exactly at its lowest voltage.

        Only currents are given in such a case: an equal rise moves potentials and no current.
        """
        short = [
            inverter.kind.lowest_voltage - at_rest.voltage(inverter.name)
            for inverter in self.bank.inverters
            if inverter.kind.lowest_voltage is not None and not at_rest.is_dead(inverter.name)
        ]
        return max(short, default=0.0)


def warm_solution(network: Network, warmth: Warmth, case: Case, emf: Array, partly: bool = False) -> Solution:
    """Repeat with the resistance at the metal's temperature until the currents settle."""
    cold = network.resistances()
    solution = solve(network, case, cold * warmth.factor(np.zeros(len(network.edges))), emf, partly)
    for _ in range(MAX_TURNS):
        before = solution.edge_current
        solution = solve(network, case, cold * warmth.factor(before), emf, partly)
        if np.abs(solution.edge_current - before).max() <= SETTLED * max(np.abs(before).max(), 1e-9):
            break
    return solution


def _laws(case: Case) -> str:
    """What cases of one batch must share: nothing where currents are given, else all laws."""
    given = all(isinstance(law, Current) for law in case.loads.values())
    return "" if given else repr(sorted(case.loads.items()))


def warm_currents(network: Network, warmth: Warmth, cases: Sequence[Case], emfs: Array) -> tuple[Array, Array] | None:
    """Edge currents (case, edge) and delivered fraction (case,) of whole cases as one batch; None: one by one.

    Each is repeated as in warm_solution().
    """
    cold, together = network.resistances(), Together.of(network, cases)
    known, delivered = np.zeros((len(cases), len(network.edges))), np.ones(len(cases))
    warm = np.arange(len(cases))  # places of the cases that still move
    for turn in range(MAX_TURNS + 1):
        R = network.edge_resistances(cold * warmth.factor(known[warm]))
        both = many(together.only(warm), R, emfs[warm])
        if both is None:
            return None
        found, delivered[warm] = both
        change = np.abs(found - known[warm]).max(axis=1)
        still = change > SETTLED * np.maximum(np.abs(known[warm]).max(axis=1), 1e-9)
        known[warm] = found
        warm = warm if turn == 0 else warm[still]
        if not len(warm):
            break
    return known, delivered


def steady(bank: Bank) -> Steady:
    """Prepare the steady cases of a bank; nothing is solved yet."""
    return Steady(bank)
