"""Generated networks against ngspice, a general-purpose circuit engine, to 1e-6 of the largest current."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from bankwright.circuit.network import Network
from bankwright.circuit.of_bank.network import network_of
from bankwright.circuit.solution import Case
from bankwright.circuit.solver.laws import Power
from bankwright.circuit.solver.solve import solve
from support.banks.wired import busbar_bank, chain_bank
from support.networks import FEEDS, ladder, scrambled
from support.spice import NEEDS_NGSPICE, currents_by_ngspice

pytestmark = NEEDS_NGSPICE


def compared(networks: list[Network], folder: Path, watts_each: float) -> None:
    jobs, ours = [], []
    for n, network in enumerate(networks):
        luck = np.random.default_rng(n)
        emf = 51.2 + luck.uniform(-0.2, 0.2, len(network.modules))
        watts = {name: watts_each * (1 + 0.3 * k) for k, name in enumerate(network.load_names)}
        R = network.edge_resistances(network.resistances())
        jobs.append((network, R, emf, watts))
        case = Case("test", {name: Power(power) for name, power in watts.items()})
        ours.append(solve(network, case, network.resistances(), emf).edge_current)
    theirs = currents_by_ngspice(jobs, folder)
    for network, mine, other in zip(networks, ours, theirs, strict=True):
        assert np.abs(mine - other).max() <= 1e-6 * np.abs(mine).max(), network.edges


def test_rings_unequal_modules_and_several_loads(tmp_path: Path):
    compared([scrambled(seed) for seed in range(30)], tmp_path, 1500.0)


def test_charging_with_power(tmp_path: Path):
    compared([scrambled(seed) for seed in range(100, 110)], tmp_path, -1200.0)


def test_every_feed_of_a_chain_with_one_and_two_inverters(tmp_path: Path):
    networks = [ladder(n, feed, 0.014, 2e-4, 3e-4, loads) for n in (2, 5) for feed in FEEDS for loads in (1, 2)]
    compared(networks, tmp_path, 2500.0)


def test_banks_as_they_are_unfolded(tmp_path: Path):
    banks = [chain_bank(n, feed, 2) for n in (3, 8) for feed in FEEDS] + [busbar_bank(4), busbar_bank(7, 2)]
    networks = [network_of(bank, fine=fine) for fine in (False, True) for bank in banks[:: 2 if fine else 1]]
    compared(networks, tmp_path, 2000.0)


def test_zero_ohm_mains_are_ideal_for_both(tmp_path: Path):
    compared([ladder(4, feed, 0.02, 1e-3, 0.0) for feed in FEEDS[:2]], tmp_path, 4000.0)
