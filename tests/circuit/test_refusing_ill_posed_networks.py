"""Named errors, found before any solve; power that no bank can deliver."""

from __future__ import annotations

import numpy as np
import pytest

from bankwright.circuit.errors import (
    BridgedModule,
    FloatingPart,
    LoadWithoutReturn,
    NotDeliverable,
    RingWithoutResistance,
)
from bankwright.circuit.network import Edge, Element, Network
from bankwright.circuit.solution import Case
from bankwright.circuit.solver.graph import check
from bankwright.circuit.solver.laws import Current, Power
from bankwright.circuit.solver.solve import solve, variants
from bankwright.forms.checks import NeedsValue
from support.networks import conductor, ladder, load, star


def checked(*edges: Edge) -> None:
    network = Network.of(edges)
    check(network, network.edge_resistances(network.resistances()))


BANK = ladder(2, "same end", 0.014, 1e-4, 1e-4).edges


def test_a_good_network_passes():
    checked(*BANK)


def test_posts_that_hang_loose_are_named():
    with pytest.raises(FloatingPart, match=r"P3, P4"):
        checked(*BANK, conductor("stray", "P3", "P4", 1e-3))


def test_a_module_bridged_by_links_is_named_with_the_path():
    with pytest.raises(BridgedModule) as caught:
        checked(*BANK, conductor("wrong", "M2+", "M1-", 1e-3))
    assert caught.value.names == ("M1", "L1+", "wrong")


def test_a_load_without_return_is_named():
    with pytest.raises(LoadWithoutReturn, match="I9"):
        checked(*BANK, load("I9", "M1+", "M2+"))
    with pytest.raises(LoadWithoutReturn, match="I9"):
        checked(*BANK, load("I9", "M1+", "nowhere"))


def test_a_ring_of_zero_ohms_is_named():
    with pytest.raises(RingWithoutResistance) as caught:
        checked(*BANK, conductor("bar", "M1+", "M2+", 0.0), conductor("strap", "M2+", "M1+", 0.0))
    assert set(caught.value.names) == {"bar", "strap"}
    with pytest.raises(RingWithoutResistance):
        checked(*ladder(2, "same end", 0.0, 0.0, 1e-3).edges)


def test_overload_is_refused_with_the_largest_fraction_one_load():
    network = star([0.02, 0.02], [0.0, 0.0], 0.0, 0.0)
    most = 50.0**2 / (4 * 0.01)  # U_oc^2 / 4Z [stated law: matched load]
    with pytest.raises(NotDeliverable, match=r"at most 50\.0%") as caught:
        solve(network, Case("surge", {"I1": Power(2 * most)}), network.resistances(), np.full(2, 50.0))
    assert caught.value.fraction == pytest.approx(0.5, rel=1e-9)
    held = solve(network, Case("surge", {"I1": Power(0.999 * most)}), network.resistances(), np.full(2, 50.0))
    assert held.voltage("I1") > 25.0


def test_overload_with_two_loads_finds_the_fraction_where_the_voltage_turns():
    """Follow the solution upwards in small steps by its own Newton (a continuation) and see where it ends."""
    network = ladder(3, "opposite ends", [0.011, 0.02, 0.017], 5e-4, 2e-3, loads=2)
    R, E = network.resistances(), np.full(3, 48.0)
    wanted = {"I1": Power(120_000.0), "I2": Power(50_000.0)}
    with pytest.raises(NotDeliverable) as caught:
        solve(network, Case("surge", wanted), R, E)
    base = [solve(network, Case("t", {name: Current(1.0)}), R, E) for name in wanted]
    open_voltage = np.full(2, 48.0)
    Z = np.array([[48.0 - s.voltage(name) for name in wanted] for s in base]).T
    reached = _continuation(open_voltage, Z, np.array([120_000.0, 50_000.0]))
    assert caught.value.fraction == pytest.approx(reached, abs=1e-4)


def _continuation(U_oc: np.ndarray, Z: np.ndarray, P: np.ndarray) -> float:
    J, fraction, step = np.zeros(2), 0.0, 1e-3
    while step > 1e-7:
        trial, goal = J.copy(), fraction + step
        for _ in range(20):
            U = U_oc - Z @ trial
            trial = trial - np.linalg.solve(np.diag(U) - np.diag(trial) @ Z, U * trial - goal * P)
        exact = np.abs((U_oc - Z @ trial) * trial - goal * P).max() < 1e-6
        close = exact and np.abs(trial - J).max() < 0.2 * np.abs(trial).max() + 5
        J, fraction, step = (trial, goal, step) if close else (J, fraction, step / 2)
    return fraction


def test_an_undeliverable_variant_can_be_marked_instead():
    network = star([0.02, 0.02], [0.0, 0.0], 0.0, 0.0)
    R = np.tile(network.resistances(), (2, 1))
    R[1] *= 4.0
    solution = variants(network, Case("surge", {"I1": Power(40_000.0)}), R, np.full(2, 50.0), partly=True)
    assert solution.fraction[0] == 1.0
    assert solution.fraction[1] == pytest.approx(50.0**2 / 0.16 / 40_000.0)
    assert np.isfinite(solution.edge_current).all()


def test_a_missing_resistance_is_asked_for_by_its_key():
    edges = list(BANK)
    key = "kinds.module.M100.resistance.dc"
    edges[1] = Edge("M2", "M2-", "M2+", "module", (Element("M2", "module", None, needs=key),))
    network = Network.of(edges)
    with pytest.raises(NeedsValue, match=key):
        solve(network, Case("t", {"I1": Current(10.0)}), network.resistances(), np.full(2, 51.2))
    alone = solve(network, Case("t", {"I1": Current(10.0)}, frozenset({"M2"})), network.resistances(), np.full(2, 51.2))
    assert alone.current("M1") == pytest.approx(10.0)
