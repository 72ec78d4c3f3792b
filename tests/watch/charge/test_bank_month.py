"""A bank whose state of charge is known: the run engine as truth, sensors with faults, the estimator as it is used.

Three truth curves; the estimator never has the truth's own. Invented days and sensors: tests/support/charged_banks.py.
Targets are measured on the band before a wide one is replaced by `unknown`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from bankwright.watch.charge.blocks import Resistances, blocks_of
from bankwright.watch.charge.estimator import Estimator
from bankwright.watch.charge.facts import Facts
from support.charged_banks import CAPACITY, CELLS, OHMIC, QUICK, SLOW, TRUTHS, Days, Month, Sensors, month, others

NARROW = Days(top=(0.60, 0.66), bottom=(0.42, 0.46), evening=(0.05, 0.10))


@dataclass(frozen=True)
class Found:
    """In points: error of a module's charge, cover of its band, half of it; error of its difference from the mean."""

    rms: float
    worst: float
    cover: float
    half: float
    apart: float
    apart_cover: float


def facts(truth: str, count: int) -> Facts:
    """What is known of the bank: nominal values, and the curves of other cells."""
    each = [np.full(count, part / CELLS) for part in (OHMIC, QUICK, SLOW)]
    names = tuple(f"M{m + 1}" for m in range(count))
    resistances = Resistances(each[0], each[1], 35.0, each[2], 1000.0)
    capacity, cells = np.full(count, CAPACITY), np.full(count, float(CELLS))
    return Facts(names, capacity, cells, resistances, np.zeros(count), others(truth))


def followed(truth: str, true: Month, soc: float | None = None) -> Found:
    """Take a month and compare every block."""
    count = true.current.shape[1]
    known = facts(truth, count)
    volts = list((true.volts / CELLS).T)
    blocks, _ = blocks_of([true.time] * count, list(true.current.T), volts, known.resistances, known.capacity_ah)
    estimator = Estimator.begin(known, soc=soc, sd=0.02)
    said = np.empty((len(blocks), count, 5))
    for k in range(len(blocks)):
        estimator._block(blocks, k, np.ones(count))
        mean, (low, high) = estimator.common.mean(), estimator.common.band()
        away, sd = estimator.apart_charge()
        half = np.hypot((high - low) / 2, 1.96 * sd)
        said[k] = np.stack([mean + away, half, away, 1.96 * sd, np.full(count, mean)], axis=1)
    soc_true = true.soc[np.minimum(np.searchsorted(true.time, blocks.end) - 1, len(true.time) - 1)]
    error = said[..., 0] - soc_true
    differs = said[..., 2] - (soc_true - soc_true.mean(axis=1)[:, None])
    counts = blocks.end > 86400.0  # differences are told from the second day on
    return Found(
        float(np.sqrt((error**2).mean()) * 100),
        float(np.abs(error).max() * 100),
        float((np.abs(error) <= said[..., 1]).mean()),
        float(said[..., 1].mean() * 100),
        float(np.sqrt((differs[counts] ** 2).mean()) * 100),
        float((np.abs(differs) <= said[..., 3])[counts].mean()),
    )


def test_four_days_of_a_bank_with_another_cells_curve_once_nearly_full() -> None:
    true = month("18650", 3, 4, 31, Days(full_every=3))
    found = followed("18650", true, float(true.soc[0].mean()) + 0.01)
    assert found.rms < 1.7, found  # 1.51; other seeds 1.6 to 2.3 in the first days; a month is held to 1.5
    assert found.cover >= 0.90, found
    assert found.apart < 0.7, found
    assert found.apart_cover >= 0.90, found


@pytest.mark.soak
@pytest.mark.parametrize(("count", "seed"), [(4, 41), (4, 42), (8, 43)])
@pytest.mark.parametrize("truth", TRUTHS)
def test_a_month(truth: str, count: int, seed: int, capsys: pytest.CaptureFixture[str]) -> None:
    """State of charge of a bank over a month, three truth curves, 4 and 8 modules: error, band, differences."""
    true = month(truth, count, 30, seed)
    found = followed(truth, true, float(true.soc[0].mean()) + 0.01)
    _tell(capsys, f"{truth}, {count} modules, seed {seed}", found)
    assert found.rms < 1.5
    assert found.cover >= 0.90
    assert found.apart < 0.7


VARIED = {
    "start unknown": ("26650", Days(), Sensors(), None),
    "parameter set, start unknown": ("parameter set", Days(), Sensors(), None),
    "full every week": ("26650", Days(full_every=7), Sensors(), 0.55),
    "full every third day": ("18650", Days(full_every=3), Sensors(), 0.55),
    "full every third day, 26650": ("26650", Days(full_every=3), Sensors(), None),
    "narrow": ("26650", NARROW, Sensors(), 0.55),
    "narrow, start unknown": ("18650", NARROW, Sensors(), None),
    "narrow, start unknown, again": ("18650", NARROW, Sensors(), None),
    "offset drifts": ("18650", Days(), Sensors(drift=0.03), 0.55),
    "voltage off by 100 mV": ("18650", Days(), Sensors(volts_offset=0.1), 0.55),
}


@pytest.mark.soak
@pytest.mark.parametrize("name", VARIED)
def test_a_month_otherwise(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """State of charge over a month of other use: start unknown, narrow days, drifting sensors: the band holds."""
    truth, days, sensors, soc = VARIED[name]
    seed = 45 if name.endswith("again") else 43
    found = followed(truth, month(truth, 4, 30, seed, days, sensors), soc)
    _tell(capsys, name, found)
    assert found.cover >= 0.90
    assert found.apart_cover >= 0.90


def _tell(capsys: pytest.CaptureFixture[str], name: str, found: Found) -> None:
    with capsys.disabled():
        print(
            f"\n| {name} | {found.rms:.2f} | {found.worst:.1f} | {found.cover:.0%} | {found.half:.1f} |"
            f" {found.apart:.2f} | {found.apart_cover:.0%} |"
        )
