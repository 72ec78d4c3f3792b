"""Readings of cells that are none: planted faults of each kind, and healthy modules that must stay without a word."""

from __future__ import annotations

import numpy as np
import pytest

from bankwright.circuit.run.curves import published_curves
from bankwright.watch.cells.leak import leak
from bankwright.watch.cells.senses import Minutes, doubtful

pytestmark = pytest.mark.quick

CURVES = published_curves()


def healthy(seed: int = 1, cells: int = 16, count: int = 300) -> Minutes:
    """Invented: a module that is discharged slowly, cells read to 1 mV."""
    luck = np.random.default_rng(seed)
    base = 3.33 - np.linspace(0, 0.06, count) + 0.005 * np.sin(np.arange(count) / 7)
    mean = np.round(base[:, None] + luck.normal(0, 2e-3, cells) + luck.normal(0, 5e-4, (count, cells)), 3)
    time = 1.7e9 + 60 * np.arange(count)
    return Minutes(time, mean, mean - 0.001, mean + 0.001, mean.sum(axis=1), 5.0 + np.zeros(count))


def changed(minutes: Minutes, mean: np.ndarray, volts: np.ndarray | None = None, wide: float = 0.001) -> Minutes:
    kept = minutes.volts if volts is None else volts
    return Minutes(minutes.time, mean, mean - wide, mean + wide, kept, minutes.current)


@pytest.mark.parametrize("seed", range(5))
def test_a_healthy_module_gives_no_word(seed: int) -> None:
    assert doubtful(healthy(seed)) == ()
    assert doubtful(healthy(seed, cells=15, count=40)) == ()


def test_a_sense_wire_that_makes_no_contact() -> None:
    minutes = healthy()
    mean = minutes.mean.copy()
    mean[:, 6] -= 0.4
    mean[:, 7] += 0.4  # the wire between them floats; together they are right
    (found,) = doubtful(changed(minutes, mean))
    assert (found.why, found.cells) == ("sense wire", (7, 8))
    assert found.value == pytest.approx(0.4, abs=0.01)


def test_taps_of_a_string_read_from_its_minus_pole() -> None:
    # an e-bike builders' forum: taps 3.25, 6.535, 9.81, 13.09, 16.03, 19.30 V: cell 5 lies 0.33 V low, no wire
    cells = np.diff([0.0, 3.25, 6.535, 9.81, 13.09, 16.03, 19.30])
    assert np.argmin(cells) == 4
    assert np.median(cells) - cells[4] == pytest.approx(0.33, abs=0.015)
    minutes = healthy(cells=6)
    mean = np.broadcast_to(cells, (300, 6)) + (minutes.mean - minutes.mean[0])
    assert not any(one.why == "sense wire" for one in doubtful(changed(minutes, mean, mean.sum(axis=1))))


@pytest.mark.parametrize("mark", [0.0, 5.0, 65.535, 0.9])
def test_a_mark_for_no_value(mark: float) -> None:
    minutes = healthy()
    mean = minutes.mean.copy()
    mean[100:, 3] = mark
    assert [(one.why, one.cells) for one in doubtful(changed(minutes, mean))] == [("mark", (4,))]


def test_a_cell_that_is_not_read() -> None:
    minutes = healthy()
    (found,) = doubtful(changed(minutes, minutes.mean[:, :15]))
    assert (found.why, found.value) == ("count", 1.0)
    more = np.concatenate([minutes.mean, minutes.mean[:, :1]], axis=1)
    (found,) = doubtful(changed(minutes, more))
    assert (found.why, found.value) == ("count", -1.0)


def test_a_value_that_stands_still() -> None:
    minutes = healthy()
    mean, low, high = (part.copy() for part in (minutes.mean, minutes.low, minutes.high))
    for part in (mean, low, high):
        part[:, 9] = 3.301
    found = doubtful(Minutes(minutes.time, mean, low, high, mean.sum(axis=1), minutes.current))
    assert [(one.why, one.cells) for one in found] == [("still", (10,))]


def test_missing_readings_are_no_fault() -> None:
    minutes = healthy()
    mean = minutes.mean.copy()
    mean[::3] = np.nan
    mean[:, 2] = np.nan
    assert not [one for one in doubtful(changed(minutes, mean)) if one.why != "count"]


def test_self_discharge_from_full_charge_to_full_charge() -> None:
    # 100 Ah; the cell loses 3 mA more than the others; eight weekly full charges at 3.47 V, read to 1 mV
    curve = next(c for c in CURVES if c.name == "18650")
    luck = np.random.default_rng(5)
    weeks = np.arange(8)
    soc = float(np.interp(3.47, curve.volts, curve.soc))
    lost = 3e-3 * 168 * weeks / 100
    away = np.interp(soc - lost, curve.soc, curve.volts) - 3.47 + luck.normal(0, 1e-3, 8)
    time, volts = 1.7e9 + weeks * 7 * 86400.0, np.full(8, 3.47)
    found = leak(time, away, volts, 100.0, [curve], balanced=np.zeros(8))
    assert found is not None
    assert found.current is not None
    assert found.low <= 3e-3 <= found.high
    unknown = leak(time, away, volts, 100.0, CURVES, balanced=None)
    assert unknown is not None
    assert unknown.current is None  # what the balancer took is not known
    assert unknown.low <= 3e-3 <= unknown.high
    assert leak(time[:2], away[:2], volts[:2], 100.0, CURVES, balanced=None) is None
