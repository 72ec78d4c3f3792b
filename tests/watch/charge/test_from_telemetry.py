"""From the logbook to the report: days kept and made anew, garbage, gaps, modules that are off, what cannot be told."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from bankwright.bank.read import read_bank
from bankwright.forms.readings import Columns
from bankwright.logbook.telemetry.store import Telemetry, open_telemetry
from bankwright.watch.charge.daily import DAY, daily, present
from bankwright.watch.charge.facts import Facts, facts_of
from bankwright.watch.charge.kept import packed, unpacked
from bankwright.watch.charge.section import section
from bankwright.watch.section import Asked
from support.charged_banks import Month, month

BARN = Path(__file__).parents[3] / "demo" / "barn.toml"
NAMES = tuple(f"M{k}" for k in range(1, 6))
START = datetime(2026, 3, 2, tzinfo=UTC).timestamp()
END = START + 2 * DAY + 7200


@pytest.fixture(scope="module")
def true() -> Month:
    return month("18650", 5, 2, 51)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    made = tmp_path / "barn.toml"
    made.write_text(BARN.read_text("utf-8"), "utf-8")
    return made


def facts(file: Path) -> Facts:
    found, missing = facts_of(read_bank(file))
    assert found is not None, missing
    return found


def store(telemetry: Telemetry, true: Month, current: np.ndarray | None = None, which: slice = slice(None)) -> None:
    """Put a month's readings into a logbook, as if they came out of a file."""
    time = START + true.time[which]
    for name, table in (("current", true.current if current is None else current), ("voltage", true.volts)):
        good = np.zeros(table[which].shape, np.uint8)
        telemetry.append_dated(Columns(name, NAMES, time, table[which], good), source=f"bench {which.start}")


def test_a_day_costs_a_day_and_made_anew_is_the_same(file: Path, true: Month) -> None:
    known = facts(file)
    with open_telemetry(file) as telemetry:
        store(telemetry, true)
        assert daily(known, telemetry, END, most=1) == 1
        assert daily(known, telemetry, END) == 1  # the other day
        assert daily(known, telemetry, END) == 0
        state = telemetry.state("charge")
        assert state is not None
        estimator = present(known, telemetry, END).estimator
        telemetry.put_state("charge", 0, b"")  # lost: both days are made anew, in one go
        assert daily(known, telemetry, END) == 2
        again = telemetry.state("charge")
        assert again is not None
        assert again.blob == state.blob
    bank = estimator.bank()
    assert bank.low <= true.soc[-1].mean() <= bank.high


def test_a_state_of_other_modules_or_a_damaged_one_is_refused(file: Path, true: Month) -> None:
    known = facts(file)
    with open_telemetry(file) as telemetry:
        store(telemetry, true, which=slice(0, 200))
        found = present(known, telemetry, END)
    blob = packed(found.estimator)
    back, _ = unpacked(blob, known)
    assert packed(back) == blob
    with pytest.raises(ValueError, match="not a state"):
        unpacked(blob[:-3] + b"abc", known)
    fewer = Facts(
        known.names[:4], *(getattr(known, n) for n in ("capacity_ah", "cells", "resistances", "metal", "curves"))
    )
    with pytest.raises(ValueError, match="other modules"):
        unpacked(blob, fewer)


def asked(file: Path, telemetry: Telemetry) -> Asked:
    return Asked(read_bank(file), telemetry, START, END, END)


def test_a_start_on_the_flat_is_unknown_and_names_what_would_settle_it(file: Path, true: Month) -> None:
    with open_telemetry(file) as telemetry:
        store(telemetry, true, which=slice(0, 60))
        found = section(asked(file, telemetry))
    told = {finding.code: finding for finding in found.findings if finding.at == ("bank",)}
    assert told["W-CHARGE-1"].verdict == "unknown"
    assert "3.45" in told["W-CHARGE-1"].missing[0].how
    (row,) = (row for row in found.rows if row.name == "bank")
    assert row.figure is None


def test_garbage_and_readings_out_of_order_change_nothing_much(file: Path, true: Month) -> None:
    known, spoilt = facts(file), true.current.copy()
    luck = np.random.default_rng(3)
    where = luck.integers(0, len(spoilt), 30), luck.integers(0, 5, 30)
    spoilt[where] = luck.choice([6553.5, -3276.8, np.nan], 30)
    with open_telemetry(file) as telemetry:
        store(telemetry, true, spoilt)
        found = present(known, telemetry, END).estimator
    bank = found.bank()
    assert bank.low <= true.soc[-1].mean() <= bank.high
    assert all(one.soc is None or abs(one.soc - z) < 0.10 for one, z in zip(found.modules(), true.soc[-1], strict=True))


def test_a_module_that_gives_nothing_is_left_out_and_named(file: Path, true: Month) -> None:
    known, alone = facts(file), true.current.copy()
    late = true.time > 1.5 * DAY
    alone[late, 3] = 0.0
    with open_telemetry(file) as telemetry:
        store(telemetry, true, alone)
        found = section(asked(file, telemetry))
        estimator = present(known, telemetry, END).estimator
    off = [one.name for one in estimator.modules() if one.why == "off"]
    assert off == ["M4"]
    assert "M4" in found.notes[-1].text("metric")
    assert not any(finding.at == ("M4",) for finding in found.findings)


def test_after_hours_without_a_reading_the_band_opens(file: Path, true: Month) -> None:
    known = facts(file)
    with open_telemetry(file) as telemetry:
        store(telemetry, true, which=slice(0, 720))
        before = present(known, telemetry, START + DAY).estimator
        store(telemetry, true, which=slice(1300, 1312))
        after = present(known, telemetry, END).estimator.bank()
    assert after.half > before.bank().half
    assert after.low <= true.soc[1311].mean() <= after.high
    before.common.lose(1.0, 0.0, 0.05)
    hour = before.bank().half
    before.common.lose(10.0, 0.0, 0.5)
    assert before.bank().half > max(hour, 0.4)
    assert before.bank().soc is None


def test_without_a_capacity_the_key_is_named(file: Path) -> None:
    text = file.read_text("utf-8")
    lines = [line for line in text.splitlines() if not line.strip().startswith(("capacity", "energy"))]
    file.write_text("\n".join(lines), "utf-8")
    with open_telemetry(file) as telemetry:
        found = section(asked(file, telemetry))
    (finding,) = found.findings
    assert finding.verdict == "unknown"
    assert finding.missing[0].key.endswith(".capacity")


def test_without_any_reading_it_says_so(file: Path) -> None:
    with open_telemetry(file) as telemetry:
        found = section(asked(file, telemetry))
    assert [finding.verdict for finding in found.findings] == ["unknown"]
    assert not found.rows


def test_hotter_or_colder_than_the_table_and_nonsense_still_give_a_resistance(file: Path) -> None:
    found = facts(file).factor(np.array([-40.0, -25.0, 25.0, 45.0, 60.0, 6553.5, -127.0, np.nan]))
    assert np.isfinite(found).all()
    assert found[4] == found[3] < 1.0 < found[1]
    assert found[2] == found[5] == found[6] == found[7] == pytest.approx(1.0)
