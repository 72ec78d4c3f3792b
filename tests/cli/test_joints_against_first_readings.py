"""A drop that is judged with --drop is held against the first reading of its joint in the logbook."""

import json
from pathlib import Path

import pytest

from bankwright.cli.main import main
from bankwright.job import open_bank
from bankwright.job.joints import joints_checked
from bankwright.job.logs import open_logbook

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"
JOINT, CABLE = "L1+@M1+", "L1+"


@pytest.fixture
def bank(tmp_path):
    path = tmp_path / "barn.toml"
    path.write_text(BARN.read_text("utf-8"), "utf-8")
    return path


def cli(capsys, *args):
    with pytest.raises(SystemExit) as end:
        main([str(arg) for arg in args])
    return end.value.code, capsys.readouterr().out


def stored(capsys, bank, *readings):
    for at, text in readings:
        assert cli(capsys, "log", "add", bank, at, text)[0] == 0


def grown(bank, drop, current=80.0):
    (check,) = joints_checked(open_bank(bank), {JOINT: drop}, current)
    return check.against_first


def test_without_a_first_reading_nothing_is_said_of_growth(bank):
    assert grown(bank, 1.6e-3) is None


def test_the_first_resistance_is_the_baseline_and_not_a_later_one(capsys, bank):
    stored(capsys, bank, (JOINT, "16 uohm"), (JOINT, "19 uohm"))
    assert grown(bank, 80 * 24e-6) == pytest.approx(24 / 16, rel=1e-9)


def test_a_drop_with_the_current_of_its_cable_is_a_baseline_too(capsys, bank):
    stored(capsys, bank, (JOINT, "1.28 mV"), (CABLE, "80 A"))
    assert grown(bank, 80 * 24e-6) == pytest.approx(24 / 16, rel=1e-6)


def test_a_drop_whose_current_nobody_stored_is_none(capsys, bank):
    stored(capsys, bank, (JOINT, "1.28 mV"))
    assert grown(bank, 80 * 24e-6) is None


def test_a_reading_that_was_struck_is_no_baseline(capsys, bank):
    stored(capsys, bank, (JOINT, "8 uohm"), (JOINT, "16 uohm"))
    with open_logbook(bank, open_bank(bank).bank) as book:
        first = min(book.entries(), key=lambda entry: entry.seq)
        book.strike(first.seq, "wrong joint")
    assert grown(bank, 80 * 24e-6) == pytest.approx(24 / 16, rel=1e-9)


@pytest.mark.parametrize(("micro", "told"), [(19.19, False), (19.21, True)])
def test_a_fifth_more_than_its_first_reading_is_a_caution(capsys, bank, micro, told):
    stored(capsys, bank, (JOINT, "16 uohm"))
    code, out = cli(capsys, "build", bank, "--drop", f"{JOINT}={micro * 80 / 1000:.6g} mV", "--current", "80 A")
    assert code == 0
    assert ("A joint is as it was" in out) is told
    assert ("Build 6.7" in out) is told


def test_the_check_is_explained(capsys, bank):
    code, out = cli(capsys, "build", bank, "--explain", "BLD-JOINT-GROWN", "--json")
    assert code == 0
    assert json.loads(out)["place"] == "Build 6.7"


def test_a_baseline_begins_anew_at_a_module_that_was_replaced(capsys, bank):
    assert cli(capsys, "log", "add", bank, JOINT, "8 uohm", "--when", "2026-01-05 10:00")[0] == 0
    assert grown(bank, 80 * 24e-6) == pytest.approx(24 / 8, rel=1e-9)
    assert "2 joints" in cli(capsys, "build", bank, "--anew", "M1")[1]
    assert grown(bank, 80 * 24e-6) is None
    stored(capsys, bank, (JOINT, "16 uohm"))
    assert grown(bank, 80 * 24e-6) == pytest.approx(24 / 16, rel=1e-9)
    assert cli(capsys, "build", bank, "--anew", "M77")[0] == 2


def test_upkeep_tells_how_one_is_replaced_and_how_the_bank_is_left(capsys, bank):
    out = " ".join(cli(capsys, "build", bank, "--show", "upkeep")[1].split())
    for words in ("--apart M5", "--receive", "--anew M5", "Joined by Match", "leaving the bank for a season", "half"):
        assert words in out
