"""The trend of the capacity from kept anchors: told with "gain or capacity", or named as waiting; gaps are no pairs."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from bankwright.bank.read import read_bank
from bankwright.logbook.telemetry.store import open_telemetry
from bankwright.watch.cells.ageing import pairs_of, section
from bankwright.watch.charge.estimator import Anchor, Estimator
from bankwright.watch.charge.facts import Facts, facts_of
from bankwright.watch.charge.kept import FORM, packed
from bankwright.watch.section import Asked, Section

BARN = Path(__file__).parents[3] / "demo" / "barn.toml"
START = datetime(2026, 3, 2, tzinfo=UTC).timestamp()
WEEK = 7 * 86400.0


@pytest.fixture
def file(tmp_path: Path) -> Path:
    made = tmp_path / "barn.toml"
    made.write_text(BARN.read_text("utf-8"), "utf-8")
    return made


def known(file: Path) -> Facts:
    found, _ = facts_of(read_bank(file))
    assert found is not None
    return found


def anchors(weeks: int, falls: float = 0.0, offset: float = 0.2, seed: int = 1) -> tuple[Anchor, ...]:
    """Full and, ten hours later, empty, every week; the third module falls by so much a year."""
    luck = np.random.default_rng(seed)
    made, counted, hours = [], np.zeros(5), 0.0
    for week in range(weeks):
        capacity = 100 * np.ones(5)
        capacity[2] *= 1 - falls * week * WEEK / (365.25 * 86400)
        time = START + week * WEEK
        made.append(Anchor(time, True, tuple(counted), hours, (offset,) * 5))
        counted = counted + capacity * (0.95 + luck.normal(0, 0.018)) + offset * 10
        hours += 10
        made.append(Anchor(time + 36000, False, tuple(counted), hours, (offset,) * 5))
        counted = counted - 95 + offset * 12
        hours += 158
    return tuple(made)


def told(file: Path, found: tuple[Anchor, ...]) -> Section:
    estimator = Estimator.begin(known(file))
    estimator.anchors = found
    estimator.common.step(0.0, 400.0, None)
    estimator.common.lasting.P[..., 1, 1] = 1e-12  # the offset is known after weeks
    estimator.apart.P[5:10, 5:10] = np.eye(5) * 1e-12
    with open_telemetry(file) as telemetry:
        blob = packed(estimator, {"track": np.empty((0, 9)), "day": np.array([20000.0])})
        telemetry.put_state("charge", FORM, blob)
        return section(Asked(read_bank(file), telemetry, START, START + 1e8, START + 1e8))


def test_a_fall_is_told_as_gain_or_capacity(file: Path) -> None:
    found = told(file, anchors(150, 0.04))
    verdicts = {finding.at[0]: finding.verdict for finding in found.findings}
    assert verdicts == {"M1": "pass", "M2": "pass", "M3": "caution", "M4": "pass", "M5": "pass"}
    (fall,) = (finding for finding in found.findings if finding.verdict == "caution")
    assert fall.text is not None
    assert "gain or capacity" in fall.text.text("metric")
    assert "years" in fall.text.text("metric")
    assert found.rows[0].figure is not None
    assert found.rows[0].figure.value == pytest.approx(100, abs=1.5)


def test_too_few_pairs_are_named_with_what_stands_in(file: Path) -> None:
    found = told(file, anchors(9))
    assert found.findings == ()
    assert "17 times" in found.notes[0].text("metric") or "9 times" in found.notes[0].text("metric")
    with open_telemetry(file) as telemetry:
        nothing = section(Asked(read_bank(file), telemetry, START, START + 1e8, START + 1e8))
    assert nothing.notes


def test_a_pair_over_a_gap_or_over_days_is_none(file: Path) -> None:
    estimator = Estimator.begin(known(file))
    one, other = anchors(1)
    estimator.anchors = (one, other)
    (pair,) = pairs_of(estimator, 0)
    assert pair.counted == pytest.approx(95, abs=6)  # the offset of the sensor is taken off
    estimator.anchors = (one, replace(other, time=other.time + 7200))  # two hours of which nothing was counted
    assert not list(pairs_of(estimator, 0))
    estimator.anchors = (one, replace(other, time=other.time + 50 * 3600, hours=other.hours + 50))
    assert not list(pairs_of(estimator, 0))
