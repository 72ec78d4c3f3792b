"""Scatter: published quantiles, common causes, chances, shares of variance, corners of the sample."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from bankwright.circuit.cases import LOWEST
from bankwright.circuit.scatter.causes import common, gradient, own_causes, spread_of_voltage
from bankwright.circuit.scatter.scatter import scatter, worst_away
from bankwright.circuit.steady import steady
from bankwright.forms.toleranced import Toleranced
from support.banks.wired import INVERTER, M100, chain_bank, on_a_common_bar

FIVE = on_a_common_bar(5, 280.0, Toleranced(0.014, 0.011, 0.017))
LIMITS = {f"M{k}": 100.0 for k in range(1, 6)}


def test_quantile_of_five_modules_on_a_common_bar():
    # 14 mohm +- 3 mohm, N 5, common bar, 280 A, flat and independent: 99 % quantile of the largest current 72.4 A,
    # corner (one low, all others high) 78.0 A [derived elsewhere by plain random numbers; corner by hand].
    cases = steady(FIVE)
    found = scatter(cases, [LOWEST], own_causes(cases.network))
    ratios = found.ratios(LOWEST, LIMITS)
    assert np.quantile(ratios, 0.99) * 100 == pytest.approx(72.4, abs=0.15)
    corner = 280 * (1 / 11) / (1 / 11 + 4 / 17)
    assert corner == pytest.approx(78.0, abs=0.05)
    assert ratios.max() * 100 < corner


def test_plain_random_numbers_give_the_same_quantile():
    cases = steady(FIVE)
    found = scatter(cases, [LOWEST], own_causes(cases.network))
    ohms = np.random.default_rng(11).uniform(0.011, 0.017, (200_000, 5))
    largest = 280 * (1 / ohms / (1 / ohms).sum(axis=1, keepdims=True)).max(axis=1)
    assert np.quantile(found.ratios(LOWEST, LIMITS), 0.99) * 100 == pytest.approx(np.quantile(largest, 0.99), abs=0.1)
    assert found.chance("M1", 60.0) == pytest.approx((280 / ohms[:, 0] / (1 / ohms).sum(axis=1) > 60).mean(), abs=0.01)


def test_currents_of_each_variant_add_up_to_the_load():
    cases = steady(chain_bank(4, "both ends", 2))
    found = scatter(cases, [LOWEST])
    modules = found.currents(LOWEST)[:, list(cases.network.modules)].sum(axis=1)
    loads = found.currents(LOWEST)[:, list(cases.network.loads)].sum(axis=1)
    assert modules == pytest.approx(loads, rel=1e-12)


def test_the_modules_own_tolerance_dominates_short_links():
    cases = steady(chain_bank(5))
    found = scatter(cases, [LOWEST])
    (first, share), *rest = found.dominant(LOWEST, found.edge("M2", LOWEST))
    assert first == "M2"
    assert share > 0.6
    assert sum(part for _, part in rest) < 0.35


def test_a_common_factor_on_all_modules_moves_no_share_but_the_voltage():
    cases = steady(FIVE)
    batch = common("one batch", LIMITS, 0.8, 1.2)
    found = scatter(cases, ["full discharge"], [batch])
    assert np.ptp(found.edge("M1", "full discharge") / found.edge("I1", "full discharge")) < 1e-12
    assert np.ptp(found.edge("I1", "full discharge")) > 0.5


def test_the_gradient_of_a_rack_loads_the_warm_top():
    cases = steady(FIVE)
    found = scatter(cases, [LOWEST], [gradient(FIVE)])
    assert np.median(found.edge("M5", LOWEST)) > 56.0 > np.median(found.edge("M1", LOWEST))
    assert gradient(FIVE.replaced(modules=tuple(replace(m, slot=None) for m in FIVE.modules))) is None


def test_unequal_voltages_are_a_cause_of_their_own():
    cases = steady(FIVE)
    found = scatter(cases, [LOWEST], spread_of_voltage(FIVE, 0.1))
    # i_k = I/5 + (e_k - mean)/r, e flat within +- 0.1 V, variance 0.1^2/3 each [derived: Millman]
    expected = np.sqrt((0.8**2 + 4 * 0.2**2) * 0.1**2 / 3) / 0.014
    assert found.edge("M1", LOWEST).std() == pytest.approx(expected, rel=1e-3)


def test_default_cases_are_discharge_surge_charge_and_the_worst_away():
    cases = steady(chain_bank(5, inverters=2))
    found = scatter(cases)
    assert found.names == (LOWEST, "surge", "full charge", worst_away(cases))
    assert "open" in found.names[3]
    assert np.all(found.low <= found.middle)
    assert np.all(found.middle <= found.high)


def test_cases_whose_data_is_missing_are_left_out():
    kind = replace(M100, resistance=replace(M100.resistance, surge=None))
    assert "surge" not in scatter(steady(chain_bank(3, kind=kind))).names


def test_variants_that_cannot_be_delivered_are_counted():
    bank = chain_bank(1)
    strong = replace(INVERTER, surge_power=50_000.0, surge_time=5.0)
    bank = bank.replaced(
        inverters=tuple(replace(i, kind=strong) for i in bank.inverters),
        site=replace(bank.site, ambient_low_degc=25.0),
    )
    found = scatter(steady(bank), ["surge"], own_causes(steady(bank).network_for("surge", 25.0)))
    assert 0.05 < found.undelivered("surge") < 0.95
    assert np.isfinite(found.currents("surge")).all()


def test_one_way_module_in_a_scatter():
    name = "full charge, M2 charge blocked"
    found = scatter(steady(chain_bank(3)), [name])
    assert np.all(found.edge("M2", name) == 0.0)
