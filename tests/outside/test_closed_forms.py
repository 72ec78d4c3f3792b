"""The closed forms that other tests lean on, each against a published table, a worked example or ngspice."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.forms.constants import CIRCULAR_MIL, FOOT
from bankwright.handbook.tables import load
from bankwright.physics.withstand import k_factor
from outside.closed_forms import (
    ambient_factor,
    arc_current,
    arc_voltage,
    at_temperature,
    at_temperature_nec,
    backfeed,
    bank_fault,
    branch_voltage,
    common_bar,
    drop_by_circular_mils,
    effective_opposite_ends,
    effective_same_end,
    icea_current,
    join_current,
    loop_drop,
    open_circuit_voltage,
    shares_opposite_ends,
    shares_same_end,
    withstand_current,
)
from support.run_banks import lfp_curve

pytestmark = pytest.mark.quick

KFT = 1000 * FOOT

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
    np.testing.assert_allclose(shares_same_end(*case), SAME_END[case], atol=6e-7)


@pytest.mark.parametrize("case", OPPOSITE)
def test_opposite_ends_shares(case):
    np.testing.assert_allclose(shares_opposite_ends(*case), OPPOSITE[case], atol=6e-7)


@pytest.mark.parametrize("case", EFFECTIVE)
def test_effective_resistance(case):
    same, opposite = EFFECTIVE[case]
    assert effective_same_end(*case) == pytest.approx(same, abs=6e-7)
    assert effective_opposite_ends(*case) == pytest.approx(opposite, abs=6e-7)


def test_three_modules_in_exact_fractions():
    np.testing.assert_allclose(shares_same_end(3, 0.1), [41 / 96, 30 / 96, 25 / 96], rtol=1e-12)
    np.testing.assert_allclose(shares_opposite_ends(3, 0.1), [11 / 32, 10 / 32, 11 / 32], rtol=1e-12)


def test_worst_over_mean_in_amperes():
    # Six modules, 20 mohm, 1 mohm a link and pole, 300 A.
    assert 300 * shares_same_end(6, 0.05).max() == pytest.approx(85.538, abs=0.0005)
    assert 300 * shares_opposite_ends(6, 0.05).max() == pytest.approx(57.625, abs=0.0005)


@given(st.integers(1, 40), st.floats(1e-6, 2))
def test_shares_add_up_and_obey_kirchhoff_on_every_rung(modules, ratio):
    for shares in (shares_same_end(modules, ratio), shares_opposite_ends(modules, ratio)):
        assert shares.sum() == pytest.approx(1.0, rel=1e-9)
        bend = shares[:-2] - 2 * shares[1:-1] + shares[2:]
        np.testing.assert_allclose(bend, 2 * ratio * shares[1:-1], rtol=1e-6, atol=1e-12)


@given(st.integers(1, 20), st.floats(1e-6, 2))
def test_opposite_ends_of_twice_as_many_is_same_end_mirrored_and_halved(half, ratio):
    whole = shares_opposite_ends(2 * half, ratio)
    same = shares_same_end(half, ratio) / 2
    np.testing.assert_allclose(whole, np.concatenate([same, same[::-1]]), rtol=1e-9)


def test_without_link_resistance_all_shares_are_equal():
    np.testing.assert_array_equal(shares_same_end(5, 0.0), np.full(5, 0.2))
    np.testing.assert_array_equal(shares_opposite_ends(5, 0.0), np.full(5, 0.2))


def test_unequal_modules_on_a_common_bar():
    # Millman's theorem; checked with ngspice.
    e, r = [53.3, 53.2, 53.0], [0.02, 0.02, 0.025]
    voltage, currents = common_bar(e, r)
    assert voltage == pytest.approx(53.178571, abs=6e-7)
    np.testing.assert_allclose(currents, [6.071429, 1.071429, -7.142857], atol=6e-7)
    voltage, currents = common_bar(e, r, 150.0)
    assert voltage == pytest.approx(52.107143, abs=6e-7)
    np.testing.assert_allclose(currents, [59.642857, 54.642857, 35.714286], atol=6e-7)


def test_unequal_leads_divide_the_current():
    _, currents = common_bar([51.2, 51.2], [0.021, 0.023], 100.0)
    np.testing.assert_allclose(currents, [52.2727, 47.7273], atol=5e-5)


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
    np.testing.assert_allclose(join_current(*args, np.array([0, 1.0, 60.0, 3600.0])), published, rtol=1e-5)


def test_charge_moved_in_the_end_is_the_difference_times_the_capacitance():
    times = np.linspace(0, 40000.0, 400001)
    current = join_current(1.6, 0.022, 0.010, 6000.0, 90000.0, times)
    moved = float(np.sum((current[1:] + current[:-1]) / 2) * times[1])
    assert moved == pytest.approx(1.6 * 90000.0, rel=1e-4)


@pytest.mark.parametrize(("column", "degc"), [("f60", 60), ("f75", 75), ("f90", 90)])
def test_formula_reproduces_the_printed_factors_of_the_nec(column, degc):
    # NEC 2023 Table 310.15(B)(1)(1) (read): two decimals, at the upper end of each band.
    for row in load("nec-2023/310.15-b-1").rows:
        if column in row:
            assert ambient_factor(degc, row["upper"]) == pytest.approx(row[column], abs=0.0051)


@pytest.mark.parametrize(("column", "degc"), [("pvc", 70), ("xlpe", 90)])
def test_formula_reproduces_the_printed_factors_of_iec(column, degc):
    # IEC 60364-5-52:2009 table B.52.14 (copy), two decimals; 65 degC and hotter from memory.
    for row in [row for row in load("iec-60364-5-52/ambient").rows if column in row]:
        assert ambient_factor(degc, row["ambient"]) == pytest.approx(row[column], abs=0.0051)


def test_formula_reproduces_the_rubber_column():
    # BS 7671 table 4B1, 60 degC rubber, from memory; the law stands behind it.
    for row in load("bs-7671/ambient-rubber-60").rows:
        assert ambient_factor(60, row["ambient"]) == pytest.approx(row["rubber60"], abs=0.0051)


def test_worked_factors():
    # 90 degC conductor: 0.8165 at 50 degC (table 0.82), 0.9129 at 40 degC (IEC prints 0.91).
    assert ambient_factor(90, 50) == pytest.approx(0.8165, abs=0.00005)
    assert ambient_factor(90, 40) == pytest.approx(0.9129, abs=0.00005)


def test_no_current_in_air_as_hot_as_the_conductor():
    assert ambient_factor(60, 60) == 0.0
    assert ambient_factor(60, 70) == 0.0


def test_a_branch_settles_at_current_times_resistance():
    assert branch_voltage(0.0, 50.0, 0.006, 35.0, 35.0) == pytest.approx(0.3 * (1 - math.exp(-1)))
    assert branch_voltage(0.3, 0.0, 0.006, 35.0, 70.0) == pytest.approx(0.3 * math.exp(-2))


def test_the_published_parameter_set_is_met_on_its_grid():
    # open BPX example cell (LFP 18650, MIT): full-cell values at 0, 10, .. 100 %
    printed = [2.000, 3.1882, 3.2296, 3.2674, 3.2750, 3.2781, 3.2864, 3.3057, 3.3181, 3.3218, 3.6486]
    computed = open_circuit_voltage(np.linspace(0, 1, 11), *lfp_curve())
    assert np.abs(computed - printed).max() <= 1.01e-4


def test_nothing_is_extrapolated():
    assert np.isnan(open_circuit_voltage([-0.01, 1.01], *lfp_curve())).all()


def test_two_roads_from_75_degc_to_25_degc_agree():
    # NEC Chapter 9 Table 8: 2/0 AWG stranded, 0.0967 ohm/kft at 75 degC (copy of the printed table). By its note (read)
    # and by IEC 60228 Annex B (read); the two are known to agree to 0.02 percent.
    nec = at_temperature_nec(0.0967, 25.0)
    iec = at_temperature(0.0967 * 254.5 / (234.5 + 75), 25.0)
    assert nec == pytest.approx(0.081083, abs=0.000001)
    assert iec == pytest.approx(0.081078, abs=0.000001)
    assert nec == pytest.approx(iec, rel=0.0002)


def test_class_5_conductor_at_70_degc():
    # IEC 60228 table 3, 35 mm2 class 5: 0.554 ohm/km at 20 degC (read); Annex B to 70 degC.
    assert at_temperature(0.554, 70.0) == pytest.approx(0.66284, rel=1e-3)


def test_drop_of_a_metric_pair():
    # IEC 60228 table 3: 50 mm2 class 5, 0.386 ohm/km at 20 degC (read); 1.5 m each way at 150 A.
    assert loop_drop(150.0, 0.386e-3, 1.5) == pytest.approx(0.1737, rel=1e-3)


@pytest.mark.parametrize(
    ("ohm_per_ft", "feet", "printed", "last_digit"),
    [
        (0.00044, 107, 0.942, 0.001),
        (0.00028, 90, 0.504, 0.001),
        (0.00306, 100, 6.12, 0.01),
        (0.00126, 39, 0.98, 0.01),
        (0.00126, 156, 3.93, 0.01),
        (0.00126, 273, 6.88, 0.01),
    ],
)
def test_drop_agrees_with_the_aircraft_tables(ohm_per_ft, feet, printed, last_digit):
    # FAA AC 43.13-1B CHG 1 (27 Sep 2001), tables 11-7 and 11-8, 20 A (read). They print the drop of the wire's own
    # length, the frame being the return: half of a two-wire loop.
    one_wire = loop_drop(20.0, ohm_per_ft / FOOT, feet * FOOT) / 2
    assert one_wire == pytest.approx(printed, abs=last_digit / 2 + 1e-12)


def test_two_wire_run_of_no_16():
    # electrician2.com, lpage135 (read): 4.99 ohm/kft, 100 ft one way, 4 A prints 4.0 V (3.992), 16.6 percent of 24 V.
    drop = loop_drop(4.0, 4.99 / KFT, 100 * FOOT)
    assert drop == pytest.approx(3.992, abs=0.0005)
    assert drop / 24 == pytest.approx(0.166, abs=0.0005)


def test_k_factor_of_handbooks():
    # 12 AWG (6530 cmil), 15 A, 100 ft, K = 12.9: 5.926 V; a calculation page prints 5.94 (read), rounded oddly.
    by_k = drop_by_circular_mils(15.0, 100.0, 6530.0)
    assert by_k == pytest.approx(5.926, abs=0.001)
    # NEC Chapter 9 Table 8: 12 AWG 1.98 ohm/kft at 75 degC (copy). K is rounded to three digits.
    assert loop_drop(15.0, 1.98 / KFT, 100 * FOOT) == pytest.approx(by_k, rel=0.005)


def test_drop_and_loss_of_a_48_v_run():
    # NEC Chapter 9 Table 8: 2/0 AWG 0.0967 ohm/kft at 75 degC (copy); 10 ft one way, 200 A.
    drop = loop_drop(200.0, 0.0967 / KFT, 10 * FOOT)
    assert drop == pytest.approx(0.3868, rel=1e-3)
    assert drop / 51.2 == pytest.approx(0.007555, rel=1e-3)
    assert drop * 200 == pytest.approx(77.36, rel=1e-3)


def test_bank_on_a_common_bar():
    # Arithmetic from Ohm's law: 53.6 V, 20 mohm a module; at the bar and behind 1 mohm.
    n = np.array([1, 2, 4, 8])
    np.testing.assert_allclose(bank_fault(53.6, 0.02, n), [2680, 5360, 10720, 21440])
    np.testing.assert_allclose(bank_fault(53.6, 0.02, n, 0.001), [2552.4, 4872.7, 8933.3, 15314.3], atol=0.05)


def test_the_others_feed_a_short_inside_one_module():
    np.testing.assert_allclose(backfeed(53.6, 0.02, np.array([2, 4, 8])), [2680, 8040, 18760])
    # Three and four modules of 5.57 mohm, no shared resistance: 19.3 and 28.9 kA (arithmetic).
    assert backfeed(53.6, 5.57e-3, 3) == pytest.approx(19.3e3, abs=0.1e3)
    assert backfeed(53.6, 5.57e-3, 4) == pytest.approx(28.9e3, abs=0.1e3)
    # Five modules of 7 mohm, faulted lead 0.5 mohm, 54.4 V: 24 kA.
    assert backfeed(54.4, 7e-3, 5, 0.5e-3) == pytest.approx(24.2e3, abs=0.1e3)


@given(st.integers(2, 64), st.floats(1e-3, 0.1), st.floats(0, 0.01))
def test_one_module_less_feeds_less(modules, branch, shared):
    assert backfeed(53.6, branch, modules, shared) == pytest.approx(bank_fault(53.6, branch, modules - 1, shared))
    assert backfeed(53.6, branch, modules, shared) < bank_fault(53.6, branch, modules, shared)


def test_north_american_equation():
    # ICEA P-32-382-2007 (equation read): 4/0 AWG (211600 cmil), 90 to 250 degC; 2 AWG (66360 cmil), 75 to 150 degC.
    section = 211600 * CIRCULAR_MIL
    times = np.array([1.0, 0.1, 0.01])
    np.testing.assert_allclose(icea_current(section, times, 90, 250), [15224, 48144, 152245], atol=5)
    assert icea_current(66360 * CIRCULAR_MIL, 1.0, 75, 150) == pytest.approx(3513, abs=1)


def test_two_standards_agree_within_one_percent():
    section = 211600 * CIRCULAR_MIL
    iec = withstand_current(section, 1.0, k_factor(90, 250))
    assert icea_current(section, 1.0, 90, 250) == pytest.approx(iec, rel=0.01)


def test_arc_current_across_gaps():
    # Stokes and Oppenlander 1991 (equation from memory), 53.6 V behind 6 mohm; gaps of 2, 5, 10, 20 mm.
    gaps = np.array([2e-3, 5e-3, 10e-3, 20e-3])
    np.testing.assert_allclose(arc_current(53.6, 0.006, gaps), [944.4, 675.6, 363.8, 95.6], atol=0.06)
    assert np.isnan(arc_current(53.6, 0.006, 0.05))


@given(st.floats(30, 120), st.floats(1e-3, 0.1), st.floats(1e-3, 0.02))
def test_an_arc_takes_what_the_loop_leaves(voltage, resistance, gap):
    current = arc_current(voltage, resistance, gap)
    if not np.isnan(current):
        assert resistance * current + arc_voltage(current, gap) == pytest.approx(voltage, rel=1e-9)
