"""A bank that rests for weeks in the field: its voltage alone says next to nothing of its charge, and that is said.

Data: Collis, technical report and data, doi 10.5281/zenodo.18232628, CC BY 4.0 (tests/outside/data/README.md): five
blocks of four cells in parallel, read to 10 mV.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import numpy as np
import pytest

from bankwright.circuit.run.curves import published_curves
from bankwright.watch.cells.spread import inverse

DATA = Path(__file__).parents[2] / "outside" / "data" / "field_bank_4s5p_hourly.csv"
CURVES = published_curves()


def rested() -> tuple[np.ndarray, np.ndarray]:
    """Days since the first reading, and highest voltage of a cell in the hour."""
    rows = [line.split(",") for line in DATA.read_text("utf-8").splitlines()[1:]]
    first = datetime.fromisoformat(rows[0][0])
    days = [(datetime.fromisoformat(row[0]) - first).total_seconds() / 86400 for row in rows]
    return np.array(days), np.array([float(row[2]) for row in rows]) / 4


def charge(volts: float) -> tuple[float, float]:
    found = [float(inverse(curve, np.array([volts]))[0]) for curve in CURVES]
    return min(found), max(found)


def test_near_the_top_the_charge_is_told_and_on_the_flat_it_is_not() -> None:
    days, volts = rested()
    early, late = volts[(days > 2) & (days < 4)].mean(), volts[days > days[-1] - 3].mean()
    assert early > late
    high, low = charge(float(early)), charge(float(late))
    assert high[0] > 0.8
    assert high[1] - high[0] < 0.25
    assert low[1] - low[0] > 0.30  # absolute charge unknown by more than 30 points


def test_weeks_of_standing_draw_do_not_show_in_the_voltage() -> None:
    days, volts = rested()
    last = days > days[-1] - 50
    slope = float(np.polyfit(days[last], volts[last], 1)[0])
    assert abs(slope) < 0.2e-3  # V a day and cell: a step of the meter, 2.5 mV a cell, takes weeks
    ends = [charge(float(volts[last][k])) for k in (0, -1)]
    assert max(ends[0][0], ends[1][0]) < min(ends[0][1], ends[1][1])  # both bands hold the same charge


@pytest.mark.parametrize(("volts", "low", "high"), [(3.378, 0.90, 1.0), (3.319, 0.30, 0.85)])
def test_bands_of_the_curves(volts: float, low: float, high: float) -> None:
    found = charge(volts)
    assert low <= found[0] < found[1] <= high
