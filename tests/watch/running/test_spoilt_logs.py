"""Logs as bad loggers leave them, by import, and what Watch says then: nothing false of round trip and charge.

Banks and what is done to their logs: tests/support/lived_banks.py, spoilt_logs.py (invented).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bankwright.forms.finding import Finding
from bankwright.logbook.telemetry.store import open_telemetry
from bankwright.watch.charge import section as charge
from bankwright.watch.charge.daily import daily, present
from bankwright.watch.charge.estimator import Estimator
from bankwright.watch.charge.facts import facts_of
from bankwright.watch.running import efficiency
from bankwright.watch.section import Asked
from support.lived_banks import START, Cells, Life, bank, imported, live
from support.spoilt_logs import SPOILS, spoilt

SPEAK = ("caution", "fail")


def told(tmp_path: Path, life: Life, texts: dict[int, str]) -> tuple[list[Finding], Estimator]:
    """Round trip and charge after an import, and the estimator at the end."""
    made, end = bank(life.current.shape[1]), float(life.time[-1])
    facts, _ = facts_of(made)
    assert facts is not None
    with open_telemetry(tmp_path / "bench.toml") as telemetry:
        imported(telemetry, tmp_path, life, texts)
        daily(facts, telemetry, end + 7200)
        asked = Asked(made, telemetry, START, end, end)
        found = [*efficiency.section(asked).findings, *charge.section(asked).findings]
        return found, present(facts, telemetry, end).estimator


def spoken(found: list[Finding]) -> list[tuple[str, str]]:
    return [(f.code, f.text.text("metric") if f.text else "") for f in found if f.verdict in SPEAK]


def test_a_log_of_garbage_of_cells_without_a_gap_accuses_no_round_trip(tmp_path: Path) -> None:
    """Only resistance takes from it: 1.5 % less is lost than a gap that turns right over would make."""
    life = live(Cells.made(2, 21), 5, 21, step=120.0, deep_every=2, half_gap=0.0)
    found, _ = told(tmp_path, life, spoilt(life, 21))
    assert {f.code for f in found} >= {"W-ROUND-1", "W-CHARGE-1"}
    assert not [each for each in spoken(found) if each[0] == "W-ROUND-1"], spoken(found)


def test_a_clock_that_jumps_and_a_current_that_drifts_leave_the_charge_near_the_truth(tmp_path: Path) -> None:
    life = live(Cells.made(2, 7), 4, 7, step=120.0, deep_every=2)
    life.current[:, 1] = np.round(life.current[:, 1] + 0.08 * (life.time - START) / 86400, 1)
    found, estimator = told(tmp_path, life, spoilt(life, 7, ("jumps",)))
    truth = float(np.interp(estimator.end, life.time, life.soc.mean(axis=1)))
    bank_ = estimator.bank()
    assert bank_.soc is not None
    assert bank_.low <= truth <= bank_.high
    assert spoken(found) == []


@pytest.mark.soak
def test_a_clock_that_jumps_over_several_seeds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A clock that jumps by hours in the logs of two modules, a dozen banks: how often the charge lies in its band."""
    inside, hours, ends = 0, 0, 0
    for seed in (7, *range(20, 32)):
        folder = tmp_path / str(seed)
        folder.mkdir()
        life = live(Cells.made(2, seed), 4, seed, step=120.0, deep_every=2)
        life.current[:, 1] = np.round(life.current[:, 1] + 0.08 * (life.time - START) / 86400, 1)
        facts, _ = facts_of(bank(2))
        assert facts is not None
        with open_telemetry(folder / "bench.toml") as telemetry:
            imported(telemetry, folder, life, spoilt(life, seed, ("jumps",)))
            track = present(facts, telemetry, float(life.time[-1])).track
        truth = np.interp(track[:, 0], life.time, life.soc.mean(axis=1))
        held = (track[:, 2] <= truth) & (truth <= track[:, 3])
        inside, hours, ends = inside + int(held.sum()), hours + len(held), ends + int(held[-1])
    with capsys.disabled():
        print(f"\n| a clock that jumps | hours in their band {inside} of {hours} | at the end {ends} of 13 |")
    assert inside >= 0.85 * hours
    assert ends >= 10


@pytest.mark.soak
@pytest.mark.parametrize("half_gap", [0.0, 0.012, 0.020])
def test_garbage_over_several_seeds(tmp_path: Path, half_gap: float, capsys: pytest.CaptureFixture[str]) -> None:
    """Garbage logs of five days, six banks for each of three gaps: no word of the round trip; charge in its band."""
    said, inside = [], 0
    for seed in range(300, 306):
        folder = tmp_path / str(seed)
        folder.mkdir()
        life = live(Cells.made(2 + seed % 2, seed), 5, seed, step=120.0, deep_every=2, half_gap=half_gap)
        found, estimator = told(folder, life, spoilt(life, seed, tuple(SPOILS)))
        said += [each for each in spoken(found) if each[0] == "W-ROUND-1"]
        truth = float(np.interp(estimator.end, life.time, life.soc.mean(axis=1)))
        inside += estimator.bank().low <= truth <= estimator.bank().high
    with capsys.disabled():
        print(
            f"\n| garbage, gap {half_gap * 1000:.0f} mV | {said or 'nothing said'} | charge in its band {inside} of 6 |"
        )
    assert not said  # the band is counted and not held: a clock that jumps misleads it (docs/charge.md)
