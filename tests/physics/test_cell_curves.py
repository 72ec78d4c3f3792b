"""Curves and branches of a cell against the tables and integrals that stand beside each check."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from bankwright.physics.cell import (
    branch_weights,
    resistance_factor,
    rest_left,
    state_of_charge,
)
from support.run_banks import lfp_curve


@pytest.mark.parametrize(("volts", "percent"), [(52.0, 24.0), (52.6, 60.7), (52.8, 67.2), (53.0, 74.2)])
def test_a_rested_voltage_leads_back_to_its_charge(volts, percent):
    # the same set, inverse table of the battery reference
    low, high = state_of_charge(volts / 16, *lfp_curve())
    assert 100 * low == pytest.approx(percent, abs=0.06)
    assert high == pytest.approx(low, abs=1e-9)


def test_a_level_stretch_gives_a_range():
    low, high = state_of_charge(3.3, [0, 0.4, 0.7, 1.0], [3.0, 3.3, 3.3, 3.4])
    assert (low, high) == (pytest.approx(0.4), pytest.approx(0.7))


@pytest.mark.parametrize("ratio", [1e-6, 0.01, 0.049999, 0.050001, 0.7, 10.0])
def test_weights_of_a_branch_are_their_integrals(ratio):
    fall, *moments = branch_weights(ratio)
    assert fall == pytest.approx(math.exp(-ratio), rel=1e-12)
    for power, found in enumerate(moments):
        exact = quad(lambda x, p=power: ratio * math.exp(-ratio * (1 - x)) * x**p, 0, 1)[0]
        assert found == pytest.approx(exact, rel=1e-7)
        assert branch_weights(np.array([ratio]))[1 + power] == pytest.approx([exact], rel=1e-7)


def test_cold_cells_resist_more():
    # factor to 25 degC of a 26650 LFP cell, 1 s steps: 1.773 at 5 degC, 2.959 at -5 degC
    table = ([-5.0, 5.0, 25.0], [2.959, 1.773, 1.0])
    assert resistance_factor(5.0, *table) == pytest.approx(1.773)
    assert resistance_factor(0.0, *table) == pytest.approx(math.sqrt(2.959 * 1.773))
    assert np.isnan(resistance_factor(-6.0, *table))


def test_what_a_rest_leaves_at_25_degc():
    # fitted relaxation after 12 min at 0.55 C, 25 degC: 12.6 mV with 33.8 s and 11.4 mV with 283 s; a module
    # of 16 cells is off by 182, 63, 22, 8 mV after 1, 5, 10, 15 min as printed beside the fit
    left = 16e3 * rest_left([60, 300, 600, 900], 12.6e-3, 33.8, 11.4e-3, 283.0)
    assert left == pytest.approx([182, 63, 22, 8], abs=2.5)
