"""Cells from the logbook to the report: planted faults are told by their code, a healthy module passes."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from bankwright.bank.read import read_bank
from bankwright.circuit.run.curves import published_curves
from bankwright.forms.finding import Finding
from bankwright.forms.readings import Columns
from bankwright.logbook.telemetry.store import open_telemetry
from bankwright.watch.cells.section import section
from bankwright.watch.section import Asked, Section

BARN = Path(__file__).parents[3] / "demo" / "barn.toml"
START = datetime(2026, 3, 2, tzinfo=UTC).timestamp()
STEP = 30.0


@pytest.fixture
def file(tmp_path: Path) -> Path:
    made = tmp_path / "barn.toml"
    made.write_text(BARN.read_text("utf-8"), "utf-8")
    return made


def day(seed: int = 1, cells: int = 16) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Invented: two hours at the top with little current, then a discharge. Time, current, state of charge of cells."""
    luck = np.random.default_rng(seed)
    time = START + STEP * np.arange(1200)
    current = np.where(np.arange(1200) < 240, -1.0, 8.0 + luck.normal(0, 2, 1200))
    out = np.cumsum(np.clip(current, 0, None)) * STEP / 3600 / 100
    soc = 0.992 - out[:, None] + luck.normal(0, 2e-4, cells)
    return time, current, soc


def volts(soc: np.ndarray, current: np.ndarray, seed: int = 1) -> np.ndarray:
    curve = next(c for c in published_curves() if c.name == "parameter set")
    luck = np.random.default_rng(seed)
    found = np.interp(soc, curve.soc, curve.volts) - current[:, None] * 0.8e-3
    return np.round(found + luck.normal(0, 5e-4, soc.shape), 3)


def told(
    file: Path, cells: np.ndarray, time: np.ndarray, current: np.ndarray, whole: np.ndarray | None = None
) -> Section:
    places = tuple(f"M1.c{k + 1}" for k in range(cells.shape[1]))
    total = cells.sum(axis=1) if whole is None else whole
    with open_telemetry(file) as telemetry:
        for name, at, table in (
            ("cell_voltage", places, cells),
            ("voltage", ("M1",), total[:, None]),
            ("current", ("M1",), current[:, None]),
        ):
            telemetry.append_dated(Columns(name, at, time, table, np.zeros(table.shape, np.uint8)), source="bench")
        return section(Asked(read_bank(file), telemetry, START, float(time[-1]), float(time[-1])))


def by_code(found: Section) -> dict[str, Finding]:
    return {finding.code: finding for finding in found.findings}


def test_a_healthy_module_passes_and_the_others_are_named_as_not_read(file: Path) -> None:
    time, current, soc = day()
    found = told(file, volts(soc, current), time, current)
    assert {f.code: f.verdict for f in found.findings} == {"W-CELL-1": "pass", "W-CELL-2": "pass"}
    assert "M2, M3, M4, M5" in found.notes[0].text("metric")
    (row,) = found.rows
    assert row.name == "M1"


def test_a_cell_with_less_charge_is_bounded_at_the_top_and_told_at_the_empty_end(file: Path) -> None:
    time, current, soc = day()
    soc[:, 4] -= 0.05
    found = by_code(told(file, volts(soc, current), time, current))["W-CELL-2"]
    assert found.verdict == "unknown"  # the low cell lies where the curves go apart
    low = soc - soc.min() + 0.03
    with_end = time + 86400.0
    found = by_code(told(file, volts(low, 0 * current + 2.0), with_end, 0 * current + 2.0))["W-CELL-2"]
    assert found.verdict == "caution"
    assert found.figure is not None
    assert found.figure.low is not None
    assert found.figure.high is not None
    assert found.figure.low <= 0.05 <= found.figure.high + 0.01


def test_a_cell_with_more_resistance(file: Path) -> None:
    time, current, soc = day()
    cells = volts(soc, current)
    cells[:, 10] -= current * 1.5e-3
    found = by_code(told(file, cells, time, current))
    assert found["W-CELL-3"].at == ("M1.c11",)
    assert found["W-CELL-1"].verdict == "pass"


def test_a_wire_that_makes_no_contact_and_a_missing_cell(file: Path) -> None:
    time, current, soc = day()
    cells = volts(soc, current)
    cells[:, 2] += 0.3
    cells[:, 3] -= 0.3
    found = by_code(told(file, cells, time, current))
    assert found["W-CELL-1"].verdict == "caution"
    assert "c3 and c4" in found["W-CELL-1"].text.text("metric")  # type: ignore[union-attr]
    assert found["W-CELL-2"].verdict == "pass"  # the two are left out, the others go on


def test_fewer_cells_read_than_there_are(file: Path) -> None:
    time, current, soc = day()
    cells = volts(soc, current)
    found = told(file, cells[:, :14], time, current, cells.sum(axis=1))
    (finding,) = found.findings
    assert finding.code == "W-CELL-1"
    assert "2 more cells" in finding.text.text("metric")  # type: ignore[union-attr]


def test_only_the_flat_was_visited(file: Path) -> None:
    time, current, soc = day()
    flat = soc - soc.max() + 0.55
    cells = volts(flat, current)
    cells[:, 1] -= 0.012
    found = by_code(told(file, cells[:239], time[:239], current[:239]))
    assert found["W-CELL-2"].verdict == "unknown"
    assert "3.45 V" in found["W-CELL-2"].missing[0].how


def test_without_cells_nothing_is_judged(file: Path) -> None:
    with open_telemetry(file) as telemetry:
        found = section(Asked(read_bank(file), telemetry, START, START + 3600, START + 3600))
    assert found.findings == ()
    assert "M1" in found.notes[0].text("metric")
