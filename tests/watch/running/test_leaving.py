"""Modules that leave, peaks that came near a trip, and what only looks like either."""

from __future__ import annotations

import numpy as np
import pytest

from bankwright.watch.running.hours import Hours
from bankwright.watch.running.leaving import Left, deficits, left, nearest, stale
from bankwright.watch.running.tables import HOUR, Table

SIZE = np.full(4, 100.0)
NAMES = ("M1", "M2", "M3", "M4")


def slots(amps: np.ndarray, step: float = 60.0, by: float = 0.3) -> Hours:
    time, none = 1.7e9 // HOUR * HOUR + step * np.arange(len(amps)), np.zeros(amps.shape)
    told = np.where(np.isfinite(amps), 52.0, np.nan)
    volts = Table(time, told.copy(), told, told.copy(), none)
    return Hours(NAMES, time, step, volts, Table(time, amps - by, amps, amps + by, none))


def evening(seed: int = 1) -> np.ndarray:
    return 30.0 + np.random.default_rng(seed).normal(0, 1, (120, 4))


def found(amps: np.ndarray) -> list[Left]:
    return list(left(slots(amps), SIZE))


def test_a_module_that_trips_and_comes_back() -> None:
    amps = evening()
    amps[57:60, 2] = 140.0
    amps[60:95, 2] = 0.05
    (one,) = found(amps)
    assert one.module == "M3"
    assert one.current == 140.0
    assert one.bank == pytest.approx(230, abs=6)
    assert one.back is not None
    assert one.back - one.time == 35 * 60.0


def test_one_that_is_not_seen_to_come_back() -> None:
    amps = evening()
    amps[60:, 1] = 0.0
    (one,) = found(amps)
    assert (one.module, one.back) == ("M2", None)


@pytest.mark.parametrize("what", ["two minutes", "all idle", "little load", "not heard", "seldom"])
def test_what_only_looks_like_it(what: str) -> None:
    amps = evening()
    if what == "two minutes":
        amps[60:62, 2] = 0.0
    if what == "all idle":
        amps[60:90] = 0.05
    if what == "little load":  # modules that relax against each other cross zero
        amps[40:] = 4.0
        amps[60:80, 2] = 0.1
    if what == "not heard":
        amps[60:90, 2] = np.nan
    if what == "seldom":  # ten minutes at nothing, without having carried before
        amps[:70, 2] = 0.0
        amps[:60] = 0.05
    assert found(amps) == []


def test_hours_worth_a_closer_look() -> None:
    amps = np.full((48, 4), 20.0)
    amps[30, 1] = 8.0
    hours = slots(amps, HOUR, by=1.0)
    hours.amps.low[30, 1] = 0.0
    assert list(deficits(hours, SIZE, 48)) == list(hours.time[29:32])
    assert len(deficits(slots(np.full((48, 4), 20.0), HOUR), SIZE, 48)) == 0
    alone = np.zeros((48, 4))
    alone[30, 1] = 0.2
    assert len(deficits(slots(alone, HOUR), SIZE, 48)) == 0, "others at exactly nothing: no division, no hour"


def test_a_peak_that_no_other_module_shared_is_a_reading_to_doubt() -> None:
    amps = np.full((48, 4), 40.0)
    amps[10] = 125.0
    both = nearest(slots(amps, HOUR), 0, 135.0, 1)
    assert both is not None
    assert both.is_shared
    assert both.hours == 1
    alone = np.full((48, 4), 0.5)
    alone[10, 0] = 320.0
    one = nearest(slots(alone[10:11], HOUR), 0, 135.0, 1)
    assert one is not None
    assert not one.is_shared
    assert nearest(slots(alone, HOUR, by=0.1), 0, 110.0, -1) is None  # nothing flowed in


def test_a_module_that_says_the_same_for_hours_while_the_others_move() -> None:
    amps = 20.0 + 8.0 * np.sin(np.arange(48) / 4)[:, None] * np.ones(4)
    amps[30:36, 3] = 17.0
    hours = slots(amps, HOUR, by=1.0)
    for part in (hours.amps.low, hours.amps.high):
        part[30:36, 3] = 17.0
    hours.volts.low[:, :3] -= 0.1
    (one,) = stale(hours, SIZE)
    assert (one.module, one.hours, one.current) == ("M4", 6, 17.0)
    assert one.others > 2.0


@pytest.mark.parametrize("what", ["an hour", "all at rest", "nought", "its voltage moves"])
def test_what_only_looks_stale(what: str) -> None:
    amps = 20.0 + 8.0 * np.sin(np.arange(48) / 4)[:, None] * np.ones(4)
    span = slice(30, 31) if what == "an hour" else slice(30, 36)
    value = 0.0 if what == "nought" else 17.0
    amps[span, 3] = value
    if what == "all at rest":
        amps[span] = value
    hours = slots(amps, HOUR, by=1.0)
    for part in (hours.amps.low, hours.amps.high):
        part[span, 3] = value
    if what == "its voltage moves":
        hours.volts.high[:, 3] += 0.05
    assert list(stale(hours, SIZE)) == []


def test_one_that_carries_nothing_for_half_an_hour_is_gone_whenever_it_went() -> None:
    amps = evening()
    amps[:20] = 0.05
    amps[:90, 2] = 0.0
    (one,) = found(amps)
    assert one.module == "M3"
    assert one.back is not None
