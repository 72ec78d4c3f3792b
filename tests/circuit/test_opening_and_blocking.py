"""Links and modules taken away, modules that pass one direction only."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.circuit.solution import Case
from bankwright.circuit.solver.laws import Current, Power
from bankwright.circuit.solver.solve import solve
from support.networks import ladder, scrambled

CHAIN = ladder(5, "opposite ends", 0.014, 1e-4, 3e-4)
E = np.full(5, 51.2)


def test_a_module_that_is_open_carries_exactly_nothing():
    solution = solve(CHAIN, Case("t", {"I1": Power(6000.0)}, frozenset({"M3"})), CHAIN.resistances(), E)
    assert solution.current("M3") == 0.0
    assert solution.is_dead("M3")
    assert solution.module_currents().sum() == pytest.approx(solution.current("I1"))


def test_with_an_end_module_open_the_end_link_hangs_loose():
    solution = solve(CHAIN, Case("t", {"I1": Power(6000.0)}, frozenset({"M1"})), CHAIN.resistances(), E)
    assert solution.is_dead("L1+")
    assert not solution.is_dead("L1-")
    assert solution.potential("M1+") == pytest.approx(solution.potential("M2+"))


def test_an_open_link_parts_the_rail_and_the_rest_goes_on():
    solution = solve(CHAIN, Case("t", {"I1": Power(6000.0)}, frozenset({"L2+"})), CHAIN.resistances(), E)
    assert solution.module_currents()[:2].sum() == pytest.approx(0.0, abs=1e-9)  # they only feed each other
    assert solution.current("M1") == pytest.approx(solution.drop("L1-") / (0.028 + 1e-4), rel=1e-9)
    assert solution.module_currents()[2:].sum() == pytest.approx(solution.current("I1"))


def test_an_open_main_leaves_the_load_dark():
    solution = solve(CHAIN, Case("t", {"I1": Power(6000.0)}, frozenset({"main1+"})), CHAIN.resistances(), E)
    assert solution.is_dead("I1")
    assert solution.current("I1") == 0.0
    assert solution.module_currents() == pytest.approx(np.zeros(5), abs=1e-9)


def test_a_module_that_only_discharges_stays_out_of_charging():
    loads = {"I1": Current(-100.0)}
    solution = solve(CHAIN, Case("t", loads, only={"M2": "discharge"}), CHAIN.resistances(), E)
    assert solution.current("M2") == 0.0
    assert solution.module_currents().sum() == pytest.approx(-100.0)
    free = solve(CHAIN, Case("t", {"I1": Current(100.0)}, only={"M2": "discharge"}), CHAIN.resistances(), E)
    assert free.current("M2") > 15.0


def test_two_modules_that_both_start_the_wrong_way_end_with_the_one_that_may():
    pair = ladder(2, "opposite ends", 0.02, 1e-4)
    ways = {"M1": "charge", "M2": "discharge"}
    case = Case("t", {"I1": Current(5.0)}, only=ways)
    solution = solve(pair, case, pair.resistances(), np.array([52.0, 51.0]))
    assert solution.module_currents() == pytest.approx([0.0, 5.0])


@pytest.mark.slow
@given(seed=st.integers(0, 10_000))
def test_one_way_modules_settle_on_the_only_pattern_that_fits(seed):
    """Try every pattern of modules off (an oracle of another kind) and keep those whose signs agree."""
    network = scrambled(seed)
    luck = np.random.default_rng(seed)
    names = network.module_names[:4]
    emf = 51.2 + luck.uniform(-0.6, 0.6, len(network.modules))
    ways = {name: luck.choice(["charge", "discharge"]) for name in names}
    loads = {name: Current(float(luck.uniform(-60, 60))) for name in network.load_names}
    if len(network.modules) <= len(names):
        ways.pop(names[0])
    answer = solve(network, Case("t", loads, only=ways), network.resistances(), emf)
    fitting = []
    for pattern in itertools.product([False, True], repeat=len(ways)):
        shut = frozenset(name for name, off in zip(ways, pattern, strict=True) if off)
        trial = solve(network, Case("t", loads, shut), network.resistances(), emf)
        if _agrees(trial, ways, shut, dict(zip(network.module_names, emf, strict=True))):
            fitting.append(trial.module_currents())
    assert len(fitting) >= 1
    assert np.abs(answer.module_currents() - fitting[0]).max() < 1e-6


def _agrees(trial, ways, shut, emf) -> bool:
    for name, way in ways.items():
        sign = 1.0 if way == "discharge" else -1.0
        if name in shut and sign * (emf[name] - trial.voltage(name)) > 1e-9:
            return False
        if name not in shut and sign * trial.current(name) < -1e-9:
            return False
    return True
