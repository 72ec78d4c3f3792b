"""Short circuits and what conductors stand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.handbook.tables import load
from bankwright.physics import fault, withstand

MM2 = 1e-6


def test_published_battery_short():
    # A calculation page (read): 12 V behind 5 mohm is 2400 A.
    assert fault.fault_current(12.0, 0.005) == pytest.approx(2400.0)


def test_bank_on_a_common_bar():
    # Arithmetic from Ohm's law: 53.6 V, 20 mohm a module; at the bar and behind 1 mohm.
    n = np.array([1, 2, 4, 8])
    np.testing.assert_allclose(fault.bank_fault(53.6, 0.02, n), [2680, 5360, 10720, 21440])
    np.testing.assert_allclose(fault.bank_fault(53.6, 0.02, n, 0.001), [2552.4, 4872.7, 8933.3, 15314.3], atol=0.05)


def test_the_others_feed_a_short_inside_one_module():
    np.testing.assert_allclose(fault.backfeed(53.6, 0.02, np.array([2, 4, 8])), [2680, 8040, 18760])
    # Three and four modules of 5.57 mohm, no shared resistance: 19.3 and 28.9 kA (arithmetic).
    assert fault.backfeed(53.6, 5.57e-3, 3) == pytest.approx(19.3e3, abs=0.1e3)
    assert fault.backfeed(53.6, 5.57e-3, 4) == pytest.approx(28.9e3, abs=0.1e3)
    # Five modules of 7 mohm, faulted lead 0.5 mohm, 54.4 V: 24 kA.
    assert fault.backfeed(54.4, 7e-3, 5, 0.5e-3) == pytest.approx(24.2e3, abs=0.1e3)


def test_least_fault_through_an_arc():
    # By hand: 48 V behind 6.6 mohm: 7.2 to 7.3 kA, half of it 3.6 kA; one cold module of 29 mohm: half of 1.6 kA.
    assert fault.arcing_fault(fault.fault_current(48.0, 6.6e-3)) == pytest.approx(3.6e3, abs=0.05e3)
    assert fault.arcing_fault(fault.fault_current(48.0, 29e-3)) == pytest.approx(0.8e3, abs=0.05e3)


def test_rise_of_a_short_agrees_with_a_circuit_simulator():
    # ngspice transient, 51.2 V, 2 mohm, 2 uH: 16182.29, 22135.42, 24325.46, 25427.51 A at 1, 2, 3, 5 ms.
    times = np.array([1e-3, 2e-3, 3e-3, 5e-3])
    np.testing.assert_allclose(
        fault.rising_current(51.2, 0.002, 2e-6, times), [16182.29, 22135.42, 24325.46, 25427.51], atol=0.011
    )
    assert fault.rate_of_rise(51.2, 2e-6) == pytest.approx(2.56e7)


def test_let_through_is_the_integral_of_the_rise():
    times = np.linspace(0, 5e-3, 20001)
    square = fault.rising_current(51.2, 0.002, 2e-6, times) ** 2
    by_trapezoids = float(np.sum((square[1:] + square[:-1]) / 2) * times[1])
    assert fault.let_through(51.2, 0.002, 2e-6, 5e-3) == pytest.approx(by_trapezoids, rel=1e-6)
    assert fault.let_through(51.2, 0.002, 2e-6, 5e-3) == pytest.approx(2302577, rel=1e-5)
    assert fault.let_through(51.2, 0.002, 0.0, 5e-3) == pytest.approx((51.2 / 0.002) ** 2 * 5e-3)


def test_withstand_formula_reproduces_the_printed_values():
    # IEC 60364-4-43:2008 table 43A (read): whole numbers; the standard's own formula gives each within 0.7 percent.
    for row in load("iec-60364-4-43/k").rows:
        assert withstand.k_factor(row["initial"], row["final"]) / 1e6 == pytest.approx(row["k"], rel=0.007)
    assert withstand.k_factor(70, 160) / 1e6 == pytest.approx(114.84, rel=0.002)
    assert withstand.k_factor(90, 250) / 1e6 == pytest.approx(142.87, rel=0.002)
    assert withstand.k_factor(105, 250) / 1e6 == pytest.approx(134.6, rel=0.002)


def test_withstand_agrees_with_the_other_standard_form():
    # IEC 60949, copper: k = 226 sqrt(ln(1 + (Tf - Ti)/(234.5 + Ti))), read beside the printed values.
    for initial, final in ((70, 160), (90, 250), (30, 250)):
        other = 226 * np.sqrt(np.log1p((final - initial) / (234.5 + initial)))
        assert withstand.k_factor(initial, final) / 1e6 == pytest.approx(other, rel=0.002)


def test_worked_sections_and_times():
    # 10 kA for 0.1 s, k 143: 22.11 mm2. Published page (read): 12 kA, 0.02 s, k 143: 11.9 mm2.
    assert withstand.least_section(10e3, 0.1, 143e6) / MM2 == pytest.approx(22.11, abs=0.005)
    assert withstand.least_section(12e3, 0.02, 143e6) / MM2 == pytest.approx(11.9, abs=0.05)
    assert withstand.longest_time(50 * MM2, 8933.3, 115e6) == pytest.approx(0.4143, abs=0.00005)
    # Published page (read): 16 mm2 XLPE, 1 s: 2.29 kA.
    assert withstand.withstand_current(16 * MM2, 1.0, 143e6) == pytest.approx(2290, abs=5)


def test_withstand_of_a_main_and_of_a_meter_tap():
    # 107.2 mm2, k 134.6: 2.08e8 A2s. A 13.3 mm2 tap, k 134.6, at 5.4 kA for 0.2 s: 5.8e6 against 3.2e6.
    assert withstand.withstand_let_through(107.2 * MM2, 134.6e6) == pytest.approx(2.08e8, abs=0.005e8)
    assert withstand.withstand_let_through(13.3 * MM2, 134.6e6) == pytest.approx(3.2e6, abs=0.05e6)
    assert withstand.longest_time(13.3 * MM2, 5400.0, 134.6e6) < 0.2


def test_north_american_equation():
    # ICEA P-32-382-2007 (equation read): 4/0 AWG (211600 cmil), 90 to 250 degC; 2 AWG (66360 cmil), 75 to 150 degC.
    section = 211600 * withstand.CIRCULAR_MIL
    times = np.array([1.0, 0.1, 0.01])
    np.testing.assert_allclose(withstand.icea_current(section, times, 90, 250), [15224, 48144, 152245], atol=5)
    assert withstand.icea_current(66360 * withstand.CIRCULAR_MIL, 1.0, 75, 150) == pytest.approx(3513, abs=1)


def test_two_standards_agree_within_one_percent():
    section = 211600 * withstand.CIRCULAR_MIL
    iec = withstand.withstand_current(section, 1.0, withstand.k_factor(90, 250))
    assert withstand.icea_current(section, 1.0, 90, 250) == pytest.approx(iec, rel=0.01)


@given(st.floats(1, 400), st.floats(10, 50e3), st.floats(50, 200))
def test_time_section_and_current_are_one_law(section, current, k):
    time = withstand.longest_time(section * MM2, current, k * 1e6)
    assert withstand.least_section(current, time, k * 1e6) == pytest.approx(section * MM2)
    assert withstand.withstand_current(section * MM2, time, k * 1e6) == pytest.approx(current)


@given(st.integers(2, 64), st.floats(1e-3, 0.1), st.floats(0, 0.01))
def test_one_module_less_feeds_less(modules, branch, shared):
    assert fault.backfeed(53.6, branch, modules, shared) == pytest.approx(
        fault.bank_fault(53.6, branch, modules - 1, shared)
    )
    assert fault.backfeed(53.6, branch, modules, shared) < fault.bank_fault(53.6, branch, modules, shared)
