"""Filling an inverter's capacitors, against numeric integration and worked figures."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from bankwright.physics import precharge


def integrate(emf, r, inductance, c, until, steps=60000):
    """Series R-L-C by the trapezoid rule: currents and capacitor voltages."""
    h = until / steps
    system = np.array([[-r / inductance, -1 / inductance], [1 / c, 0.0]])
    drive = np.array([emf / inductance, 0.0])
    left = np.linalg.inv(np.eye(2) - h / 2 * system)
    step, push = left @ (np.eye(2) + h / 2 * system), left @ (h * drive)
    state, out = np.zeros(2), np.empty((steps + 1, 2))
    for n in range(steps + 1):
        out[n] = state
        state = step @ state + push
    return out


@pytest.mark.parametrize("r", [0.005, 0.0244949, 0.08])  # rings, on the edge, creeps
def test_closing_current_and_overshoot_agree_with_integration(r):
    emf, inductance, c = 53.6, 3e-6, 0.02
    course = integrate(emf, r, inductance, c, 2e-3)
    assert precharge.closing_current(emf, r, inductance, c) == pytest.approx(course[:, 0].max(), rel=1e-4)
    at = course[:, 0].argmax() * 2e-3 / 60000
    assert precharge.time_of_peak(r, inductance, c) == pytest.approx(at, abs=2e-6)
    assert precharge.overshoot(emf, r, inductance, c) == pytest.approx(max(course[:, 1].max(), emf), rel=1e-3)


def test_pre_charge_through_25_ohm():
    # By hand: 25 ohm, 40 mF, 20 mA standby, 54.4 V: 0.5 V left, 3.6 s to 2 V, 59 J; 20 percent more: 4.3 s, 71 J.
    assert precharge.voltage_left(25.0, 0.020) == pytest.approx(0.5)
    assert precharge.time_to_reach(2.0, 54.4, 25.0, 0.040, 0.020) == pytest.approx(3.58, abs=0.005)
    assert precharge.energy(54.4, 0.040) == pytest.approx(59.2, abs=0.05)
    assert precharge.time_to_reach(2.0, 54.4, 25.0, 0.048, 0.020) == pytest.approx(4.30, abs=0.005)
    assert precharge.energy(54.4, 0.048) == pytest.approx(71.0, abs=0.05)


def test_a_standby_draw_can_hold_the_difference_for_ever():
    assert precharge.voltage_left(25.0, 0.4) == pytest.approx(10.0)
    assert precharge.time_to_reach(2.0, 54.4, 25.0, 0.040, 0.4) == np.inf


@given(st.floats(1, 100), st.floats(1e-3, 0.1), st.floats(0, 0.05), st.floats(1, 20))
def test_the_difference_at_that_time_is_the_one_asked_for(resistance, capacitance, standby, difference):
    left = precharge.voltage_left(resistance, standby)
    assume(difference > left + 1e-3)
    time = precharge.time_to_reach(difference, 54.4, resistance, capacitance, standby)
    course = left + (54.4 - left) * np.exp(-time / (resistance * capacitance))
    assert course == pytest.approx(difference, rel=1e-6)


@given(st.floats(1e-3, 1), st.floats(1e-7, 1e-5), st.floats(1e-3, 0.1))
def test_the_loop_never_lets_through_more_than_volts_over_ohms(r, inductance, c):
    peak = precharge.closing_current(53.6, r, inductance, c)
    assert 0 < peak < 53.6 / r
    assert peak <= 53.6 * np.sqrt(c / inductance) * (1 + 1e-12)
    assert 53.6 <= precharge.overshoot(53.6, r, inductance, c) <= 2 * 53.6
