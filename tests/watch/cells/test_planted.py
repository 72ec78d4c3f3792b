"""Faults planted in one cell of one module, from the log to the words: that cell is named and no other; a bank in order
is not accused of anything.

Banks and faults are invented: tests/support/lived_banks.py.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bankwright.forms.finding import Finding
from bankwright.logbook.telemetry.store import open_telemetry
from bankwright.watch.cells.section import section
from bankwright.watch.section import Asked
from support.charged_banks import TRUTHS
from support.lived_banks import DAY, START, Cells, Life, bank, imported, live, stored

CODES = {
    "fading": "W-CELL-3", "resistance": "W-CELL-3", "charge": "W-CELL-3", "leak": "W-CELL-4", "wire": "W-CELL-1",
    "frozen": "W-CELL-1", "frozen module": "W-CELL-1", "frozen voltage": "W-CELL-1",
}  # fmt: skip
SPEAK = ("caution", "fail")


def planted(kind: str, modules: int, seed: int) -> tuple[Life, str, tuple[int, ...]]:
    """Some days with one fault; the module, and the cells that it is planted in (from 1 on)."""
    luck, cells = np.random.default_rng([seed, modules]), Cells.made(modules, seed)
    m, c = int(luck.integers(modules)), int(luck.integers(15))
    truth, leaks = sorted(TRUTHS)[seed % 3], kind == "leak"
    match kind:
        case "fading":
            cells.capacity[m, c] *= 0.90
        case "resistance":
            cells.ohm[m, c] += 0.6e-3
        case "charge":
            cells.soc[m, c] -= 0.07
        case "leak":
            cells.leak[m, c] = 0.03
    life = live(cells, 14.0 if leaks else 1.2, seed, truth=truth, step=300.0 if leaks else 120.0, deep_every=30)
    if kind in ("fading", "charge", "resistance"):
        life = live(cells, 1.2, seed, truth=truth, step=120.0)
    half = len(life.time) // 2
    match kind:
        case "wire":
            off = 0.3 * luck.choice([-1, 1])
            life.cells[:, m, c] += off
            life.cells[:, m, c + 1] -= off
        case "frozen":
            life.cells[half:, m, c] = life.cells[half, m, c]
        case "frozen module":
            life.cells[half:, m] = life.cells[half, m]
        case "frozen voltage":
            life.volts[:, m] = life.volts[0, m]
    named = {"wire": (c + 1, c + 2), "frozen module": (), "frozen voltage": ()}
    return life, f"M{m + 1}", named.get(kind, (c + 1,))


def told(tmp_path: Path, life: Life, *, by_import: bool = False) -> list[Finding]:
    """What Watch says of cells, cautions alone and what names a cell."""
    with open_telemetry(tmp_path / "bench.toml") as telemetry:
        if by_import:
            imported(telemetry, tmp_path, life)
        else:
            stored(telemetry, life)
        end = float(life.time[-1])
        found = section(Asked(bank(life.current.shape[1]), telemetry, START, end, end)).findings
    return [f for f in found if f.verdict in SPEAK or f.code in ("W-CELL-3", "W-CELL-4")]


def right(found: list[Finding], kind: str, module: str, cells: tuple[int, ...]) -> bool:
    """The planted place is told by its code; nothing else is said but that this module's spread is wide."""
    at = [f"{module}.c{cell}" for cell in cells]
    own = [f for f in found if f.code == CODES[kind]]
    rest = [f for f in found if f.code != CODES[kind]]
    if kind in ("charge", "leak"):  # both are less charge than the others
        own = [f for f in found if f.code in ("W-CELL-3", "W-CELL-4")]
        rest = [f for f in found if f.code == "W-CELL-1"]
    if not own or any(f.at[0].split(".")[0] != module for f in found) or any(f.code != "W-CELL-2" for f in rest):
        return False
    if CODES[kind] == "W-CELL-1":
        words = own[0].text.text("metric") if own[0].text else ""
        return all(f"c{cell}" in words for cell in cells)
    return all(f.at[0] in at for f in own)


@pytest.mark.parametrize(("kind", "modules", "seed"), [("fading", 4, 1), ("wire", 3, 2), ("frozen", 2, 3)])
def test_the_cell_that_a_log_shows_is_named_and_no_other(tmp_path: Path, kind: str, modules: int, seed: int) -> None:
    life, module, cells = planted(kind, modules, seed)
    found = told(tmp_path, life, by_import=kind != "fading")
    assert right(found, kind, module, cells), [(f.code, f.at, f.text and f.text.text("metric")) for f in found]


def test_a_bank_in_order_is_not_accused(tmp_path: Path) -> None:
    assert told(tmp_path, live(Cells.made(4, 5), 1.2, 5, step=120.0)) == []


@pytest.mark.soak
@pytest.mark.parametrize("kind", CODES)
def test_planted_faults_of_one_kind(tmp_path: Path, kind: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Cells: a fault in one cell of 2, 4 and 8 modules, four banks each, three truth curves: named, and no other."""
    good, wrong = 0, []
    for modules in (2, 4, 8):
        for seed in range(100, 104):
            folder = tmp_path / f"{modules}-{seed}"
            folder.mkdir()
            life, module, cells = planted(kind, modules, seed)
            found = told(folder, life)
            if right(found, kind, module, cells):
                good += 1
            else:
                wrong.append((modules, seed, module, cells, [(f.code, f.at[0]) for f in found]))
    with capsys.disabled():
        print(f"\n| {kind} | {good} of 12 | {wrong or ''} |")
    assert good >= 11, wrong


@pytest.mark.soak
@pytest.mark.parametrize("truth", sorted(TRUTHS))
def test_months_of_banks_in_order(tmp_path: Path, truth: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Cells: seven months of a sound bank of 4 modules for each of three truth curves, looked at every other day."""
    said = []
    for seed in range(200, 207):
        life = live(Cells.made(4, seed), 30.0, seed, truth=truth, step=300.0, full_every=3, deep_every=4)
        with open_telemetry(tmp_path / f"{seed}.toml") as telemetry:
            stored(telemetry, life)
            for day in range(2, 31, 2):
                end = START + day * DAY - 1.0
                found = section(Asked(bank(4), telemetry, START, end, end)).findings
                said += [(seed, day, f.code, f.at[0]) for f in found if f.verdict in SPEAK or f.code == "W-CELL-3"]
    with capsys.disabled():
        print(f"\n| in order, {truth} | 7 months | {said or 'nothing said'} |")
    assert said == []
