"""Networks of bank files as they are read and unfolded."""

from __future__ import annotations

import numpy as np
import pytest

from bankwright.circuit.cases import LOWEST
from bankwright.circuit.of_bank.network import network_of
from bankwright.circuit.scatter.scatter import scatter
from bankwright.circuit.shorts import shorts
from bankwright.circuit.solution import Solution
from bankwright.circuit.steady import steady
from support.banks import changed, sample


@pytest.mark.parametrize("name", ["two", "five"])
def test_names_of_edges_and_posts_are_names_of_the_bank(name: str):
    bank = sample(name)
    network = network_of(bank)
    strangers = [edge.name for edge in network.edges if edge.name not in bank]
    assert strangers == []
    assert [node for node in network.nodes if node not in bank] == []


def test_two_modules_of_a_file_share_alike():
    solution = steady(sample("two")).case("full discharge")
    assert solution.share("M1") == pytest.approx(0.5, abs=1e-12)
    assert solution.current("M1") == pytest.approx(64.3, abs=0.05)
    assert solution.voltage("I1") == pytest.approx(50.18, abs=0.02)


@pytest.mark.parametrize("name", ["two", "five"])
def test_power_balances_in_every_case_of_a_file(name: str):
    for case, found in steady(sample(name)).each():
        if not isinstance(found, Solution):
            continue
        assert found.source_power == pytest.approx(found.losses + found.load_power, rel=1e-9, abs=1e-6), case


def test_changing_the_feed_changes_the_shares():
    fair = steady(changed("two", wiring__feed="opposite ends")).case(LOWEST)
    unfair = steady(changed("two", wiring__feed="same end")).case(LOWEST)
    assert unfair.current("M1") > fair.current("M1") + 0.1


def test_a_hot_cable_is_known_by_its_temperature():
    cases = steady(sample("two"))
    solution = cases.case(LOWEST)
    # 30 degC room, 134.4 A of 230 A at 45 K rise (NEC Table 310.16, 4/0 AWG, 75 degC column) [derived]
    expected = 30 + 45 * (134.41 / 230) ** 2
    assert cases.metal_degc(solution, "main+") == pytest.approx(expected, abs=0.3)


def test_shorts_and_scatter_of_a_file():
    bank = sample("five")
    found = shorts(bank)
    assert all(place in bank or " side " in place or " middle" in place for place in found.places)
    assert found.inside("M3").current > 2 * found.at("M3+", "M3-").through("M3") > 0
    spread = scatter(steady(bank), [LOWEST])
    assert spread.quantile("M1", 0.99) > abs(steady(bank).case(LOWEST).current("M1"))
    assert np.isfinite(spread.currents(LOWEST)).all()
