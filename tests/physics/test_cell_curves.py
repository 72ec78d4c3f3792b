"""Curves, branches and hysteresis of a cell against the tables and integrals that stand beside each check."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from bankwright.physics.cell import (
    branch_voltage,
    branch_weights,
    curve_area,
    hysteresis_state,
    open_circuit_voltage,
    resistance_factor,
    rest_left,
    state_of_charge,
)
from support.run_banks import lfp_curve


def test_the_published_parameter_set_is_met_on_its_grid():
    # open BPX example cell (LFP 18650, MIT): full-cell values at 0, 10, .. 100 %
    printed = [2.000, 3.1882, 3.2296, 3.2674, 3.2750, 3.2781, 3.2864, 3.3057, 3.3181, 3.3218, 3.6486]
    computed = open_circuit_voltage(np.linspace(0, 1, 11), *lfp_curve())
    assert np.abs(computed - printed).max() <= 1.01e-4


def test_nothing_is_extrapolated():
    assert np.isnan(open_circuit_voltage([-0.01, 1.01], *lfp_curve())).all()


@pytest.mark.parametrize(("volts", "percent"), [(52.0, 24.0), (52.6, 60.7), (52.8, 67.2), (53.0, 74.2)])
def test_a_rested_voltage_leads_back_to_its_charge(volts, percent):
    # the same set, inverse table of the battery reference
    low, high = state_of_charge(volts / 16, *lfp_curve())
    assert 100 * low == pytest.approx(percent, abs=0.06)
    assert high == pytest.approx(low, abs=1e-9)


def test_a_level_stretch_gives_a_range():
    low, high = state_of_charge(3.3, [0, 0.4, 0.7, 1.0], [3.0, 3.3, 3.3, 3.4])
    assert (low, high) == (pytest.approx(0.4), pytest.approx(0.7))


def test_the_area_is_the_integral():
    soc, volts = lfp_curve()
    exact = quad(lambda z: float(open_circuit_voltage(z, soc, volts)), 0.123, 0.877, points=list(soc[13:88]), limit=300)
    assert curve_area(0.877, soc, volts) - curve_area(0.123, soc, volts) == pytest.approx(exact[0], rel=1e-9)


@pytest.mark.parametrize("ratio", [1e-6, 0.01, 0.049999, 0.050001, 0.7, 10.0])
def test_weights_of_a_branch_are_their_integrals(ratio):
    fall, *moments = branch_weights(ratio)
    assert fall == pytest.approx(math.exp(-ratio), rel=1e-12)
    for power, found in enumerate(moments):
        exact = quad(lambda x, p=power: ratio * math.exp(-ratio * (1 - x)) * x**p, 0, 1)[0]
        assert found == pytest.approx(exact, rel=1e-7)
        assert branch_weights(np.array([ratio]))[1 + power] == pytest.approx([exact], rel=1e-7)


def test_a_branch_settles_at_current_times_resistance():
    assert branch_voltage(0.0, 50.0, 0.006, 35.0, 35.0) == pytest.approx(0.3 * (1 - math.exp(-1)))
    assert branch_voltage(0.3, 0.0, 0.006, 35.0, 70.0) == pytest.approx(0.3 * math.exp(-2))


def test_hysteresis_goes_to_the_branch_of_the_last_direction():
    assert hysteresis_state(0.2, 0.5, 30.0) == pytest.approx(-1.0, abs=1e-6)
    assert hysteresis_state(0.2, -0.5, 30.0) == pytest.approx(1.0, abs=1e-6)
    assert hysteresis_state(0.2, 0.0, 30.0) == pytest.approx(0.2)


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
