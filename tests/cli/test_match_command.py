"""`bankwright match`: two answers within 80 columns, JSON, faults all at once, readings kept in the logbook."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from bankwright.bank.read import read_bank
from bankwright.cli.main import main
from bankwright.logbook.logbook import open_logbook

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"
VOLTS = ("M1=52.61V", "M2=52.58V", "M3=52.90V", "M4=52.62V", "M5=52.55V")
BESIDE = ("--meter", "0.5 % + 2 digits", "--rested", "6h", "--temperature", "15degC")
READINGS = tuple(part for volts in VOLTS for part in ("--reading", volts))
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def bank(tmp_path: Path) -> Path:
    file = tmp_path / "barn.toml"
    file.write_text(BARN.read_text(encoding="utf-8"), encoding="utf-8")
    return file


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def called(*args: object) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as ended:
            main([str(arg) for arg in args])
        out, err = capsys.readouterr()
        return int(ended.value.code or 0), out, err

    return called


@pytest.mark.slow
def test_two_answers_within_the_width_and_kept_in_the_logbook(run: Run, bank: Path) -> None:
    code, out, _ = run("match", bank, *READINGS, *BESIDE)
    assert code == 0
    assert [line for line in out.splitlines() if len(line) > 80] == []
    assert "1  May they be joined?        . pass" in out
    assert "2  Are they equally charged?  ? unknown" in out
    assert out.index("May they be joined") < out.index("plan A")
    with open_logbook(bank, read_bank(bank), write=False) as book:
        record = book.latest_result("match record")
        assert record is not None
        assert record.payload["may_join"] == "pass"
        assert len(book.readings(quantity="voltage")) == 5


@pytest.mark.slow
def test_from_the_logbook_the_same_answer(run: Run, bank: Path) -> None:
    run("match", bank, *READINGS, *BESIDE)
    code, out, _ = run("match", bank, "--from-log", "--rested", "6h", "--temperature", "15degC", "--no-log", "--json")
    body = json.loads(out)
    assert code == 0
    assert body["may_join"] == "pass"
    assert len(body["readings"]) == 5
    assert body["order"][-1] == "M3"


@pytest.mark.slow
def test_json_holds_both_verdicts_apart(run: Run, bank: Path) -> None:
    code, out, _ = run("match", bank, *READINGS, *BESIDE, "--no-log", "--json", "--strict")
    body = json.loads(out)
    assert code == 1
    assert body["format"] == "bankwright.match/2"
    assert (body["may_join"], body["equally_charged"]) == ("pass", "unknown")
    assert body["largest_difference"]["unit"] == "V"
    assert {finding["code"] for finding in body["joining"]} >= {"M-JOIN-1", "M-MOST-1"}
    assert {finding["code"] for finding in body["charge"]} >= {"M-CHARGE-1"}
    assert len(body["ranges"]) == 5
    assert "NaN" not in out
    assert not (bank.parent / "barn.log").exists()


@pytest.mark.slow
def test_a_file_of_readings(run: Run, bank: Path, tmp_path: Path) -> None:
    table = "module,voltage,rested,temperature,last\n" + "".join(
        f"{volts.replace('=', ',')},6 h,15 degC,discharged\n" for volts in VOLTS
    )
    (tmp_path / "r.csv").write_text(table, encoding="utf-8")
    code, out, _ = run("match", bank, "--readings", tmp_path / "r.csv", "--no-log", "--json")
    assert code == 0
    assert json.loads(out)["may_join"] == "pass"


def test_all_faults_come_together_and_nothing_is_kept(run: Run, bank: Path) -> None:
    wrong = ("--reading", "M1=13.2V", "--reading", "M2=52.6mV", "--reading", "M9=52V", "--reading", "M3=52,6V")
    code, _, err = run("match", bank, *wrong)
    assert code == 2
    for words in ("4 cells", "If 52.6 V was meant", "M9 is no module", "a comma is no decimal point"):
        assert words in " ".join(err.split())
    assert "4 faults" in err
    with open_logbook(bank, read_bank(bank), write=False) as book:
        assert book.readings() == ()


def test_a_reversed_module_stops(run: Run, bank: Path) -> None:
    code, out, _ = run("match", bank, "--reading", "M1=-52.6V", *READINGS[2:], *BESIDE, "--no-log")
    assert code == 1
    assert "Match 1.1" in out
    assert "plan A" not in out


def test_no_reading_is_a_wrong_question(run: Run, bank: Path) -> None:
    code, _, err = run("match", bank)
    assert code == 2
    assert "--reading M1=52.6V" in err


@pytest.mark.slow
def test_the_chart_of_what_flows(run: Run, bank: Path, tmp_path: Path) -> None:
    target = tmp_path / "s.svg"
    code, _, _ = run("match", bank, *READINGS, *BESIDE, "--no-log", "--settle", target)
    assert code == 0
    text = target.read_text(encoding="utf-8")
    assert text.startswith("<svg")
    assert "M3 gives" in text
    assert "limit, takes" in text
    volts = (tmp_path / "s-volts.svg").read_text(encoding="utf-8")
    assert "M3 52." in volts


def test_one_of_three_takes_less(run: Run, bank: Path) -> None:
    currents = ("--charging", "M1=20A", "--charging", "M2=21A", "--charging", "M3=12A")
    code, out, _ = run("match", bank, *currents, "--no-log")
    assert code == 1  # no voltage was read: whether they may be joined cannot be told
    assert "? unknown" in out
    assert "Match 5.5" in out
    assert "May they be joined" not in out


@pytest.mark.slow
def test_a_bad_cell_is_said_when_it_is_written_down_and_stops_the_match(run: Run, bank: Path) -> None:
    for text, words in (("3.9 V", "above its end of charge"), ("0.0 V", "below its cut-off"), ("-0.2 V", "below zero")):
        assert words in " ".join(run("log", "add", bank, "M1.c3", text)[1].split())
    assert "Match will stop it" not in run("log", "add", bank, "M1.c4", "3.31 V")[1]
    code, out, _ = run("match", bank, *READINGS, *BESIDE, "--no-log")
    assert code == 1
    assert "No cell lies where none may rest" in out
