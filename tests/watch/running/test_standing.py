"""Standing draw: a published case of a bank in store, and hours of rest with sensors that are off.

Case: five 100 Ah packs in store, 13.3 -+ 4.5 mA, 95.9 % (W. K. Collis, Lifepo4-Battery-Banks, CC BY 4.0): its builder
says 8 to 9 months to 80 %, and 132 days with the 25 mA first estimated.
"""

from __future__ import annotations

import numpy as np
import pytest

from bankwright.forms.toleranced import Toleranced, exact
from bankwright.watch.running.hours import Hours
from bankwright.watch.running.standing import Rest, lasts, rest_of, step_of
from bankwright.watch.running.tables import HOUR, Table


def test_a_bank_in_store_by_its_builder() -> None:
    days = lasts(0.959, 0.80, 500.0, Toleranced(13.3e-3, 8.8e-3, 17.8e-3))
    assert days is not None
    assert days.nominal == pytest.approx(249, abs=1)
    assert (days.low, days.high) == (pytest.approx(186, abs=1), pytest.approx(376, abs=1))
    assert 8 <= days.nominal / 30.4 <= 9
    first = lasts(0.959, 0.80, 500.0, exact(25e-3))
    assert first is not None
    assert first.nominal == pytest.approx(132, abs=1)


def test_a_draw_that_may_be_none_lasts_for_no_time_that_can_be_said() -> None:
    assert lasts(0.9, 0.2, 500.0, Toleranced(0.01, -0.01, 0.03)) is None


def hours(amps: np.ndarray, volts: float = 52.8, noise: float = 0.1) -> Hours:
    """Hours of modules of 16 cells; readings scatter by `noise` around their mean. (hour, module)"""
    time, none = 1.7e9 // HOUR * HOUR + HOUR * np.arange(len(amps)), np.zeros(amps.shape)
    steps = np.round((amps + noise) / 0.1) * 0.1 if noise else amps
    low = np.round((amps - noise) / 0.1) * 0.1 if noise else amps
    told = np.full(amps.shape, volts)
    return Hours(("M1", "M2"), time, HOUR, Table(time, told, told, told, none), Table(time, low, amps, steps, none))


def rest(
    amps: np.ndarray, volts: float = 52.8, noise: float = 0.1, offset: tuple[float, float] = (0.0, 0.05)
) -> Rest | None:
    return rest_of(hours(amps, volts, noise), np.full(2, 100.0), np.full(2, 16.0), offset=offset)


def night(draw: float, days: int = 10, seed: int = 1) -> np.ndarray:
    """Ten days: 8 h at rest, 16 h in use."""
    luck = np.random.default_rng(seed)
    amps = np.full((24 * days, 2), draw / 2) + luck.normal(0, 0.02, (24 * days, 2))
    amps[np.arange(24 * days) % 24 >= 8] += 15.0
    return amps


def test_the_band_holds_what_is_drawn_though_the_sensors_are_off() -> None:
    found = rest(night(0.8) + 0.2, offset=(0.4, 0.05))
    assert found is not None
    assert found.hours == 80
    assert found.draw.low < 0.8 < found.draw.high
    assert found.draw.nominal == pytest.approx(0.8, abs=0.05)


@pytest.mark.parametrize(("amps", "volts"), [(night(0.5)[:5], 52.8), (night(0.5), 56.0), (night(0.5) * 40, 52.8)])
def test_no_rest_where_there_are_too_few_hours_a_charger_holds_or_current_flows(amps: np.ndarray, volts: float) -> None:
    assert rest(amps, volts) is None


def test_sensors_that_say_nothing_but_nought_are_told_as_mute() -> None:
    found = rest(np.zeros((24, 2)), noise=0.0)
    assert found is not None
    assert found.is_mute


def test_a_draw_that_grows_is_told_and_a_steady_one_is_not() -> None:
    steady, grown = rest(night(0.8, 20)), rest(np.concatenate([night(0.8), night(2.4, seed=2)]))
    assert steady is not None
    assert steady.grown is not None
    assert steady.grown.low < 0 < steady.grown.high
    assert grown is not None
    assert grown.grown is not None
    assert grown.grown.low > 1.0
    assert grown.grown.low < 1.6 < grown.grown.high


def test_the_step_of_a_sensor() -> None:
    assert step_of(np.array([0.1, 0.4, 0.2, 0.2, np.nan])) == pytest.approx(0.1)
    assert step_of(np.array([0.1, 0.1])) == 0.0
