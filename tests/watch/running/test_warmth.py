"""Temperatures beside each other: what is planted is found, inside the band that is said."""

from __future__ import annotations

import numpy as np
import pytest

from bankwright.watch.running.warmth import above, beside, slowed, still

HOURS = 24 * 12
TIME = 1.7e9 // 86400 * 86400 + 3600.0 * np.arange(HOURS)


def heat(seed: int = 1) -> np.ndarray:
    """Invented evenings: up to 20 W a module."""
    luck = np.random.default_rng(seed)
    hour = np.arange(HOURS) % 24
    return np.where((hour > 17) & (hour < 23), 20.0, 2.0) * luck.uniform(0.4, 1.0, HOURS)


@pytest.mark.parametrize("seed", range(4))
def test_what_is_planted_at_rest_and_under_load_lies_in_the_band(seed: int) -> None:
    luck = np.random.default_rng(100 + seed)
    watts = heat(seed)
    felt = slowed(watts, 3.0)
    away = -1.5 + 0.25 * felt + luck.normal(0, 0.15, HOURS)
    found = beside(away, watts, TIME)
    assert found is not None
    assert found.more is not None
    low, high = found.band("rest")
    assert low - 0.15 < -1.5 < high + 0.15
    low, high = found.band("more")
    assert low - 0.3 < 0.25 * np.quantile(felt, 0.95) < high + 0.3


def test_two_days_or_no_load_tell_nothing() -> None:
    assert beside(np.zeros(48), heat()[:48], TIME[:48]) is None
    found = beside(np.zeros(HOURS), np.full(HOURS, 0.1), TIME)
    assert found is not None
    assert found.more is None


def test_the_rise_above_the_room_is_parted_from_the_rooms_own_day() -> None:
    watts = heat(3)
    room = 18 + 5 * np.sin(2 * np.pi * (np.arange(HOURS) - 9) / 24)
    degc = slowed(room, 4.0) + 0.3 * slowed(watts, 4.0) + np.random.default_rng(1).normal(0, 0.05, HOURS)
    found = above(degc, room, watts, TIME)
    assert found is not None
    assert found.more == pytest.approx(0.3 * np.quantile(slowed(watts, 4.0), 0.95), abs=0.3)
    assert found.rest == pytest.approx(0.0, abs=0.3)
    assert above(degc, np.full(HOURS, np.nan), watts, TIME) is None


def test_hours_that_were_not_heard_change_nothing() -> None:
    with_hole = heat()
    with_hole[5:8] = np.nan
    felt = slowed(with_hole, 3.0)
    assert felt[5] == felt[6] == felt[7] == felt[4]
    assert np.isfinite(felt).all()


def test_a_sensor_that_stands_still() -> None:
    same = np.full(48, 21.0)
    assert still(same, same, 4.0)
    assert not still(same, same, 0.5)  # nothing moved
    assert not still(same[:12], same[:12], 4.0)  # half a day
    assert not still(same, same + 0.1, 4.0)
