"""Loss in store by one published table, against the rows that are not in it, and against another make.

Data: Naumann (doi 10.17632/kxh42bfgtj.1) and Geisbauer et al. (doi 10.5281/zenodo.6685365), both CC BY 4.0
(tests/outside/data/README.md).
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from bankwright.watch.running.calendar import yearly_loss

DATA = Path(__file__).parents[2] / "outside" / "data"


def table(name: str) -> list[dict[str, str]]:
    return list(csv.DictReader((DATA / name).read_text("utf-8").splitlines()))


def naumann(degc: float, soc: float) -> float:
    rows = table("calendar_naumann_lfp.csv")
    told = [
        (float(r["elapsed_days"]), float(r["capacity_loss_pct"]))
        for r in rows
        if (float(r["temperature_c"]), float(r["storage_soc_fraction"])) == (degc, soc)
    ]
    days, loss = np.array(told).T
    return float(np.interp(365, days, loss)) / 100


@pytest.mark.parametrize("soc", [0.125, 0.25, 0.375, 0.625, 0.75, 0.875])
def test_conditions_of_the_same_store_that_are_not_in_the_table(soc: float) -> None:
    found = yearly_loss(np.full(24, 40.0), (soc, soc))
    assert found is not None
    assert found.middle == pytest.approx(naumann(40.0, soc), abs=0.012)


@pytest.mark.parametrize(("degc", "soc"), [(0, 0.5), (10, 0.5), (25, 0.0), (25, 1.0), (60, 0.5)])
def test_conditions_of_the_table(degc: float, soc: float) -> None:
    found = yearly_loss(np.full(24, float(degc)), (soc, soc))
    assert found is not None
    assert found.middle == pytest.approx(naumann(degc, soc), abs=1e-4)


def test_a_hot_week_costs_more_than_its_mean_temperature() -> None:
    even, swings = (yearly_loss(np.array(t), (0.5, 0.5)) for t in ([30.0, 30.0], [10.0, 50.0]))
    assert even is not None
    assert swings is not None
    assert swings.middle > 1.1 * even.middle


def test_nothing_is_said_beyond_the_table_or_of_nothing() -> None:
    assert yearly_loss(np.array([61.0]), (0.5, 0.5)) is None
    assert yearly_loss(np.array([np.nan]), (0.5, 0.5)) is None


def test_cells_of_another_make_stored_full_and_hot_lost_twice_as_much() -> None:
    """So it is said to be one make; docs/running.md gives the factor."""
    rows = table("calendar_geisbauer_lfp_60c.csv")
    full = [r for r in rows if float(r["storage_soc_pct"]) == 100]
    days = max(float(r["days"]) for r in full)
    ends = [np.mean([float(r["discharge_ah"]) for r in full if float(r["days"]) == d]) for d in (0.0, days)]
    found = yearly_loss(np.full(24, 60.0), (1.0, 1.0))
    assert found is not None
    factor = (1 - ends[1] / ends[0]) / (found.middle * np.sqrt(days / 365))
    assert 1.5 < factor < 2.5
