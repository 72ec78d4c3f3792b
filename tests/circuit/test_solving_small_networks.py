"""The solver on networks small enough to check by hand, and its invariants on generated ones."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.circuit.network import Edge, Element, Network
from bankwright.circuit.solution import Case, Solution
from bankwright.circuit.solver.laws import SHORT, Current, Power, Resistance, Voltage
from bankwright.circuit.solver.solve import solve, variants
from bankwright.forms.toleranced import exact
from support.networks import FEEDS, conductor, ladder, load, module, scrambled, star

pytestmark = pytest.mark.quick


def solved(network: Network, emf: float | list[float] = 51.2, **loads: object) -> Solution:
    each = np.full(len(network.modules), emf) if isinstance(emf, float) else np.array(emf)
    return solve(network, Case("test", loads), network.resistances(), each)  # type: ignore[arg-type]


def two_modules(first: float, second: float) -> Network:
    """Two modules on short links; the inverter behind a fuse; resistances invented."""

    def joint(name: str) -> Element:
        return Element(name, "joint", exact(20e-6))

    def link(pole: str) -> Edge:
        name, ends = f"L1{pole}", (f"M1{pole}", f"M2{pole}")
        first, second = (joint(f"{name}@{end}") for end in ends)
        return Edge(name, *ends, "passive", (first, Element(name, "conductor", exact(52.5e-6)), second))

    links = [link("+"), link("-")]
    ends = joint("main+@M2+"), joint("main+@I1+")
    main = Element("main+", "conductor", exact(246.1e-6)), Element("F1", "device", exact(300e-6))
    back = Element("main-", "conductor", exact(246.1e-6)), joint("main-@I1-"), joint("main-@M1-")
    mains = [Edge("main+", "M2+", "I1+", "passive", (*ends, *main)), Edge("main-", "I1-", "M1-", "passive", back)]
    return Network.of([module("M1", first), module("M2", second), *links, *mains, load("I1", "I1+", "I1-")])


def test_two_equal_modules_at_opposite_ends_share_exactly_alike():
    # U = E - R J with U J = P, R = r/2 + link/2 + mains [derived: two equal branches]; link 92.5 uohm, 6 kW at 0.93.
    solution = solved(two_modules(0.014, 0.014), I1=Power(6000 / 0.93))
    R = (0.014 + 92.5e-6) / 2 + 2 * 246.1e-6 + 300e-6 + 4 * 20e-6
    U = (51.2 + math.sqrt(51.2**2 - 4 * R * 6000 / 0.93)) / 2
    assert solution.voltage("I1") == pytest.approx(U, rel=1e-12)
    assert solution.current("M1") == pytest.approx(6000 / 0.93 / U / 2, rel=1e-12)
    assert solution.current("M1") == pytest.approx(64.28, abs=0.005)
    assert solution.drop("L1+") == pytest.approx(5.9e-3, abs=5e-5)
    assert solution.shares() == {"M1": pytest.approx(0.5), "M2": pytest.approx(0.5)}


def test_unequal_modules_share_by_their_resistance():
    solution = solved(two_modules(0.011, 0.017), I1=Power(6000 / 0.93))
    ratio = (0.017 + 92.5e-6) / (0.011 + 92.5e-6)  # each branch: module and one link [derived: current divider]
    assert solution.current("M1") / solution.current("M2") == pytest.approx(ratio, rel=1e-12)
    assert [round(float(i), 2) for i in solution.module_currents()] == [77.90, 50.56]


def test_millman_with_unequal_voltages():
    # Millman's theorem: V = (sum E/r - I)/(sum 1/r) [stated law], figures worked by hand to six decimals.
    network = star([0.02, 0.02, 0.025], [0.0] * 3, 0.0, 0.0)
    rest = solved(network, [53.3, 53.2, 53.0])
    assert rest.voltage("I1") == pytest.approx(53.178571, abs=1e-6)
    assert rest.module_currents() == pytest.approx([6.071429, 1.071429, -7.142857], abs=1e-6)
    under = solved(network, [53.3, 53.2, 53.0], I1=Current(150.0))
    assert under.voltage("I1") == pytest.approx(52.107143, abs=1e-6)
    assert under.module_currents() == pytest.approx([59.642857, 54.642857, 35.714286], abs=1e-6)


def test_charger_at_a_voltage_a_resistor_and_a_bolted_short():
    network = star([0.02, 0.02], [0.0, 0.0], 0.0, 0.001)
    charged = solved(network, 52.0, I1=Voltage(54.0))
    assert charged.current("I1") == pytest.approx(-2.0 / 0.012)
    assert charged.voltage("I1") == pytest.approx(54.0)
    assert solved(network, 52.0, I1=Resistance(0.5)).current("I1") == pytest.approx(52.0 / 0.512)
    short = solved(network, 52.0, I1=SHORT)
    assert short.current("I1") == pytest.approx(52.0 / 0.012)
    assert short.voltage("I1") == pytest.approx(0.0, abs=1e-9)


def test_charging_power_raises_the_voltage():
    solution = solved(star([0.02, 0.02], [0.0, 0.0], 0.0, 0.0), 52.0, I1=Power(-5000.0))
    assert solution.voltage("I1") > 52.0
    assert solution.voltage("I1") * solution.current("I1") == pytest.approx(-5000.0)


def test_three_loads_of_three_laws_at_once():
    network = ladder(4, "both ends", 0.012, 2e-4, 5e-4, loads=3)
    solution = solved(network, 52.0, I1=Power(4000.0), I2=Voltage(52.5), I3=Current(30.0))
    assert solution.voltage("I1") * solution.current("I1") == pytest.approx(4000.0)
    assert solution.voltage("I2") == pytest.approx(52.5)
    assert solution.current("I3") == pytest.approx(30.0)


def test_zero_ohm_links_and_mains_are_legal():
    solution = solved(ladder(3, "same end", 0.02, 0.0), 51.2, I1=Current(90.0))
    assert solution.module_currents() == pytest.approx([30.0, 30.0, 30.0])


@given(seed=st.integers(0, 10_000))
def test_currents_close_and_power_balances(seed):
    network = scrambled(seed)
    powers = {name: Power(1500.0 + 700.0 * place) for place, name in enumerate(network.load_names)}
    emf = 51.0 + 0.3 * np.cos(np.arange(len(network.modules)))
    solution = solve(network, Case("test", powers), network.resistances(), emf)
    current, largest = solution.edge_current, np.zeros(len(network.nodes))
    sums = np.zeros(len(network.nodes))
    for (tail, head), i in zip(network.ends, current, strict=True):
        sums[tail] -= i
        sums[head] += i
        largest[[tail, head]] = np.maximum(largest[[tail, head]], abs(i))
    assert np.all(np.abs(sums) <= 1e-9 * largest)
    assert solution.source_power == pytest.approx(solution.losses + solution.load_power, rel=1e-9)
    for name, law in powers.items():
        assert solution.voltage(name) * solution.current(name) == pytest.approx(law.power, rel=1e-10)


@given(seed=st.integers(0, 10_000))
def test_potentials_follow_from_the_currents_along_every_edge(seed):
    network = scrambled(seed)
    laws = {name: Current(40.0) for name in network.load_names}
    solution = solve(network, Case("test", laws), network.resistances(), np.full(len(network.modules), 52.0))
    for edge in network.edges:
        rise = solution.potential(edge.head) - solution.potential(edge.tail)
        if edge.kind == "passive":
            assert rise == pytest.approx(-solution.drop(edge.name), abs=1e-9)
        elif edge.kind == "module":
            assert rise == pytest.approx(52.0 - solution.drop(edge.name), abs=1e-9)


@given(seed=st.integers(0, 10_000), scale=st.floats(0.1, 5.0))
def test_given_currents_scale_with_the_load_when_all_voltages_are_equal(seed, scale):
    network = scrambled(seed)
    emf = np.full(len(network.modules), 52.0)
    one, many = (
        solve(network, Case("t", {n: Current(20.0 * k) for n in network.load_names}), network.resistances(), emf)
        for k in (1.0, scale)
    )
    assert many.edge_current == pytest.approx(scale * one.edge_current, abs=1e-8 * scale)


@pytest.mark.parametrize("feed", FEEDS)
def test_a_batch_gives_what_its_variants_give_alone(feed):
    network = ladder(5, feed, 0.014, 2e-4, 6e-4, loads=2)
    luck = np.random.default_rng(3)
    R = network.resistances() * luck.uniform(0.8, 1.2, (7, len(network.elements)))
    E = luck.uniform(51.0, 51.5, (7, 5))
    case = Case("t", {"I1": Power(5000.0), "I2": Power(2500.0)})
    together = variants(network, case, R, E)
    for k in range(7):
        alone = solve(network, case, R[k], E[k])
        assert together.edge_current[k] == pytest.approx(alone.edge_current, rel=1e-11)
        assert together.node_potential[k] == pytest.approx(alone.node_potential, abs=1e-10)


def test_arrays_of_a_solution_cannot_be_written():
    solution = solved(two_modules(0.014, 0.014), I1=Current(10.0))
    for name in ("edge_current", "node_potential", "dead", "resistance", "emf", "fraction"):
        assert not getattr(solution, name).flags.writeable


def test_a_name_may_stand_for_one_thing_only():
    with pytest.raises(ValueError, match="named twice: W"):
        Network.of([conductor("W", "a", "b", 1.0), conductor("W", "b", "c", 1.0)])


def test_one_case_and_many_are_two_kinds():
    network = two_modules(0.014, 0.016)
    case, many = Case("t", {"I1": Current(10.0)}), np.tile(network.resistances(), (3, 1))
    one, three = solve(network, case, many[0], np.full(2, 51.2)), variants(network, case, many, np.full(2, 51.2))
    assert type(one.current("M1")) is float
    assert three.current("M1") == pytest.approx(np.full(3, one.current("M1")))
    assert three.potential(network.nodes[1]) == pytest.approx(np.full(3, one.potential(network.nodes[1])))
    assert three.drop("M1") == pytest.approx(np.full(3, one.drop("M1")))
    assert type(one.is_dead("M1")) is type(three.is_dead("M1")) is bool
    with pytest.raises(ValueError, match="many"):
        solve(network, case, many, np.full(2, 51.2))
    assert "3 variants" in repr(three)
