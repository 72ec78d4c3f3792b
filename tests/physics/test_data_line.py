"""The data line against tables worked out from the serial-line document: 5 V, resistors of 450 and 650 ohm."""

from __future__ import annotations

import math

import pytest

from bankwright.physics.data_line import IDLE_LEAST, LOAD_LEAST, idle_voltage, pair_resistance, round_trip

# terminators, ohm, volts with 450 and with 650 ohm (MODBUS over Serial Line V1.02, 3.4.5 and 3.4.6, by the divider)
TABLE = [
    (2, 150, 0.385, 0.273),
    (2, 120, 0.313, 0.221),
    (3, 120, 0.213, 0.149),
    (4, 120, 0.161, 0.113),
    (16, 120, 0.041, 0.029),
]


@pytest.mark.parametrize(("count", "ohm", "strong", "weak"), TABLE)
def test_idle_voltage_agrees_with_the_table(count: int, ohm: float, strong: float, weak: float) -> None:
    assert abs(idle_voltage(count, ohm, 450) - strong) <= 0.0005 + 1e-9
    assert abs(idle_voltage(count, ohm, 650) - weak) <= 0.0005 + 1e-9


def test_three_terminators_with_weak_polarisation_are_too_many() -> None:
    assert idle_voltage(2, 120, 650) > IDLE_LEAST > idle_voltage(3, 120, 650)


def test_a_meter_shows_120_60_40_and_seven_and_a_half() -> None:
    assert [pair_resistance(count) for count in (1, 2, 3, 16)] == [120, 60, 40, 7.5]
    assert pair_resistance(2) > LOAD_LEAST > pair_resistance(3)
    assert math.isinf(pair_resistance(0))
    assert idle_voltage(0, 120, 450) == 5.0


def test_ten_metres_are_a_tenth_of_a_microsecond_there_and_back() -> None:
    assert abs(round_trip(10.0) * 1e6 - 0.10) <= 0.005
