"""Closed forms of sharing and joining, against an independent circuit simulator and against each other."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.physics import joining, sharing

# Operating points of ngspice (51.2 V, 20 mohm a module, 100 A), printed to six digits.
SAME_END = {
    (4, 0.05): [0.32622, 0.258842, 0.217348, 0.197589],
    (8, 0.1): [0.359017, 0.23082, 0.148787, 0.096512, 0.063539, 0.043274, 0.031664, 0.026387],
    (8, 0.01): [0.164779, 0.148074, 0.134331, 0.123275, 0.114684, 0.108387, 0.104257, 0.102213],
    (5, 0.05): [0.298846, 0.228731, 0.181488, 0.152395, 0.138541],
    (2, 0.1): [0.545455, 0.454545],
}
OPPOSITE = {
    (4, 0.05): [0.261905, 0.238095, 0.238095, 0.261905],
    (8, 0.1): [0.192702, 0.131242, 0.096031, 0.080026, 0.080026, 0.096031, 0.131242, 0.192702],
    (7, 0.01): [0.149833, 0.14283, 0.138683, 0.13731, 0.138683, 0.14283, 0.149833],
    (5, 0.1): [0.235099, 0.182119, 0.165563, 0.182119, 0.235099],
    (2, 0.05): [0.5, 0.5],
}
EFFECTIVE = {(4, 0.05): (0.32622, 0.336905), (8, 0.1): (0.359017, 0.542702), (2, 0.01): (0.50495, 0.505)}


@pytest.mark.parametrize("case", SAME_END)
def test_same_end_shares(case):
    np.testing.assert_allclose(sharing.shares_same_end(*case), SAME_END[case], atol=6e-7)


@pytest.mark.parametrize("case", OPPOSITE)
def test_opposite_ends_shares(case):
    np.testing.assert_allclose(sharing.shares_opposite_ends(*case), OPPOSITE[case], atol=6e-7)


@pytest.mark.parametrize("case", EFFECTIVE)
def test_effective_resistance(case):
    same, opposite = EFFECTIVE[case]
    assert sharing.effective_same_end(*case) == pytest.approx(same, abs=6e-7)
    assert sharing.effective_opposite_ends(*case) == pytest.approx(opposite, abs=6e-7)


def test_three_modules_in_exact_fractions():
    np.testing.assert_allclose(sharing.shares_same_end(3, 0.1), [41 / 96, 30 / 96, 25 / 96], rtol=1e-12)
    np.testing.assert_allclose(sharing.shares_opposite_ends(3, 0.1), [11 / 32, 10 / 32, 11 / 32], rtol=1e-12)


def test_worst_over_mean_in_amperes():
    # Six modules, 20 mohm, 1 mohm a link and pole, 300 A.
    assert 300 * sharing.shares_same_end(6, 0.05).max() == pytest.approx(85.538, abs=0.0005)
    assert 300 * sharing.shares_opposite_ends(6, 0.05).max() == pytest.approx(57.625, abs=0.0005)


@given(st.integers(1, 40), st.floats(1e-6, 2))
def test_shares_add_up_and_obey_kirchhoff_on_every_rung(modules, ratio):
    for shares in (sharing.shares_same_end(modules, ratio), sharing.shares_opposite_ends(modules, ratio)):
        assert shares.sum() == pytest.approx(1.0, rel=1e-9)
        bend = shares[:-2] - 2 * shares[1:-1] + shares[2:]
        np.testing.assert_allclose(bend, 2 * ratio * shares[1:-1], rtol=1e-6, atol=1e-12)


@given(st.integers(1, 20), st.floats(1e-6, 2))
def test_opposite_ends_of_twice_as_many_is_same_end_mirrored_and_halved(half, ratio):
    whole = sharing.shares_opposite_ends(2 * half, ratio)
    same = sharing.shares_same_end(half, ratio) / 2
    np.testing.assert_allclose(whole, np.concatenate([same, same[::-1]]), rtol=1e-9)


def test_without_link_resistance_all_shares_are_equal():
    np.testing.assert_array_equal(sharing.shares_same_end(5, 0.0), np.full(5, 0.2))
    np.testing.assert_array_equal(sharing.shares_opposite_ends(5, 0.0), np.full(5, 0.2))


def test_unequal_modules_on_a_common_bar():
    # Millman's theorem; checked with ngspice.
    e, r = [53.3, 53.2, 53.0], [0.02, 0.02, 0.025]
    voltage, currents = sharing.common_bar(e, r)
    assert voltage == pytest.approx(53.178571, abs=6e-7)
    np.testing.assert_allclose(currents, [6.071429, 1.071429, -7.142857], atol=6e-7)
    voltage, currents = sharing.common_bar(e, r, 150.0)
    assert voltage == pytest.approx(52.107143, abs=6e-7)
    np.testing.assert_allclose(currents, [59.642857, 54.642857, 35.714286], atol=6e-7)


def test_unequal_leads_divide_the_current():
    _, currents = sharing.common_bar([51.2, 51.2], [0.021, 0.023], 100.0)
    np.testing.assert_allclose(currents, [52.2727, 47.7273], atol=5e-5)


def test_bound_near_full_and_empty():
    # 58 A and 0.5 V among five modules of 14 mohm: 58 + 0.5 x 0.8 / 0.014 = 87 A; 112 A: 141 A.
    assert sharing.knee_bound(58.0, 0.5, 5, 0.014) == pytest.approx(86.57, abs=0.005)
    assert sharing.knee_bound(112.0, 0.5, 5, 0.014) == pytest.approx(140.6, abs=0.05)


@given(st.integers(2, 16), st.floats(1e-3, 0.05), st.floats(0, 2))
def test_the_bound_is_the_current_of_one_source_above_equal_ones(modules, resistance, spread):
    emf = [52.0 + spread, *([52.0] * (modules - 1))]
    _, currents = sharing.common_bar(emf, [resistance] * modules, 40.0 * modules)
    assert currents[0] == pytest.approx(sharing.knee_bound(40.0, spread, modules, resistance))


def test_unlike_modules():
    np.testing.assert_allclose(sharing.unlike([0.014, 0.007], [100, 200]), [0, 0], atol=1e-15)
    assert np.abs(sharing.unlike([0.014, 0.010], [100, 200])).max() > 0.10


@pytest.mark.parametrize(
    ("args", "published"),
    [
        # Two modules of 180 kF, 10 mohm, 5 mohm beside 12 kF, lead 2 mohm, 53.6 and 52.0 V: ngspice transient
        # (gear, reltol 1e-7) 72.7272, 72.1465, 53.7392, 14.2530 A.
        ((1.6, 0.022, 0.010, 6000.0, 90000.0), [72.72724, 72.1465, 53.7392, 14.253]),
        # One module (11 mohm, 6 mohm beside 10 kF) into a bank of four, 1.5 V above it: 100.0, 99.1311, 72.1874,
        # 21.8229 A.
        ((1.5, 0.015, 0.0075, 8000.0, 144000.0), [99.99996, 99.1311, 72.1874, 21.8229]),
    ],
)
def test_current_after_joining_agrees_with_a_circuit_simulator(args, published):
    np.testing.assert_allclose(joining.join_current(*args, np.array([0, 1.0, 60.0, 3600.0])), published, rtol=1e-5)


def test_charge_moved_in_the_end_is_the_difference_times_the_capacitance():
    times = np.linspace(0, 40000.0, 400001)
    current = joining.join_current(1.6, 0.022, 0.010, 6000.0, 90000.0, times)
    moved = float(np.sum((current[1:] + current[:-1]) / 2) * times[1])
    assert moved == pytest.approx(1.6 * 90000.0, rel=1e-4)


def test_largest_difference_for_a_first_current():
    assert joining.largest_difference(50.0, 0.022) == pytest.approx(1.1)
    assert joining.first_current(1.1, 0.022) == pytest.approx(50.0)
