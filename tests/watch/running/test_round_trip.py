"""Round trip with a known loss: the truth lies in the band, whatever the sensors are off by.

Invented: a bank of two modules, voltage 52 V -+ half a gap, 10 mohm; loss computed by hand from them.
"""

from __future__ import annotations

import numpy as np
import pytest

from bankwright.watch.running.hours import Hours
from bankwright.watch.running.round_trip import Through, mixed_hours, through_of, trip_of
from bankwright.watch.running.tables import HOUR, Table

GAP, OHM = 0.4, 10e-3  # V of a module, ohm


def true(cycles: int = 8, amps: float = 20.0) -> tuple[np.ndarray, np.ndarray]:
    """Hours of charge and discharge, current and voltage of two modules; ends where it began."""
    current = np.tile(np.repeat([-amps, amps], 4), cycles)[:, None] * np.ones(2)
    return current, 52.0 - np.sign(current) * GAP / 2 - current * OHM


def through(current: np.ndarray, volts: np.ndarray) -> Through:
    return Through(volts, current, np.ones(len(current)))


@pytest.mark.parametrize("offset", [-0.3, 0.0, 0.3])
@pytest.mark.parametrize("gain", [0.98, 1.02])
def test_the_loss_that_was_made_is_found(offset: float, gain: float) -> None:
    current, volts = true()
    known = (52.0 - GAP / 2 - 20 * OHM) / (52.0 + GAP / 2 + 20 * OHM)
    found = trip_of(through(current * gain + offset, volts), 0.0, 1.4 * 2)
    assert found is not None
    assert found.low < known * 0.995 < found.high  # up to 1 % of the charge may be lost: half of it is taken
    assert found.high - found.low < 0.02
    assert found.offset == pytest.approx(2 * offset, abs=0.3)


def test_charge_left_at_the_end_is_no_loss() -> None:
    current, volts = true()
    current, volts = current[:-2], volts[:-2]  # 40 Ah of each are still in
    balanced, not_told = trip_of(through(current, volts), 80.0, 1.0), trip_of(through(current, volts), 0.0, 1.0)
    assert balanced is not None
    assert not_told is not None
    known = (52.0 - GAP / 2 - 20 * OHM) / (52.0 + GAP / 2 + 20 * OHM)
    assert balanced.low < known * 0.995 < balanced.high
    assert abs(not_told.offset) > 10 * abs(balanced.offset)


def test_ends_that_are_not_known_widen_the_band() -> None:
    current, volts = true(2)
    sure, unsure = (trip_of(through(current, volts), 0.0, doubt) for doubt in (1.0, 60.0))
    assert sure is not None
    assert unsure is not None
    assert unsure.high - unsure.low > sure.high - sure.low
    assert unsure.ends_share > sure.ends_share


def test_nothing_went_in() -> None:
    assert trip_of(through(np.full((5, 2), 10.0), np.full((5, 2), 52.0)), -50.0, 1.0) is None


def test_hours_in_which_current_turned_are_taken_by_the_minute() -> None:
    time = 1.7e9 // HOUR * HOUR + HOUR * np.arange(2)
    none = np.zeros((2, 1))

    def column(*values: float) -> np.ndarray:
        return np.array(values)[:, None]

    amps = Table(time, column(-20, 10), column(0.0, 10), column(20, 10), none)
    volts = Table(time, *(column(52.0, 52.0),) * 3, none)
    hours = Hours(("M1",), time, HOUR, volts, amps)
    assert list(mixed_hours(hours)) == [time[0]]
    fine = time[0] + 60.0 * np.arange(60)
    turned = np.where(np.arange(60) < 30, -20.0, 20.0)[:, None]
    zeros = np.zeros((60, 1))
    each = Table(fine, turned, turned, turned, zeros)
    minutes = Hours(("M1",), fine, 60.0, Table(fine, *(zeros + 52.0,) * 3, zeros), each)
    found = through_of(hours, minutes)
    assert found.hours.sum() == pytest.approx(2.0)
    assert -(np.minimum(found.amps, 0)[:, 0] @ found.hours) == pytest.approx(10.0)
