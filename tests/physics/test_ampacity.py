"""Correction for air and the temperature of conductor and terminal."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.handbook.tables import load
from bankwright.physics import ampacity


@pytest.mark.parametrize(("column", "degc"), [("f60", 60), ("f75", 75), ("f90", 90)])
def test_formula_reproduces_the_printed_factors_of_the_nec(column, degc):
    # NEC 2023 Table 310.15(B)(1)(1) (read): two decimals, at the upper end of each band.
    for row in load("nec-2023/310.15-b-1").rows:
        if column in row:
            assert ampacity.ambient_factor(degc, row["upper"]) == pytest.approx(row[column], abs=0.0051)


@pytest.mark.parametrize(("column", "degc"), [("pvc", 70), ("xlpe", 90)])
def test_formula_reproduces_the_printed_factors_of_iec(column, degc):
    # IEC 60364-5-52:2009 table B.52.14 (copy), two decimals.
    for row in load("iec-60364-5-52/ambient").rows:
        assert ampacity.ambient_factor(degc, row["ambient"]) == pytest.approx(row[column], abs=0.0051)


def test_formula_reproduces_the_rubber_column():
    # BS 7671 table 4B1, 60 degC rubber, from memory; the law stands behind it.
    for row in load("bs-7671/ambient-rubber-60").rows:
        assert ampacity.ambient_factor(60, row["ambient"]) == pytest.approx(row["rubber60"], abs=0.0051)


def test_worked_factors():
    # 90 degC conductor: 0.8165 at 50 degC (table 0.82), 0.9129 at 40 degC (IEC prints 0.91).
    assert ampacity.ambient_factor(90, 50) == pytest.approx(0.8165, abs=0.00005)
    assert ampacity.ambient_factor(90, 40) == pytest.approx(0.9129, abs=0.00005)


def test_no_current_in_air_as_hot_as_the_conductor():
    assert ampacity.ambient_factor(60, 60) == 0.0
    assert ampacity.ambient_factor(60, 70) == 0.0


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
    current = column * ampacity.ambient_factor(column_degc, air)
    assert ampacity.conductor_temperature(current, column, column_degc, air) == pytest.approx(column_degc)
    assert ampacity.current_for_temperature(column_degc, column, column_degc, air) == pytest.approx(current)


def test_largest_device_by_the_second_condition():
    # IEC 60364-4-43, 433.1: 35 mm2, Iz 182, gG 160: 1.6 x 160 = 256 <= 1.45 x 182 = 263.9; Iz 200, gG 200: 320 > 290.
    assert ampacity.tripping_limit(182.0, 1.45, 1.6) == pytest.approx(263.9 / 1.6)
    assert ampacity.tripping_limit(182.0, 1.45, 1.6) > 160
    assert ampacity.tripping_limit(200.0, 1.45, 1.6) < 200
