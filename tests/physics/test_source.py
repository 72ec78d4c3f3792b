"""Current for a power, lowest voltage under surge, most power."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.physics import source


def test_surge_voltage():
    # Upper root of U^2 - E U + R P = 0, by hand: 51.0 V, 4.5 mohm, 13.3 kW: 49.8 V; 48.0 V, 7.5 mohm: 45.8 V.
    assert source.terminal_voltage(51.0, 0.0045, 13300.0) == pytest.approx(49.8, abs=0.05)
    assert source.terminal_voltage(48.0, 0.0075, 13300.0) == pytest.approx(45.8, abs=0.05)


def test_more_than_the_most_power_cannot_be_delivered():
    most = source.most_power(48.0, 0.05)
    assert most == pytest.approx(11520.0)
    assert np.isnan(source.terminal_voltage(48.0, 0.05, most * 1.001))
    assert source.terminal_voltage(48.0, 0.05, most * 0.999) > 24.0


def test_continuous_inverter():
    # 6000 W, 92 percent, 48.0 V: 135.87 A, x 1.25 = 169.84 A.
    current = source.current_for_power(6000.0, 0.92, 48.0)
    assert current == pytest.approx(135.87, abs=0.005)
    assert 1.25 * current == pytest.approx(169.84, abs=0.005)
    assert source.current_for_power(6000.0, 0.92, 44.0) == pytest.approx(148.2, abs=0.05)


@given(st.floats(20, 60), st.floats(1e-4, 0.1), st.floats(-5000, 5000))
def test_voltage_and_power_balance(emf, resistance, power):
    voltage = source.terminal_voltage(emf, resistance, power)
    if not np.isnan(voltage):
        current = power / voltage
        assert emf - resistance * current == pytest.approx(voltage, rel=1e-9)
        assert voltage >= emf / 2
