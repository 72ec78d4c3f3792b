"""Charge and energy close; variants at once give what each gives alone; a network what plain arrays give."""

import numpy as np
import pytest

from bankwright.circuit.network import Edge, Network
from bankwright.circuit.run.loads import Profile, RunLoad
from bankwright.circuit.run.modules import run_modules
from bankwright.circuit.run.ports import Ports
from bankwright.circuit.run.run import run
from support.energy import energy_of
from support.run_banks import DAY, HOURS, bank, lfp_curve

DAILY = RunLoad("load", "power", Profile(HOURS, DAY, "ramps"))


def test_charge_that_leaves_the_modules_is_charge_through_the_load():
    ports, modules = bank(5)
    load = RunLoad("load", "current", Profile((0.0, 3600.0, 7200.0, 9000.0), (100.0, -60.0, 0.0, 35.0)))
    found = run(ports, modules, [load], until=12000.0, soc=[0.5, 0.52, 0.5, 0.45, 0.5])
    moved = ((found.soc[0] - found.soc[-1]) * modules.capacity).sum()
    through = 100 * 3600 - 60 * 3600 + 35 * 3000.0
    assert moved == pytest.approx(through, rel=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("warm", [False, True])
def test_energy_given_is_energy_taken_and_lost(warm):
    more = {"heat_capacity": 4e4, "factor_table": ([-5, 25, 45], [3.0, 1.0, 0.8])} if warm else {}
    ports, modules = bank(8, **more)
    found = run(ports, modules, [DAILY], until=86400.0, soc=0.5, tolerance=2e-6)
    book = energy_of(ports, modules, [DAILY], found)
    assert book["lost"] > 1e5
    turned_over = 3600 * sum(abs(v) for v in DAY)
    assert abs(book["given"] - book["taken"] - book["lost"]) < 1e-6 * turned_over
    assert book["taken"] == pytest.approx(3600 * (sum(DAY) - (DAY[0] + DAY[-1]) / 2), rel=1e-6)
    assert (found.temperature_degc[-1].max() > 25.05) == warm


def test_many_variants_at_once_agree_with_each_alone():
    rng = np.random.default_rng(4)
    count = 20
    r0 = 8e-3 * (1 + 0.2 * rng.uniform(-1, 1, (count, 3)))
    capacity = 100 * (1 + 0.05 * rng.uniform(-1, 1, (count, 3)))
    soc = 0.5 + 0.05 * rng.uniform(-1, 1, (count, 3))
    ports = Ports.common_bar(np.full(3, 5e-4), 1e-3)

    def modules(rows):
        return run_modules(
            lfp_curve(), capacity[rows], r0[rows], branch_1=(5e-3, 35.0), branch_2=(5e-3, 1000.0), names=("A", "B", "C")
        )

    load = RunLoad("load", "power", Profile((0.0, 1800.0), (3000.0, -2000.0)))
    every = run(ports, modules(slice(None)), [load], until=3600.0, soc=soc, tolerance=1e-6)
    assert every.module_current.shape[0] == count
    for row in (0, 7, 19):
        alone = run(ports, modules(row), [load], until=3600.0, soc=soc[row], tolerance=1e-6)
        assert every.soc[row, -1] == pytest.approx(alone.soc[-1], abs=1e-7)
        assert every.load_voltage[row, -1] == pytest.approx(alone.load_voltage[-1], abs=1e-5)


def chain(load_edges):
    """Three modules in a chain, mains at both ends of it so that a ring arises."""
    edges = [Edge(f"M{i}", f"M{i}-", f"M{i}+", "module") for i in (1, 2, 3)]
    edges += [Edge(f"L{i}+", f"M{i}+", f"M{i + 1}+") for i in (1, 2)] + [
        Edge(f"L{i}-", f"M{i + 1}-", f"M{i}-") for i in (1, 2)
    ]
    edges += [Edge("main+", "M3+", "I+"), Edge("main-", "I-", "M1-"), Edge("main+b", "M1+", "I+")]
    return Network.of([*edges, *load_edges])


def test_a_ring_and_two_loads_close_at_every_node():
    network = chain([Edge("I", "I+", "I-", "load"), Edge("D", "M2+", "M2-", "load")])
    ohm = np.array([0.0 if e.kind != "passive" else 4e-4 for e in network.edges])
    ports = Ports.of_network(network, ohm)
    modules = run_modules(
        lfp_curve(), 100.0, [8e-3, 9e-3, 7e-3], branch_1=(5e-3, 35.0), branch_2=(5e-3, 1e3), names=ports.names
    )
    loads = [
        RunLoad("I", "power", Profile((0.0, 600.0), (4000.0, 1000.0))),
        RunLoad("D", "charger", Profile.constant(30.0), ceiling=53.2),
    ]
    found = run(ports, modules, loads, until=1800.0, soc=[0.5, 0.55, 0.45], tolerance=1e-6)
    edges = found.edge_currents()
    at = np.zeros((len(network.nodes), edges.shape[-2]))
    for number, (tail, head) in enumerate(network.ends):
        at[tail] -= edges[:, number]
        at[head] += edges[:, number]
    assert np.abs(at).max() < 1e-9
    book = energy_of(ports, modules, loads, found)
    assert abs(book["given"] - book["taken"] - book["lost"]) < 1e-6 * book["given"]
    place = network.edge_index
    drop = 4e-4 * edges[:, place["L1+"]]
    assert found.voltage[:, 0] - drop == pytest.approx(found.voltage[:, 1] + 4e-4 * edges[:, place["L1-"]], abs=1e-9)
    assert found.current("I")[0] * found.load_voltage[0, found.load_names.index("I")] == pytest.approx(4000.0, rel=1e-9)
    # The charger never comes to its ceiling of 53.2 V here: it gives all its 30 A to the end.
    assert found.current("D")[-1] == pytest.approx(-30.0, rel=1e-9)
    assert found.load_voltage[-1, found.load_names.index("D")] < 53.2


def test_a_star_written_as_a_network_is_the_star_of_plain_arrays():
    edges = [Edge(f"M{i}", f"M{i}-", f"M{i}+", "module") for i in (1, 2)]
    edges += [Edge(f"L{i}+", f"M{i}+", "bar+") for i in (1, 2)] + [Edge(f"L{i}-", "bar-", f"M{i}-") for i in (1, 2)]
    edges += [Edge("main+", "bar+", "I+"), Edge("main-", "I-", "bar-"), Edge("I", "I+", "I-", "load")]
    network = Network.of(edges)
    lead = {"L1+": 3e-4, "L1-": 2e-4, "L2+": 1e-4, "L2-": 4e-4, "main+": 1e-3}
    ports = Ports.of_network(network, np.array([lead.get(e.name, 0.0) for e in network.edges]))
    plain = Ports.common_bar(np.array([5e-4, 5e-4]), 1e-3)
    modules = run_modules(lfp_curve(), 100.0, [8e-3, 9e-3], branch_1=(5e-3, 35.0))
    load = Profile((0.0, 60.0), (3000.0, 500.0))
    one = run(ports, modules, [RunLoad("I", "power", load)], until=300.0, soc=[0.4, 0.5])
    two = run(plain, modules, [RunLoad("load", "power", load)], until=300.0, soc=[0.4, 0.5])
    assert one.soc[-1] == pytest.approx(two.soc[-1], abs=1e-12)
    assert one.load_voltage[-1] == pytest.approx(two.load_voltage[-1], abs=1e-9)


def test_a_network_without_a_load_is_refused_by_name():
    network = Network.of([Edge("M1", "a", "b", "module"), Edge("M2", "a", "b", "module")])
    with pytest.raises(ValueError, match="M1"):
        Ports.of_network(network, np.zeros(2))
