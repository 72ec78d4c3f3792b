"""Practice cases on current, conductor, drop and pre-charge, as physics and handbook figures.

Each from a practitioner's text or a trade page; arithmetic beside the assertion, 1 percent unless it says otherwise.
"""

import pytest

from bankwright.handbook.tables import load, look_up
from bankwright.physics.conductor import resistance
from bankwright.physics.precharge import (
    closing_current,
    energy,
    first_current,
    held_power,
    overshoot,
    time_of_peak,
    time_to_reach,
    voltage_left,
)
from bankwright.physics.source import current_for_power, power_in
from bankwright.plan.checks.drop import MOST_DROP
from outside.closed_forms import loop_drop


def least_size(column, need):
    """The smallest size whose current reaches a need."""
    return next(row["size"] for row in load("nec-2023/310.16").rows if row.get(column, 0.0) >= need)


def test_p01_conductor_from_the_lowest_battery_voltage():
    # syllabusforpvsolarinstaller.blogspot.com 2010/05: 2500 W, 0.85, 22 V, 41 to 45 degC, 60 degC column.
    current = current_for_power(2500.0, 0.85, 22.0)
    assert current == pytest.approx(133.7, abs=0.05)
    assert 1.25 * current == pytest.approx(167.1, abs=0.05)
    hot = look_up("nec-2023/310.15-b-1", 45, "f60").value
    assert hot == 0.71
    # The source multiplies both: 235.4 A, 300 kcmil. The book asks two tests apart, and 4/0 passes both.
    assert 1.25 * current / hot == pytest.approx(235.4, abs=0.1)
    assert least_size("a60", 1.25 * current / hot) == "300 kcmil"
    assert current / hot == pytest.approx(188.3, abs=0.1)
    assert least_size("a60", max(1.25 * current, current / hot)) == "4/0 AWG"


def test_p01_nominal_voltage_and_no_correction_are_wrong_by_sizes():
    wrong = 1.25 * current_for_power(2500.0, 0.85, 24.0)
    assert wrong == pytest.approx(153, abs=0.5)
    assert least_size("a60", wrong) == "3/0 AWG"


def test_p04_two_drops_both_over_three_percent():
    # Worked examples of two calculation pages (addresses withheld). (a) 12.8 V, 30 A, 10 mm2, 5 m one way.
    metric = 30.0 * resistance(2 * 5.0, 10e-6)
    assert metric == pytest.approx(0.517, abs=0.0005)
    assert metric / 12.8 == pytest.approx(0.0404, abs=0.00005)
    assert 30.0 * resistance(2 * 5.0, 10e-6, resistivity=0.0172e-6) == pytest.approx(0.516, abs=0.0005)
    # (b) 48 V, 50 A, 30 ft one way, 0.6282 ohm per 1000 ft.
    us = loop_drop(50.0, 0.6282 / 304.8, 30 * 0.3048)
    assert us == pytest.approx(1.885, abs=0.0005)
    assert us / 48 == pytest.approx(0.0393, abs=0.00005)
    assert metric / 12.8 > MOST_DROP["discharge"]
    assert us / 48 > MOST_DROP["discharge"]


def test_p06_efficiency_is_divided_by():
    # A fuse guide (address withheld) gives 3450 W and 288 A.
    assert power_in(3000.0, 0.85) == pytest.approx(3529, abs=0.5)
    assert current_for_power(3000.0, 0.85, 12.0) == pytest.approx(294, abs=0.5)
    assert current_for_power(3000.0, 0.85, 48.0) == pytest.approx(73.5, abs=0.05)
    assert current_for_power(3000.0, 0.85, 44.8) == pytest.approx(78.8, abs=0.05)
    guide = 3000.0 * 1.15 / 12.0
    assert current_for_power(3000.0, 0.85, 12.0) / guide - 1 == pytest.approx(0.023, abs=0.001)


def test_k01_without_pre_charge_the_overvoltage_is_the_worse_news():
    # Facts: climbingvan.co.uk, pre-charge of an inverter; capacitance and inductance assumed, 20 mF, 3 uH.
    assert first_current(12.0, 0.005) == pytest.approx(2400)
    assert first_current(53.6, 0.005) == pytest.approx(10.7e3, rel=0.01)
    assert closing_current(53.6, 0.005, 3e-6, 0.020) == pytest.approx(3.3e3, rel=0.01)
    assert time_of_peak(0.005, 3e-6, 0.020) == pytest.approx(0.34e-3, rel=0.01)
    assert overshoot(53.6, 0.005, 3e-6, 0.020) == pytest.approx(81, rel=0.01)


def test_k01_with_25_ohm():
    assert first_current(53.6, 25.0) == pytest.approx(2.1, abs=0.05)
    assert held_power(53.6, 25.0) == pytest.approx(115, abs=0.5)
    assert energy(53.6, 0.020) == pytest.approx(28.7, abs=0.05)
    assert time_to_reach(0.02 * 53.6, 53.6, 25.0, 0.020) == pytest.approx(1.96, abs=0.005)  # 98 percent
    assert voltage_left(25.0, 0.4) == pytest.approx(10.0)
