"""Synthetic readings of banks with known answers, for the tests of the inverse. All values are invented.

Gives: Setting, bars(), chain(), barn(), meters(), draw(), coverage(). Truth is drawn flat inside the tolerances, every
error flat inside its limits; readings come from the engine's forward solution, not from the inverse.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from bankwright.bank.model import Bank
from bankwright.bank.read import read_bank
from bankwright.circuit.inverse.fit import Estimate, fit
from bankwright.circuit.inverse.looks import Look, Observation, State, current_look, drop_look, voltage_look
from bankwright.circuit.inverse.point import Unknowns
from bankwright.circuit.inverse.prior import Prior, prior_of
from bankwright.circuit.network import Array, Network
from bankwright.circuit.solution import Case, Solution
from bankwright.circuit.solver.laws import Current
from bankwright.circuit.solver.solve import solve
from bankwright.circuit.steady import steady
from support.banks import sample

__all__ = ["Setting", "barn", "chain_bank", "coverage", "draw", "meters", "network_of", "setting", "shown"]

Limits = Callable[[Look, float], tuple[float, dict[str, float]]]


@cache
def barn() -> Bank:
    return read_bank(Path(__file__).parents[2] / "demo" / "barn.toml")


@cache
def chain_bank() -> Bank:
    return sample("chain_of_four")


@cache
def network_of(which: str) -> Network:
    return steady(barn() if which == "bars" else chain_bank()).network


@dataclass(frozen=True, eq=False)
class Setting:
    """A network, its states and what is read on it."""

    network: Network
    states: tuple[State, ...]
    looks: tuple[Look, ...]
    limits: Limits

    @property
    def unknowns(self) -> Unknowns:
        return Unknowns(self.network, self.states)


def meters(millivolt: float, volt: float = 0.01) -> Limits:
    """Clamp: gain 2 % in common, place in the jaws 1 %, zero 0.2 A, half a count of 0.1 A; volts 0.5 % + counts."""

    def limits(look: Look, value: float) -> tuple[float, dict[str, float]]:
        if look.kind == "current":
            return 0.01 * abs(value) + 0.25, {"clamp": 0.02 * value}
        if look.kind == "voltage":
            return volt, {"volts": 0.005 * value}
        return 5 * millivolt, {"millivolts": 0.005 * value}

    return limits


def setting(which: str, reads: Sequence[str], limits: Limits, total: float | None = None) -> Setting:
    """Zero and one load on a bank, the module currents, and more: "drops" of links, "joints", "volts" of posts."""
    network = network_of(which)
    inverters = [name for name in network.load_names if "." not in name]
    total = total or (200.0 if which == "bars" else 100.0)
    states = (State("zero"), State("load", {name: total / len(inverters) for name in inverters}))
    looks = [current_look(name, state.name) for state in states for name in network.module_names]
    if "volts" in reads:
        looks += [voltage_look(f"{m}+", f"{m}-", state.name) for state in states for m in network.module_names]
    if "drops" in reads:
        looks += [drop_look("load", edge.name) for edge in network.edges if edge.name.startswith("L")]
    if "joints" in reads:
        looks += [drop_look("load", element.name) for element in network.elements if element.kind == "joint"]
    return Setting(network, states, tuple(looks), limits)


def shown(made: Setting, resistance: Array, emf: Array, loads: Mapping[str, Mapping[str, float]]) -> Array:
    """What every look would show, by the engine's own solution of the bank."""
    solved: dict[str, Solution] = {}
    values = []
    for look in made.looks:
        state = next(each for each in made.states if each.name == look.state)
        if look.state not in solved:
            laws = {name: Current(value) for name, value in loads[look.state].items()}
            case = Case(look.state, laws, frozenset(state.off))
            factor = np.array([state.factor.get(element.name, 1.0) for element in made.network.elements])
            solved[look.state] = solve(made.network, case, resistance * factor, emf)
        values.append(_value(look, solved[look.state]))
    return np.array(values)


def _value(look: Look, solution: Solution) -> float:
    if look.kind == "current":
        return float(np.asarray(solution.current(look.at[0])))
    if look.kind == "voltage":
        return float(np.asarray(solution.potential(look.at[0]))) - float(np.asarray(solution.potential(look.at[1])))
    return sum(float(np.asarray(solution.drop(name))) for name in look.at)


def draw(made: Setting, luck: np.random.Generator, load_error: float = 0.01) -> tuple[Array, Prior, list[Observation]]:
    """One bank: true resistances, what is known before, and its readings."""
    network = made.network
    truth = luck.uniform(network.resistances("low"), network.resistances("high"))
    emf = 51.2 + luck.uniform(-1.0, 1.0) + luck.uniform(-0.01, 0.01, len(network.modules))
    loads = {
        state.name: {name: value * (1 + luck.uniform(-load_error, load_error)) for name, value in state.loads.items()}
        for state in made.states
    }
    common: dict[str, float] = {}
    read = []
    for look, value in zip(made.looks, shown(made, truth, emf, loads), strict=True):
        half, shared = made.limits(look, float(value))
        error = luck.uniform(-half, half)
        for name, size in shared.items():
            common.setdefault(name, luck.uniform(-1.0, 1.0))
            error += size * common[name]
        read.append(Observation(look, float(value) + error, half, shared))
    room = {f"{load} in {s.name}": load_error * abs(amps) for s in made.states for load, amps in s.loads.items()}
    return truth, prior_of(made.unknowns, np.full(len(network.modules), 51.2), room), read


@dataclass
class Counted:
    """How many truths lay inside their band: of those the readings settle, and of the others."""

    settled: int = 0
    settled_inside: int = 0
    other: int = 0
    other_inside: int = 0

    def add(self, truth: Array, estimate: Estimate) -> None:
        low, high = estimate.prior.low[: len(truth)], estimate.prior.high[: len(truth)]
        bands = estimate.bands
        inside = (bands[:, 0] <= truth + 1e-15) & (truth <= bands[:, 1] + 1e-15)
        tolerance = high - low
        narrow = (2 * estimate.halves < 0.5 * tolerance) & (tolerance > 0)
        wide = ~narrow & (tolerance > 0)
        self.settled += int(narrow.sum())
        self.settled_inside += int(inside[narrow].sum())
        self.other += int(wide.sum())
        self.other_inside += int(inside[wide].sum())


def coverage(made: Setting, banks: int, seed: int) -> Counted:
    """Fit many banks and count."""
    luck, counted = np.random.default_rng(seed), Counted()
    for _ in range(banks):
        truth, prior, read = draw(made, luck)
        estimate = fit(prior, read)
        assert estimate.settled
        counted.add(truth, estimate)
    return counted
