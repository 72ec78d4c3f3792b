"""The report of Watch: whether anybody listens, who is heard, and that one part that breaks costs itself alone."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np
import pytest

from bankwright.bank.read import read_bank
from bankwright.cli.main import main
from bankwright.forms.readings import Columns
from bankwright.logbook.logbook import open_logbook
from bankwright.logbook.telemetry.store import open_telemetry
from bankwright.watch import report
from bankwright.watch.listening import ALIVE, beat, life_of, rest
from bankwright.watch.report import watching
from bankwright.watch.say.done import TASK_DONE
from bankwright.watch.section import Asked, Section
from support.logbank import StepClock

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    made = tmp_path / "barn.toml"
    made.write_text(BARN.read_text("utf-8"), "utf-8")
    return made


def volts(clock: StepClock, *names: str) -> Columns:
    shape = (1, len(names))
    return Columns("voltage", names, np.array([clock.monotonic]), np.full(shape, 52.6), np.zeros(shape, np.uint8))


def verdicts(found: report.Watching) -> dict[str, str]:
    return {f"{f.code} {name}".strip(): f.verdict for f in found.findings for name in (*f.at, *f.more) or ("",)}


def test_nobody_listened_and_nothing_was_heard(file: Path) -> None:
    with open_telemetry(file, write=False) as telemetry:
        found = watching(read_bank(file), telemetry)
    assert not found.listener.runs
    told = {code: verdict for code, verdict in verdicts(found).items() if code.startswith(("W-LISTEN", "W-HEARD"))}
    assert told == {"W-LISTEN-1": "caution"} | {f"W-HEARD-1 M{k}": "unknown" for k in range(1, 6)}


def test_a_module_is_heard_or_silent_by_the_age_of_its_voltage(file: Path) -> None:
    clock = StepClock()
    with open_telemetry(file, clock=clock) as telemetry:
        telemetry.append(volts(clock, "M1", "M2", "M3", "M4", "M5"))
        beat(telemetry, clock.now(), 2.0)
        clock.passes(50.0)
        telemetry.append(volts(clock, "M1", "M2", "M3", "M4"))
        clock.passes(20.0)
        found = watching(read_bank(file), telemetry, clock=clock)
    told = verdicts(found)
    assert told["W-LISTEN-1"] == told["W-HEARD-1 M1"] == "pass"
    assert told["W-HEARD-1 M5"] == "unknown"  # 70 s ago
    (row,) = (row for row in found.sections[0].rows if row.name == "M5")
    assert row.figure is not None
    assert row.figure.value == pytest.approx(70.0, abs=0.1)


def test_a_listener_that_was_killed_stops_to_live_and_a_step_of_the_clock_does_not_kill_it(file: Path) -> None:
    clock = StepClock()
    with open_telemetry(file, clock=clock) as telemetry:
        beat(telemetry, clock.now(), 2.0)
        clock.wall += 86400.0
        assert life_of(telemetry, clock.now()).runs
        clock.passes(ALIVE + 1)
        assert not life_of(telemetry, clock.now()).runs
        beat(telemetry, clock.now(), 2.0)
        rest(telemetry, clock.now(), 2.0)
        assert life_of(telemetry, clock.now()).stopped
        telemetry.put_state("listening", 1, b"{]")
        assert life_of(telemetry, clock.now()).age is None


def test_a_part_that_breaks_costs_itself_alone(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(asked: Asked) -> Section:
        raise ZeroDivisionError("by hand")

    monkeypatch.setattr(report, "SECTIONS", (("broken", broken),))
    with open_telemetry(file, write=False) as telemetry:
        found = watching(read_bank(file), telemetry)
    assert [s.name for s in found.sections] == ["heard", "broken", "due"]
    (crash,) = (f for f in found.findings if f.code == "W-SECTION-1")
    assert "by hand" in crash.crashed


def test_the_command_says_on_top_that_no_listener_runs(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for args, code in ((), 0), (("--strict",), 1), (("--since", "30d"), 0), (("--since", "soon"), 2):
        with pytest.raises(SystemExit) as end:
            main(["watch", str(file), *args])
        assert end.value.code == code, args
        said = capsys.readouterr()
        assert ("NO LISTENER RUNS" in said.out) == (code != 2)


def test_what_is_due_and_the_week_go_to_terminal_page_and_away(
    file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The week is one document by the ways of the messages; what is written down as done is checked before."""
    taken, html = tmp_path / "taken.json", tmp_path / "due.html"
    script = f"import sys; open({str(taken)!r}, 'w').write(sys.stdin.read())"
    text = file.read_text("utf-8")
    file.write_text(f"{text}\n[watch]\ncommand = {[sys.executable, '-c', script]!r}\n".replace("\\'", "'"), "utf-8")
    for args, code in (
        (("--show", "week", "--send"), 0), (("--html", str(html), "--charts", str(tmp_path / "drawn")), 0),
        (("--done", "soon"), 2),
        (("--done", "monthly", "--html", str(file)), 2), (("--done", "monthly"), 0), (("--show", "all"), 2),
    ):  # fmt: skip
        with pytest.raises(SystemExit) as end:
            main(["watch", str(file), *args])
        assert end.value.code == code, (args, capsys.readouterr())
    sent = json.loads(taken.read_text("utf-8"))
    assert sent["what"] == "week"
    assert "Every module was heard in 0 of the 168 hours" in sent["words"]
    assert "Nothing has a day yet" in html.read_text("utf-8")
    with open_logbook(file, write=False) as book:
        done = [entry.body["task"] for entry in book.entries(kind="event") if entry.body["code"] == TASK_DONE]
    assert done == ["monthly"], "a command that is refused writes nothing"
