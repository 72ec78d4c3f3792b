"""What the inverse predicts is what the engine solves, and its sensitivities are those of that solution."""

from __future__ import annotations

import numpy as np
import pytest

from bankwright.circuit.errors import LoadWithoutReturn, RingWithoutResistance
from bankwright.circuit.inverse.looks import Look, Observation, State, current_look, drop_look, voltage_look
from bankwright.circuit.inverse.point import Unknowns, predicted
from bankwright.circuit.network import Network
from support.inverse_banks import Setting, meters, shown
from support.networks import conductor, ladder, load, module, scrambled


def everything(network: Network, off: frozenset[str]) -> list[Look]:
    on = [name for name in network.module_names if name not in off]
    looks = [current_look(edge.name, "a") for edge in network.edges]
    looks += [voltage_look(f"{name}+", f"{name}-", "a") for name in on]
    return looks + [drop_look("a", edge.name) for edge in network.edges if edge.elements and edge.name not in off]


@pytest.mark.parametrize("seed", range(12))
def test_looks_are_those_of_the_solved_network_whatever_its_shape(seed: int) -> None:
    network, luck = scrambled(seed), np.random.default_rng(seed)
    off = frozenset(network.module_names[:1]) if seed % 3 == 0 and len(network.modules) > 2 else frozenset()
    loads = {name: float(luck.uniform(-50, 100)) for name in network.load_names}
    factor = {element.name: float(luck.uniform(0.5, 2.0)) for element in network.elements}
    state = State("a", loads, off, factor)
    emf = 51.2 + luck.normal(0, 0.05, len(network.modules))
    unknowns, looks = Unknowns(network, (state,)), everything(network, off)
    R = network.resistances()
    found, rows = predicted(unknowns, looks, unknowns.start(R, emf))
    solved = shown(Setting(network, (state,), tuple(looks), meters(1e-4)), R, emf, {"a": loads})
    assert found == pytest.approx(solved, abs=2e-11)
    start = unknowns.start(R, emf)
    for place in range(len(unknowns.names)):
        step = np.zeros_like(start)
        step[place] = 1e-5 * max(abs(start[place]), 1e-3)
        ends = [predicted(unknowns, looks, start + sign * step)[0] for sign in (1, -1)]
        slope = (ends[0] - ends[1]) / (2 * step[place])
        assert slope == pytest.approx(rows[:, place], rel=1e-4, abs=1e-4 * max(1.0, np.abs(rows[:, place]).max()))


def test_one_module_alone_carries_the_whole_load() -> None:
    network = ladder(3, "opposite ends", 0.014, 1e-4, 1e-4)
    unknowns = Unknowns(network, (State("alone", {"I1": 80.0}, frozenset({"M1", "M3"})),))
    looks = [current_look("M2", "alone"), current_look("M1", "alone"), voltage_look("I1+", "I1-", "alone")]
    values, _ = predicted(unknowns, looks, unknowns.start(network.resistances(), np.full(3, 51.2)))
    # M2 reaches the load over L2+ and main+, and over L1- and main-
    assert values == pytest.approx([80.0, 0.0, 51.2 - 80.0 * (0.014 + 4e-4)])


def test_a_load_that_nothing_feeds_is_refused_by_name() -> None:
    network = ladder(2, "same end", 0.014, 1e-4, 1e-4)
    unknowns = Unknowns(network, (State("dark", {"I1": 5.0}, frozenset({"M1", "M2"})),))
    with pytest.raises(LoadWithoutReturn, match="I1"):
        predicted(unknowns, [current_look("M1", "dark")], unknowns.start(network.resistances(), np.full(2, 51.2)))


def test_a_ring_without_resistance_is_refused() -> None:
    edges = [module("M1", 0.0), module("M2", 0.0), load("I1", "M1+", "M1-")]
    edges += [conductor("L1+", "M1+", "M2+", 0.0), conductor("L1-", "M1-", "M2-", 0.0)]
    network = Network.of(edges)
    unknowns = Unknowns(network, (State("a", {"I1": 5.0}),))
    with pytest.raises(RingWithoutResistance):
        predicted(unknowns, [current_look("M1", "a")], unknowns.start(network.resistances(), np.full(2, 51.2)))


@pytest.mark.parametrize(("value", "half"), [(np.nan, 0.1), (np.inf, 0.1), (1.0, 0.0), (1.0, -0.1), (1.0, np.nan)])
def test_what_is_no_reading_is_refused(value: float, half: float) -> None:
    with pytest.raises(ValueError, match="a reading"):
        Observation(current_look("M1", "a"), value, half)
