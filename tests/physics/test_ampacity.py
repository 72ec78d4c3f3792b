"""Correction for air and the temperature of conductor and terminal."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.physics import ampacity
from outside.closed_forms import ambient_factor

pytestmark = pytest.mark.quick


def test_the_terminals_cap_what_the_insulation_could_carry():
    # NEC 310.16 (copy): 4 AWG 95 A at 90 degC, 85 A at 75 degC; 0.91 at 40 degC (read); 110.14(C) (read).
    assert ampacity.usable(95.0, 0.91, 1.0, float("inf")) == pytest.approx(86.45)
    assert ampacity.usable(95.0, 0.91, 1.0, 85.0) == pytest.approx(85.0)
    # 2/0, 90 degC, six together at 45 degC: 195 x 0.87 x 0.8.
    assert ampacity.usable(195.0, 0.87, 0.8, 175.0) == pytest.approx(135.72)


def test_temperature_of_a_termination():
    # Heat law of the correction table, by hand: 136 A in a column of 175 A at 75 degC, 40 degC air: 67 degC;
    # 200 A, 230 A, 45 degC: 79.
    assert ampacity.conductor_temperature(136.0, 175.0, 75.0, 40.0) == pytest.approx(67.2, abs=0.05)
    assert ampacity.conductor_temperature(200.0, 230.0, 75.0, 45.0) == pytest.approx(79.0, abs=0.05)


@given(st.floats(60, 105), st.floats(-20, 55), st.floats(10, 500))
def test_the_table_current_times_the_factor_reaches_the_column_temperature(column_degc, air, column):
    current = column * ambient_factor(column_degc, air)
    assert ampacity.conductor_temperature(current, column, column_degc, air) == pytest.approx(column_degc)


def test_largest_device_by_the_second_condition():
    # IEC 60364-4-43, 433.1: 35 mm2, Iz 182, gG 160: 1.6 x 160 = 256 <= 1.45 x 182 = 263.9; Iz 200, gG 200: 320 > 290.
    assert ampacity.tripping_limit(182.0, 1.45, 1.6) == pytest.approx(263.9 / 1.6)
    assert ampacity.tripping_limit(182.0, 1.45, 1.6) > 160
    assert ampacity.tripping_limit(200.0, 1.45, 1.6) < 200
