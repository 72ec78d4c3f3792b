"""Standing, rolling and pressing on the floor: arithmetic examples and one from earthquake guidance."""

from __future__ import annotations

import math

import pytest

from bankwright.physics.stability import (
    GRAVITY,
    caster_load,
    centre,
    pressure,
    push_of_test,
    shift_of_pulled,
    stop_speed,
    tipping_acceleration,
    tipping_angle_deg,
    tipping_force,
)

U = 0.04445  # m, EIA-310 rack unit


def centre_with(slots: tuple[int, ...]) -> float:
    places = [0.6] + [0.1 + (slot - 0.5) * 3 * U for slot in slots]
    return centre([40.0] + [47.0] * len(slots), places)


def test_three_modules_low_stand_better_than_three_high() -> None:
    # Frame 40 kg at 0.6 m, modules 47 kg of 3 U from 0.1 m, edge 0.3 m. Statics, arithmetic by hand.
    low, high = centre_with((1, 2, 3)), centre_with((4, 5, 6))
    assert low == pytest.approx(0.3663, abs=0.001)
    assert high == pytest.approx(0.6780, abs=0.001)
    assert tipping_angle_deg(0.3, low) == pytest.approx(39.3, abs=0.1)
    assert tipping_angle_deg(0.3, high) == pytest.approx(23.9, abs=0.1)
    assert tipping_angle_deg(0.3, 0.6) == pytest.approx(26.6, abs=0.1)


def test_sideways_push_of_the_standard_against_six_modules() -> None:
    # IEC 62368-1:2018, 8.6.5: the lesser of 20 % of weight and 250 N (read). 322 kg, edge 0.3 m, push at 1.2 m.
    assert tipping_force(322, 0.3, 1.2) == pytest.approx(789.4, rel=0.005)
    assert push_of_test(322, 0.20, 250) == 250
    assert push_of_test(50, 0.20, 250) == pytest.approx(98.07, abs=0.01)


@pytest.mark.parametrize(
    ("pull", "others", "shift", "tips"), [(0.45, 0, 0.2431, False), (0.60, 0, 0.3241, True), (0.45, 5, 0.0657, False)]
)
def test_a_module_pulled_out_of_an_empty_frame_can_tip_it(pull: float, others: int, shift: float, tips: bool) -> None:
    # Frame 40 kg, module 47 kg, edge 0.3 m: m x / M.
    moved = shift_of_pulled(47, pull, 40 + 47 * (1 + others))
    assert moved == pytest.approx(shift, abs=0.001)
    assert (moved > 0.3) is tips


@pytest.mark.parametrize(("height", "speed", "acceleration"), [(0.3663, 1.87, 8.03), (0.6780, 1.22, 4.34)])
def test_a_stopped_cart_tips_at_walking_pace_when_loaded_high(height: float, speed: float, acceleration: float) -> None:
    # Angular momentum about the edge, then energy; 1 %.
    assert stop_speed(0.3, height) == pytest.approx(speed, rel=0.01)
    assert tipping_acceleration(0.3, height) == pytest.approx(acceleration, rel=0.01)


def test_stop_speed_keeps_energy_and_angular_momentum() -> None:
    # Independent of the formula: after the stop omega = v h / r^2 (point mass), and it must lift the mass from h
    # to r.
    edge, height = 0.25, 0.7
    speed, radius = stop_speed(edge, height), math.hypot(edge, height)
    omega = speed * height / radius**2
    assert (omega * radius) ** 2 / 2 == pytest.approx(GRAVITY * (radius - height))


def test_three_wheels_or_the_factor_whichever_is_more() -> None:
    # Trade rules: total over three; (E + Z) S / n. 342 kg on four casters.
    assert caster_load(342, 4) == pytest.approx(114.0)
    assert caster_load(342, 4, 1.5) == pytest.approx(128.25)


def test_floor_pressure_of_eight_modules() -> None:
    # 416 kg on 0.6 x 0.6 m: 11.33 kPa, 236.7 psf (1 psf = 47.88 Pa); foot pad 50 x 50 mm: 0.408 MPa.
    assert pressure(416, 0.36) == pytest.approx(11330, rel=0.005)
    assert pressure(416, 0.36) / 47.88 == pytest.approx(236.7, rel=0.005)
    assert pressure(104, 0.0025) == pytest.approx(0.408e6, rel=0.005)


def test_rack_of_earthquake_guidance() -> None:
    # Rack 25 kg, six modules 45 kg, 0.6 x 0.6 m, centre 0.75 m high: 295 kg, 8.0 kN/m2, tips at 0.40 g.
    mass = 25 + 6 * 45
    assert mass == 295
    assert pressure(mass, 0.36) == pytest.approx(8.0e3, rel=0.01)
    assert tipping_acceleration(0.3, 0.75) / GRAVITY == pytest.approx(0.40, abs=0.001)
