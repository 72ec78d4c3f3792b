"""From the logbook to the report: a bank in order passes, planted faults are told by their code, each at its place.

Days and sensors: tests/support/charged_banks.py; temperatures and faults are invented here.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from bankwright.bank.read import read_bank
from bankwright.forms.finding import Finding
from bankwright.forms.readings import Columns
from bankwright.logbook.telemetry.store import Telemetry, open_telemetry
from bankwright.watch.charge.daily import daily
from bankwright.watch.charge.facts import facts_of
from bankwright.watch.running import draw, efficiency, outside, temperature, trips
from bankwright.watch.section import Asked, Section
from support.charged_banks import month

BARN = Path(__file__).parents[3] / "demo" / "barn.toml"
START = datetime(2026, 3, 2, tzinfo=UTC).timestamp()
NAMES = tuple(f"M{k}" for k in range(1, 6))
SECTIONS = (temperature, draw, efficiency, outside, trips)
DAYS = 3


@dataclass
class House:
    """Readings of five modules before they are stored."""

    time: np.ndarray
    current: np.ndarray
    volts: np.ndarray
    degc: dict[str, np.ndarray]

    @property
    def day(self) -> np.ndarray:
        return (self.time - START) / 86400


def house() -> House:
    """Three days read every 5 min; three sensors a module, in a room that goes from 16 to 24 degC."""
    true, luck = month("18650", 5, DAYS, 51), np.random.default_rng(5)
    seldom = slice(None, None, 5)
    time, current = START + true.time[seldom], true.current[seldom].copy()
    room = 20 + 4 * np.sin(2 * np.pi * ((time - START) / 86400 - 0.4))
    heat = np.zeros(current.shape)
    for k in range(1, len(heat)):  # 100 Ah: 16 mohm, 46 kJ/K, 1 W/K
        heat[k] = heat[k - 1] + 300 / 46e3 * (current[k] ** 2 * 16e-3 - heat[k - 1])
    degc = {"bank.room": room}
    for m, name in enumerate(NAMES):
        for sensor, off in (("t1", 0.3), ("t2", -0.2), ("t3", 0.0)):
            degc[f"{name}.{sensor}"] = room + heat[:, m] + off + luck.normal(0, 0.1, len(time))
    return House(time, current, true.volts[seldom].copy(), degc)


def store(telemetry: Telemetry, made: House) -> None:
    columns = {("current", NAMES): made.current, ("voltage", NAMES): made.volts}
    columns |= {("temperature_degc", tuple(made.degc)): np.round(np.stack(list(made.degc.values()), axis=1), 1)}
    for (name, at), table in columns.items():
        told = Columns(name, at, made.time, table, np.zeros(table.shape, np.uint8))
        telemetry.append_dated(told, source="bench")


def sections(tmp_path: Path, made: House, keep: bool = True) -> dict[str, Section]:
    file = tmp_path / "barn.toml"
    file.write_text(BARN.read_text("utf-8"), "utf-8")
    bank = read_bank(file)
    facts, _ = facts_of(bank)
    assert facts is not None
    end = START + DAYS * 86400
    with open_telemetry(file) as telemetry:
        store(telemetry, made)
        if keep:
            daily(facts, telemetry, end + 7200)
        found = [each.section(Asked(bank, telemetry, START, end, end)) for each in SECTIONS]
    return {section.name: section for section in found}


def told(found: dict[str, Section]) -> list[Finding]:
    return [finding for section in found.values() for finding in section.findings]


def cautions(found: dict[str, Section]) -> set[tuple[str, str]]:
    return {(f.code, f.at[0]) for f in told(found) if f.verdict in ("caution", "fail")}


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Section]:
    return sections(tmp_path_factory.mktemp("sound"), house())


def test_a_bank_in_order_is_not_accused_and_every_figure_has_its_band(sound: dict[str, Section]) -> None:
    assert cautions(sound) == set()
    verdicts = {f.code: f.verdict for f in told(sound)}
    assert verdicts["W-WARM-1"] == verdicts["W-WARM-3"] == verdicts["W-LIMIT-1"] == "pass"
    assert verdicts["W-TRIP-1"] == verdicts["W-TRIP-2"] == verdicts["W-TRIP-3"] == verdicts["W-ROUND-1"] == "pass"
    for finding in told(sound):
        if finding.code in ("W-ROUND-1", "W-TRIP-3", "W-WARM-3", "W-STAND-1"):
            assert finding.figure is not None
            assert finding.figure.low is not None


def test_the_rows_say_warmth_and_what_store_costs(sound: dict[str, Section]) -> None:
    first = sound["temperature"].rows[0].words.text("metric")
    assert "at 30 °C or more" in first
    assert "above the room at rest" in first
    assert "of the capacity" in first


def test_planted_faults_are_told_each_at_its_place(tmp_path: Path) -> None:
    made = house()
    day = made.day
    made.degc["M2.t1"][:] = 19.3  # stands still
    made.degc["M3.t2"][::200] = 127.5  # a mark for no value
    for sensor in ("t1", "t2", "t3"):
        made.degc[f"M4.{sensor}"] -= 8.0  # against a cold wall
    made.degc["M5.t3"] += 5.0  # lies off its neighbours
    peak = float(day[np.argmax(made.current.mean(axis=1))])
    gone, before = (day > peak) & (day < peak + 0.01), (day > peak - 0.005) & (day <= peak)
    made.current[before, 2], made.current[before, 0] = 138.0, 90.0
    made.current[gone, 2] = 0.0
    made.current[(day > 1.5) & (day < 1.52), 1] = -75.0  # over continuous, 60 A
    cold = (day > 1.45) & (day < 1.5)
    made.degc["M1.t1"][cold] = -3.0  # one sensor of three
    found = sections(tmp_path, made, keep=False)
    accused = cautions(found)
    assert {("W-WARM-1", "M2"), ("W-WARM-1", "M3"), ("W-WARM-1", "M5"), ("W-WARM-3", "M4")} <= accused
    assert {("W-TRIP-1", "M3"), ("W-TRIP-2", "M3"), ("W-LIMIT-1", "M2"), ("W-LIMIT-1", "M1")} <= accused
    assert not {at for _, at in accused} - {"M1", "M2", "M3", "M4", "M5", "bank"}
    words = {(f.code, f.at[0]): f.text.text("metric") for f in told(found) if f.text and f.verdict == "caution"}
    assert "near its trip" in words["W-TRIP-1", "M3"]
    assert "one of its sensors alone" in words["W-LIMIT-1", "M1"]


def test_a_logbook_without_any_reading_names_what_would_tell(tmp_path: Path) -> None:
    file = tmp_path / "barn.toml"
    file.write_text(BARN.read_text("utf-8"), "utf-8")
    with open_telemetry(file) as telemetry:
        found = [each.section(Asked(read_bank(file), telemetry, START, START, START)) for each in SECTIONS]
    for section in found:
        assert all(f.verdict == "unknown" for f in section.findings), section
        assert all(f.missing for f in section.findings), section
    assert {f.code for section in found for f in section.findings} >= {"W-WARM-1", "W-STAND-1", "W-ROUND-1", "W-TRIP-2"}
