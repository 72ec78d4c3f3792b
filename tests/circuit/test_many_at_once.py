"""Potentials of many variants and cases at once against loops, one case at a time: the same currents."""

from __future__ import annotations

import random

import numpy as np
import pytest

from bankwright.circuit.network import Network
from bankwright.circuit.solution import Case
from bankwright.circuit.solver.basis import shared_basis
from bankwright.circuit.solver.by_nodes import by_nodes
from bankwright.circuit.solver.eliminate import elimination_of
from bankwright.circuit.solver.laws import Current, Power
from bankwright.circuit.solver.many import Together, many, whole
from bankwright.circuit.solver.seen import seen
from bankwright.circuit.solver.solve import currents, solve
from bankwright.circuit.steady import steady
from support.banks import sample
from support.networks import conductor, ladder, load, module, scrambled, star

CLOSE = 1e-9  # of the largest current


def _variants(network: Network, count: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    luck = np.random.default_rng(seed)
    R = network.resistances() * luck.uniform(0.7, 1.3, (count, len(network.elements)))
    return R, 51.2 + luck.normal(0.0, 0.05, (count, len(network.modules)))


def _edges(network: Network, R: np.ndarray, E: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    emf = np.zeros((len(E), len(network.edges)))
    emf[:, list(network.modules)] = E
    return network.edge_resistances(R), emf


@pytest.mark.parametrize("seed", range(25))
def test_potentials_see_the_bank_as_loops_do_with_edges_open_and_modules_off(seed):
    network = scrambled(seed)
    luck = random.Random(seed)
    opened = frozenset(luck.sample([edge.name for edge in network.edges if edge.kind == "passive"], seed % 3))
    basis = shared_basis(network, opened)
    R, E = _edges(network, *_variants(network, 40, seed))
    off = np.random.default_rng(seed).random((40, len(basis.inner))) < 0.2
    mine, theirs = by_nodes(basis, R, E, off), seen(basis, R, E, off)
    assert mine is not None
    assert (mine.cut_off == theirs.cut_off).all()
    fed = ~theirs.cut_off
    assert mine.voltage[fed] == pytest.approx(theirs.voltage[fed], rel=1e-9, abs=1e-9)
    assert mine.resistance[fed] == pytest.approx(theirs.resistance[fed], rel=1e-9, abs=1e-12)
    J = np.random.default_rng(seed).uniform(-50.0, 120.0, (40, len(basis.loads)))
    J[~fed] = 0.0
    expected = theirs.currents(J)[fed]
    largest = np.abs(expected).max() if expected.size else 1.0
    assert np.abs(mine.currents(J)[fed] - expected).max(initial=0.0) <= CLOSE * max(largest, 1.0)


@pytest.mark.parametrize("feed", ["same end", "opposite ends", "both ends"])
def test_a_large_batch_with_power_loads_is_the_same_as_each_variant_alone(feed):
    network = ladder(24, feed, 0.014, 1e-4, 3e-4, 2)
    R, E = _variants(network, 64, 3)
    case = Case("t", {"I1": Power(9000.0), "I2": Power(4000.0)}, only={"M3": "charge"})
    together, fraction = currents(network, case, R, E)  # 64 x 24 is beyond NODES_PAY: potentials
    assert (fraction == 1.0).all()
    for row in range(0, 64, 9):
        alone = solve(network, case, R[row], E[row]).edge_current
        assert np.abs(together[row] - alone).max() <= CLOSE * np.abs(alone).max()


@pytest.mark.parametrize("seed", range(20))
def test_cases_beside_each_other_are_the_same_as_one_after_the_other(seed):
    network, luck = scrambled(seed), random.Random(seed)
    draw = {name: Current(luck.uniform(-80.0, 150.0)) for name in network.load_names}
    base = Case("t", draw)
    cases = [base]
    for edge in network.edges:
        if edge.kind != "load":
            cases.append(Case(edge.name, draw, open=frozenset({edge.name})))
        if edge.kind == "module":
            cases += [Case(f"{edge.name} {way}", draw, only={edge.name: way}) for way in ("charge", "discharge")]
    R, E = _variants(network, len(cases), seed)
    assert all(whole(network, case) for case in cases if not case.only)
    kept = [i for i, case in enumerate(cases) if whole(network, case)]
    found = many(Together.of(network, [cases[i] for i in kept]), network.edge_resistances(R[kept]), E[kept])
    assert found is not None
    assert (found[1] == 1.0).all()
    for row, i in zip(found[0], kept, strict=True):
        alone = solve(network, cases[i], R[i], E[i]).edge_current
        assert np.abs(row - alone).max() <= CLOSE * max(np.abs(alone).max(), 1.0), cases[i].name


def test_a_conductor_without_resistance_is_one_node_unless_it_closes_a_ring():
    network = star([0.014] * 12, [2e-4] * 12, 0.0, 3e-4)
    R, E = _variants(network, 50, 1)
    case = Case("t", {"I1": Power(5000.0)})
    together, _ = currents(network, case, R, E)
    assert by_nodes(shared_basis(network), *_edges(network, R, E)) is not None
    alone = np.array([solve(network, case, r, e).edge_current for r, e in zip(R[:5], E[:5], strict=True)])
    assert np.abs(together[:5] - alone).max() <= CLOSE * np.abs(alone).max()
    ring = Network.of((*network.edges, conductor("a", "bar+1", "x", 1e-3), conductor("b", "bar+3", "x", 0.0)))
    R, E = _variants(ring, 50, 1)
    assert "b" in {ring.edges[i].name for i in shared_basis(ring).inner}
    assert by_nodes(shared_basis(ring), *_edges(ring, R, E)) is None  # loops take it
    assert np.isfinite(currents(ring, case, R, E)[0]).all()


def test_resistance_of_zero_in_some_variants_only_goes_by_loops():
    network = ladder(16, "opposite ends", 0.014, 1e-4, 3e-4)
    R, E = _variants(network, 40, 2)
    R[7, network.element_index["L3+"]] = 0.0
    assert by_nodes(shared_basis(network), *_edges(network, R, E)) is None
    case = Case("t", {"I1": Current(100.0)})
    together, _ = currents(network, case, R, E)
    alone = solve(network, case, R[7], E[7]).edge_current
    assert np.abs(together[7] - alone).max() <= CLOSE * np.abs(alone).max()


def test_a_lone_one_way_module_and_a_power_load_do_not_stand_in_a_batch():
    network = Network.of([module("M1", 0.014), load("I1", "M1+", "M1-")])
    assert not whole(network, Case("t", {"I1": Current(10.0)}, only={"M1": "charge"}))
    assert whole(network, Case("t", {"I1": Current(10.0)}, open=frozenset({"M1"})))
    assert whole(network, Case("t", {"I1": Power(10.0)}))
    assert not whole(network, Case("t", {"I1": Power(10.0)}, open=frozenset({"M1"})))


@pytest.mark.parametrize("watts", [4_000.0, 12_000.0, 400_000.0])
def test_cases_that_ask_power_are_the_same_beside_each_other_the_most_possible_too(watts):
    network = ladder(6, "opposite ends", 0.014, 1e-4, 3e-4, 2)
    draw = {"I1": Power(watts), "I2": Power(0.7 * watts)}
    cases = [Case("t", draw)] + [Case(f"M{k}", draw, open=frozenset({f"M{k}"})) for k in range(1, 7)]
    cases += [Case(f"M{k} blocked", draw, only={f"M{k}": "charge"}) for k in range(1, 7)]
    R, E = _variants(network, len(cases), 5)
    found = many(Together.of(network, cases), network.edge_resistances(R), E)
    assert found is not None
    assert (found[1] < 1.0).any() == (watts > 20_000.0)
    for row, part, case, r, e in zip(*found, cases, R, E, strict=True):
        alone = solve(network, case, r, e, partly=True)
        assert part == pytest.approx(float(alone.fraction), rel=1e-9)
        close = 1e-4 if part < 1.0 else CLOSE  # at the most, currents go as the root of what is missing of it
        assert np.abs(row - alone.edge_current).max() <= close * np.abs(alone.edge_current).max()


@pytest.mark.parametrize("name", ["two", "five", "chain_of_four", "sound"])
def test_warm_currents_of_a_bank_are_those_of_its_cases(name):
    one, other = steady(sample(name)), steady(sample(name))
    one.ahead(one.continuous)
    assert len(one.continuous) > 8
    for case in one.continuous:
        expected = other.case(case).edge_current
        assert np.abs(one.edge_current(case) - expected).max() <= CLOSE * max(np.abs(expected).max(), 1.0), case
    assert not one._solved  # none of them was solved alone


@pytest.mark.parametrize("batch", [1, 10_000])  # nodes beside each other, and one by one
@pytest.mark.parametrize("feed", ["same end", "both ends"])
def test_work_grows_as_the_bank_and_not_as_its_square(feed, batch):
    def work(count: int) -> int:
        order = elimination_of(ladder(count, feed, 0.014, 1e-4, 3e-4, 2).shape, frozenset(), batch)
        return order.pairs + sum(step.rows.size + len(step.fill) * step.rows.shape[1] for step in order.steps)

    assert work(256) < 4.3 * work(64)


def test_nodes_that_go_beside_each_other_share_no_neighbour():
    for batch in (1, 10_000):
        order = elimination_of(ladder(64, "both ends", 0.014, 1e-4, 3e-4, 2).shape, frozenset(), batch)
        for step in order.steps:
            near = [place for row in step.beside for place in np.atleast_1d(np.arange(order.node_of.size)[row])]
            assert len(set(near)) == len(near)
            assert all(
                len(set(np.atleast_1d(np.arange(order.pairs)[pairs]))) == step.rows.shape[1] for *_, pairs in step.fill
            )
    assert len(order.steps) > 3 * len(
        elimination_of(ladder(64, "both ends", 0.014, 1e-4, 3e-4, 2).shape, frozenset(), 1).steps
    )


@pytest.mark.parametrize("count", [1, 200])
def test_small_and_large_batches_agree(count):
    network = star([0.014] * 7, [2e-4] * 7, 1e-5, 3e-4, 2)
    luck = np.random.default_rng(4)
    R = network.resistances() * luck.uniform(0.8, 1.2, (1000, len(network.elements)))
    case = Case("a", {"I1": Power(4000.0), "I2": Power(2500.0)})
    E = np.full(7, 51.2)
    whole, _ = currents(network, case, R, E)
    few, _ = currents(network, case, R[:count], E)
    assert few == pytest.approx(whole[:count], rel=1e-9, abs=1e-9)
