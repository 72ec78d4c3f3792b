"""Capacity from pairs of anchors: unbiased, seldom wrong, in time; and against published ageing of cells in store.

Data: Naumann, data for "Analysis and modeling of calendar aging of a commercial LiFePO4/graphite cell", doi
10.17632/kxh42bfgtj.1 (paper doi 10.1016/j.est.2018.01.019), CC BY 4.0; fewer columns, rounded, each row the published
mean of three cells (tests/outside/data/README.md). Invented: how pairs of anchors are spread, and their errors.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bankwright.watch.cells.capacity import YEAR, Pair, Sizes, total, trend, years_left

DATA = Path(__file__).parents[2] / "outside" / "data" / "calendar_naumann_lfp.csv"
WEEK = 7 * 86400.0
SIZES = Sizes(0.018, 0.8)  # top 1.0 and empty 1.5 points; counted to 0.8 Ah


def pairs(capacity: np.ndarray, seed: int, share: float = 0.9, sizes: Sizes = SIZES, gain: float = 0.0) -> list[Pair]:
    luck = np.random.default_rng(seed)
    swing = share * luck.uniform(0.85, 1.05, len(capacity))
    said = swing + luck.normal(0, sizes.share, len(capacity))
    years = np.arange(len(capacity)) * WEEK / YEAR
    counted = capacity * swing * (1 + gain * years) + luck.normal(0, sizes.counted, len(capacity))
    return [Pair(k * WEEK, float(s), float(c)) for k, (s, c) in enumerate(zip(said, counted, strict=True))]


def test_it_is_not_biased_where_ordinary_least_squares_is() -> None:
    wide = Sizes(0.042, 0.5)
    found = [total(pairs(np.full(30, 100.0), seed, 0.3, wide), wide)[0] for seed in range(400)]
    ordinary = []
    for seed in range(400):
        taken = pairs(np.full(30, 100.0), seed, 0.3, wide)
        x, y = np.array([p.share for p in taken]), np.array([p.counted for p in taken])
        ordinary.append(x @ y / (x @ x))
    assert abs(np.mean(found) - 100) < 0.5
    assert np.mean(ordinary) < 98.5


def test_its_own_doubt_is_right() -> None:
    found = [total(pairs(np.full(30, 100.0), seed), SIZES) for seed in range(400)]
    away = [(value - 100) / sd for value, sd in found]
    assert 0.85 < np.std(away) < 1.15


def test_a_healthy_module_is_seldom_accused_in_five_years() -> None:
    accused = 0
    for seed in range(60):
        taken = pairs(np.full(260, 100.0), seed)
        weeks = (15, 30, 52, 104, 156, 208, 260)
        accused += any((found := trend(taken[:n], SIZES)) is not None and found.falls for n in weeks)
    assert accused <= 3


def test_a_gain_that_drifts_is_seldom_taken_for_a_fall() -> None:
    accused = 0
    for seed in range(40):
        found = trend(pairs(np.full(156, 100.0), seed, gain=-0.003), SIZES)
        accused += found is not None and found.falls
    assert accused <= 4


def test_a_fall_of_two_and_a_half_percent_a_year_is_told_before_six_percent() -> None:
    told = []
    for seed in range(30):
        true = 100 * (1 - 0.025 * np.arange(260) * WEEK / YEAR)
        taken = pairs(true, seed)
        for n in range(15, 261, 8):
            found = trend(taken[:n], SIZES)
            if found is not None and found.falls:
                told.append(1 - true[n - 1] / 100)
                break
    assert len(told) == 30
    assert np.median(told) < 0.06


def test_years_left_have_a_band_and_only_where_a_fall_is_sure() -> None:
    true = 100 * (1 - 0.03 * np.arange(208) * WEEK / YEAR)
    taken = pairs(true, 2)
    found = trend(taken, SIZES)
    assert found is not None
    left = years_left(found)
    assert left is not None
    assert left.low < (0.20 - 0.12) / 0.03 < left.high
    healthy = pairs(np.full(208, 100.0), 2)
    none = trend(healthy, SIZES)
    assert none is not None
    assert years_left(none) is None


@pytest.mark.parametrize("bad", [[], [Pair(0.0, 0.9, -90.0)]])
def test_pairs_that_say_nothing_are_refused(bad: list[Pair]) -> None:
    with pytest.raises(ValueError, match=r"pair|against"):
        total(bad, SIZES)
    assert trend(bad, SIZES) is None


def test_published_ageing_in_store_is_followed() -> None:
    # cells stored at 40 degC and full: the fall that weekly pairs give is that of the published capacities
    rows = np.genfromtxt(DATA, delimiter=",", names=True)
    one = rows[(rows["temperature_c"] == 40) & (rows["storage_soc_fraction"] == 1.0)]
    assert len(one) > 5
    days = np.arange(0, one["elapsed_days"].max(), 7)
    loss = np.interp(days, one["elapsed_days"], one["capacity_loss_pct"]) / 100
    taken = pairs(100 * (1 - loss), 4)
    found = trend(taken, SIZES)
    assert found is not None
    assert found.falls
    early, late = loss[:10].mean(), loss[-20:].mean()
    assert found.fall == pytest.approx((late - early) / (1 - early), abs=2.6 * found.fall_sd)
