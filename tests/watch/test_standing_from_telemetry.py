"""The sentence by its real path: one module alone on a line, a listener, a logbook in which things are done."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from bankwright.bank.model import Bank
from bankwright.bank.read import bank_from_text
from bankwright.forms.readings import Columns
from bankwright.job.charting import charted
from bankwright.job.watching import tasks_of
from bankwright.logbook.clocks import wall_seconds
from bankwright.logbook.logbook import Logbook
from bankwright.logbook.telemetry.store import Telemetry, open_telemetry
from bankwright.report.charts import charts
from bankwright.watch.listening import beat
from bankwright.watch.report import Watching, watching
from bankwright.watch.say.done import TASK_DONE, done_of
from bankwright.watch.say.pages import due_page, week_page
from bankwright.watch.say.week import SHORT, fact_text, week_words
from support.joints.files import BAR, BARS, MODULE
from support.logbank import StepClock

DAY, HOUR = 86400.0, 3600.0


def lone(limits: bool = True) -> Bank:
    text = 'format = 1\ntitle = "alone"\nrules = "nec-2023"\n' + MODULE.replace("{power}", "2")
    if limits:
        ends = 'lowest = "0 degC", highest = "55 degC" }'
        text = text.replace('cell_trip = "2.5 V" }', f'cell_trip = "2.5 V", {ends}')
        text = text.replace('cell_full = "3.65 V" }', f'cell_full = "3.65 V", {ends}')
    bars = "".join(BAR.format(pole=pole, studs='"main", "M1"') for pole in "+-")
    wiring = BARS.format() + bars + '[[inverters]]\nname = "I1"\nkind = "box"\n'
    return bank_from_text(text + '[[modules]]\nname = "M1"\nkind = "slab-100"\nslot = 1\n' + wiring, Path("alone.toml"))


@dataclass
class Line:
    """A bank that is listened to, with its clock."""

    bank: Bank
    telemetry: Telemetry
    clock: StepClock
    path: Path

    def hears(self, volts: float = 53.0, amps: float = 10.0, still: bool = False) -> None:
        """Six hours until now, and a listener that is alive."""
        now = wall_seconds(self.clock.now())
        time = np.arange(now - 6 * HOUR, now, 60.0)
        current = amps * (np.ones(len(time)) if still else np.sin(time / 5000))[:, None]
        whole = volts - 0.014 * current
        given = {"current": {"M1": current}, "voltage": {"M1": whole}, "temperature_degc": {"M1": 0 * whole + 21.0}}
        given["cell_voltage"] = {f"M1.c{k}": whole / 16 + k * 1e-4 for k in range(1, 17)}
        good = np.zeros((len(time), 1), np.uint8)
        for quantity, places in given.items():
            for at, value in places.items():
                self.telemetry.append_dated(Columns(quantity, (at,), time, value, good), source=f"{at}{now:.0f}")
        beat(self.telemetry, self.clock.now(), 2.0)

    def told(self, book: Logbook | None = None) -> Watching:
        done = {} if book is None else {"done": done_of(self.bank, book)}
        return watching(self.bank, self.telemetry, clock=self.clock, tasks=tasks_of(self.bank), week=True, **done)


@pytest.fixture
def line(tmp_path: Path) -> Iterator[Line]:
    clock = StepClock()
    with open_telemetry(tmp_path / "alone.toml", clock=clock) as telemetry:
        yield Line(lone(), telemetry, clock, tmp_path / "alone.toml")


def test_what_one_module_can_never_tell_is_named_with_its_date(line: Line) -> None:
    line.hears()
    found = line.told()
    assert found.standing.verdict == "well as far as can be heard", found.standing.sentence
    assert found.standing.sentence.startswith("Well as far as can be heard; not to be heard here: ")
    assert "joints (millivolts by August 2026)" in found.standing.sentence
    assert (
        "the state of charge and what the spread of M1 means (a full charge by March 2026)" in found.standing.sentence
    )
    assert "joints cannot be heard here (one module alone): millivolts by August 2026" in found.standing.not_heard
    assert not [f for f in found.findings if f.verdict in ("fail", "caution")]
    sheet = due_page(line.bank, found.standing, found.due)
    shown = charted(SimpleNamespace(bank=line.bank, path=line.path), line.telemetry, found)  # type: ignore[arg-type]
    flat = {one.zone: one for one in shown.spreads}
    assert flat[1].usual == pytest.approx(1.5e-3, abs=2e-4), "16 cells, 0.1 mV from each to the next"
    assert (flat[0].usual, flat[2].usual, flat[0].last) == (None, None, None)
    drawn = {chart.name: chart.drawing.text for chart in charts(found, shown)}
    assert {"charge", "charge-phone", "cells", "cells-phone"} <= drawn.keys()
    assert "joints" not in drawn, "one module alone"
    assert drawn["cells"].count('class="gapbox"') == 2
    assert "150 mV" in drawn["cells"]
    for words in ("To come", "By the listener", "30 August 2026", "millivolts: done on ____", "full voltage"):
        assert words in sheet
    line.clock.passes(3 * HOUR)
    beat(line.telemetry, line.clock.now(), 2.0)
    line.bank = lone(limits=False)
    silent = line.told().standing
    assert silent.missing[0].startswith("M1 was last heard 3.0")
    assert silent.missing[1].startswith("kinds.module.slab-100.charge.highest")
    assert silent.sentence.startswith("Cannot be told: ")


def test_a_capacity_test_of_the_logbook_is_drawn_with_its_band(line: Line, tmp_path: Path) -> None:
    line.hears()
    with Logbook(line.path.with_suffix(".logbook"), line.bank, clock=line.clock) as book:
        for value in (101.0, 97.0):
            told = [{"at": at, "value": value, "low": 0.98 * value, "high": 1.02 * value} for at in ("M1", "bank")]
            book.hand_over("capacity test", {"capacity": [*told, {"at": "M2", "value": None}]})
            line.clock.passes(90 * DAY)
        line.hears()
        found = line.told(book)
    shown = charted(SimpleNamespace(bank=line.bank, path=line.path), line.telemetry, found)  # type: ignore[arg-type]
    assert [(c.module, [t.value for t in c.tests], c.wall) for c in shown.courses] == [
        ("M1", [101.0, 97.0], 0.8 * 101.0), ("bank", [101.0, 97.0], 0.8 * 101.0)]  # fmt: skip
    drawn = {chart.name: chart.drawing.text for chart in charts(found, shown)}
    for name in ("capacity", "capacity-phone"):
        assert drawn[name].count("<title>capacity test</title>") == 4
        assert "Rings:" in drawn[name]
    assert drawn["capacity"].count(">97 ± 1.9 Ah<") == 2, "the latest test of each"


def test_overdue_is_missing_until_it_is_done_in_the_logbook(line: Line, tmp_path: Path) -> None:
    line.hears()
    line.clock.passes(200 * DAY)
    line.hears()
    said = line.told().standing.sentence
    assert said.startswith("Cannot be told: ")
    assert "joints, one module alone: millivolts due since August 2026" in said
    with Logbook(tmp_path / "alone.logbook", line.bank, clock=line.clock) as book:
        for name in ("millivolts", "full charge", "monthly", "quarterly"):
            book.event(TASK_DONE, task=name)
        found = line.told(book)
    assert found.standing.verdict == "well as far as can be heard", found.standing.sentence
    assert "millivolts by March 2027" in found.standing.sentence
    late = {one.id for one in found.due if one.state == "overdue"}
    assert late == {"half-yearly"}, "it asks for voltages at rest too"
    (quarterly,) = (one for one in found.due if (one.id, one.origin) == ("quarterly", "schedule"))
    assert (quarterly.state, quarterly.due) == ("by the listener", None)
    assert "first-days" not in {one.id for one in found.due}, "millivolts were its matter"


def test_cells_at_the_top_and_a_stale_sense_wire(line: Line) -> None:
    """Near full the spread speaks, and a cell that reads nought is said to be none."""
    line.hears(volts=55.2, amps=2.0)
    now = wall_seconds(line.clock.now())
    time = np.arange(now - HOUR, now, 60.0) + 1.0
    nought = Columns("cell_voltage", ("M1.c3",), time, np.zeros((60, 1)), np.zeros((60, 1), np.uint8))
    line.telemetry.append_dated(nought, source="nought")
    found = line.told()
    assert found.standing.to_do
    assert "M1: c3 reads 0.000 V" in found.standing.sentence
    assert found.week is not None
    doubts = [fact_text(fact) for fact in found.week.facts if fact.name == "contradicted"]
    assert doubts == [
        "The sense of cell voltages of M1 is contradicted by others (Watch 4.1): what rests on it is doubtful"
    ]
    shown = charted(SimpleNamespace(bank=line.bank, path=line.path), line.telemetry, found)  # type: ignore[arg-type]
    drawn = {chart.name: chart.drawing.text for chart in charts(found, shown)}
    assert "is contradicted" in drawn["cells"]
    assert "is contradicted" not in drawn["charge"], "it rests on current and voltage"


def test_the_week_in_figures_and_small_enough_to_be_sent(line: Line) -> None:
    """Six hours of 10 A at 52.86 V are 3.17 kWh (E = V I t)."""
    line.hears(still=True)
    week = line.told().week
    assert week is not None
    facts = {fact.name: fact for fact in week.facts}
    assert facts["energy"].figures["out"].value == pytest.approx(52.86 * 10 * 6 / 1000, rel=5e-3)
    assert facts["energy"].figures["back"].value == 0.0
    assert facts["most given"].figures["most"].value == pytest.approx(10.0, abs=0.02)
    assert "most taken" not in facts
    assert 5 <= facts["heard"].figures["hours"].value <= 6
    assert "unknown" in fact_text(facts["joints"]), "one module alone"
    short = week_words(week)
    assert len(short) <= SHORT
    assert "The bank gave 3.17 kWh" in short
    assert "To come, 31 March 2026: Bank voltage, charger and inverter current" in short
    assert "gave 3.17 kWh" in week_page(line.bank, week)
