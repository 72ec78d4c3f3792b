"""Readings that are none, as they come out of the logbook: kept as out of range or as no value, for hours, at times.

Days of cells are invented; each fault is stored as an import or a listener stores it, with its quality.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bankwright.forms.readings import GOOD, NOT_AVAILABLE, OUTSIDE, Columns
from bankwright.logbook.telemetry.store import open_telemetry
from bankwright.watch.cells.minutes import minutes_of
from bankwright.watch.cells.senses import Doubtful, doubtful

START, STEP, COUNT = 1.7e9 // 3600 * 3600, 120.0, 300
PLACES = tuple(f"M1.c{k + 1}" for k in range(8))


def cells(seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Ten hours of eight cells that go up and down by 60 mV, and their sum."""
    luck = np.random.default_rng(seed)
    middle = 3.30 + 0.03 * np.sin(np.arange(COUNT) / 25)
    table = np.round(middle[:, None] + luck.normal(0, 1.5e-3, 8) + luck.normal(0, 7e-4, (COUNT, 8)), 3)
    return table, np.round(table.sum(axis=1), 2)


def told(
    tmp_path: Path, table: np.ndarray, whole: np.ndarray, quality: np.ndarray | None = None, amps: float = 4.0
) -> tuple[Doubtful, ...]:
    time = START + STEP * np.arange(COUNT)
    luck = np.random.default_rng(9)
    current = np.round(amps + (luck.normal(0, 1, COUNT) if amps != 7.0 else 0.0), 1) * np.ones(COUNT)
    good = np.full(table.shape, GOOD, np.uint8) if quality is None else quality
    with open_telemetry(tmp_path / "bench.toml") as telemetry:
        telemetry.append_dated(Columns("cell_voltage", PLACES, time, table, good), source="bench")
        for name, values in (("voltage", whole), ("current", current)):
            one = Columns(name, ("M1",), time, values[:, None], np.zeros((COUNT, 1), np.uint8))
            telemetry.append_dated(one, source="bench")
        found = minutes_of(telemetry, "M1", START, START + STEP * COUNT)
    assert found is not None
    return doubtful(found)


def kinds(found: tuple[Doubtful, ...]) -> list[tuple[str, tuple[int, ...]]]:
    return [(one.why, one.cells) for one in found]


@pytest.mark.parametrize("step", [0.001, 0.01])
def test_a_sound_day_gives_no_word_fine_or_coarse(tmp_path: Path, step: float) -> None:
    table, whole = cells(1)
    assert told(tmp_path, np.round(table / step) * step, whole) == ()


def test_a_bank_at_rest_gives_no_word(tmp_path: Path) -> None:
    table = np.round(3.31 + np.random.default_rng(2).normal(0, 1e-3, 8), 3) * np.ones((COUNT, 8))
    assert told(tmp_path, table, table.sum(axis=1), amps=0.0) == ()


@pytest.mark.parametrize(("value", "quality", "often"), [(0.0, OUTSIDE, 1), (np.nan, NOT_AVAILABLE, 1),
                                                        (np.nan, NOT_AVAILABLE, 40), (0.4, OUTSIDE, 25)])  # fmt: skip
def test_a_cell_that_was_kept_as_none_is_named(tmp_path: Path, value: float, quality: int, often: int) -> None:
    table, whole = cells(3)
    kept = np.zeros(table.shape, np.uint8)
    table[::often, 4], kept[::often, 4] = value, quality
    (one,) = told(tmp_path, table, whole, kept)
    assert (one.why, one.cells) == ("mark", (5,))
    assert one.share == pytest.approx(1 / often, rel=0.1)


@pytest.mark.parametrize("share", [0.1, 0.3, 1.0])
def test_a_wire_that_makes_contact_at_times(tmp_path: Path, share: float) -> None:
    table, whole = cells(4)
    bad = np.arange(COUNT) < share * COUNT
    table[bad, 2] += 0.35
    table[bad, 3] -= 0.35
    (one,) = told(tmp_path, table, whole)
    assert (one.why, one.cells) == ("sense wire", (3, 4))
    assert one.share == pytest.approx(share, abs=0.02)


def test_a_cell_that_stands_still_from_some_hour_on(tmp_path: Path) -> None:
    table, whole = cells(5)
    table[200:, 6] = table[200, 6]
    assert kinds(told(tmp_path, table, whole)) == [("still", (7,))]


def test_all_cells_that_stand_still_while_the_module_moves(tmp_path: Path) -> None:
    table, whole = cells(6)
    table[150:] = table[150]
    ((why, places),) = kinds(told(tmp_path, table, whole))
    assert why == "all still"
    assert len(places) == 8


def test_a_voltage_or_a_current_that_stands_still(tmp_path: Path) -> None:
    table, whole = cells(7)
    assert kinds(told(tmp_path, table, 0 * whole + 26.4)) == [("voltage still", ())]


def test_a_current_that_stands_still_while_the_cells_go_up_and_down(tmp_path: Path) -> None:
    table, whole = cells(8)
    assert kinds(told(tmp_path, table, whole, amps=7.0)) == [("current still", ())]
