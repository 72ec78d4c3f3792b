"""`bankwright prove`: plans, readings, what is kept, exit codes."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from bankwright.cli.main import main
from bankwright.logbook.logbook import open_logbook

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"
ZERO = [part for k in range(1, 6) for part in ("--zero", f"M{k}=0.{k % 2}A")]
LOAD = ["--load", "200A", "--age", "40s"]
AMPS = [part for k, amps in enumerate((40.6, 40.6, 37.9, 40.5, 40.5), 1) for part in ("--current", f"M{k}={amps}A")]


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str]):  # type: ignore[no-untyped-def]
    bank = tmp_path / "barn.toml"
    bank.write_text(BARN.read_text("utf-8"), "utf-8")

    def go(*args: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as end:
            main([str(bank) if arg == "BANK" else arg for arg in args])
        out = capsys.readouterr()
        return int(end.value.code or 0), out.out, out.err

    go.bank = bank  # type: ignore[attr-defined]
    return go


def test_the_plan_of_shares_prints_what_is_due_before_anything_is_read(run) -> None:  # type: ignore[no-untyped-def]
    code, out, _ = run("prove", "shares", "BANK", "--load", "200A")
    assert code == 0
    assert "M1       40.1 A (31.5 A to 49.5 A)" in out
    assert out.index("ampere socket") < out.index("at 200 A")  # cautions stand before the act
    assert "Zero first" in out
    assert all(len(line) <= 80 for line in out.splitlines())
    three = run("prove", "shares", "BANK", "--load", "200A", "--age", "3s")[1]
    assert "at 200 A, 3.00 s after the step" in three
    assert "M1       40.1 A" not in three  # a module's resistance is another one then
    away = run("prove", "shares", "BANK", "--load", "80A", "--off", "M2")[1]
    assert "\nM1 " in away
    assert "\nM2 " not in away  # it carries nothing: nothing is due of it
    drops = [run("prove", "millivolts", "BANK", "--load", "200A", "--age", age)[1] for age in ("3s", "40s")]
    assert drops[0] != drops[1]


def test_the_plan_of_millivolts_names_tips_figures_and_what_the_meter_cannot(run) -> None:  # type: ignore[no-untyped-def]
    code, out, _ = run("prove", "millivolts", "BANK", "--load", "200A")
    words = " ".join(out.split())
    assert code == 0
    assert "L1+: 14.5 mV" in words
    assert "one on M1+ itself (not the nut, not the bolt head), one on the palm of the lug" in words
    assert "[settles nothing with this meter and current]" in words
    assert "its data sheet is not known" in words
    finer = run("prove", "millivolts", "BANK", "--load", "200A", "--step", "0.01mV", "--millivolts", "0.5 % + 5 digits")
    assert "settles nothing" not in finer[1]


def test_a_share_test_is_judged_and_kept_with_the_ages(run) -> None:  # type: ignore[no-untyped-def]
    code, out, _ = run("prove", "shares", "BANK", *ZERO, *LOAD, *AMPS, "--who", "Ada")
    assert code == 0
    assert "Readings and verdicts kept in the logbook as 1." in out
    assert "13.70 mV if M3" in " ".join(out.split())
    with open_logbook(run.bank, write=False) as book:
        kept = book.latest_result("share test")
    assert kept is not None
    assert [each["age"] for each in kept.payload["rounds"][1]["currents"]] == [40.0] * 5


def test_no_zero_is_unknown_and_strict_tells_it(run) -> None:  # type: ignore[no-untyped-def]
    code, out, _ = run("prove", "shares", "BANK", *LOAD, *AMPS, "--no-log")
    assert code == 0
    assert "Open all loads" in " ".join(out.split())
    assert run("prove", "shares", "BANK", *LOAD, *AMPS, "--no-log", "--strict")[0] == 1


def test_millivolts_find_the_joint_and_send_to_the_sheet_of_taking_apart(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    drops = ["--drop", "L3+=51.7mV", "--drop", "L3+@M3+=38.7mV", "--drop", "L2+=14.7mV"]
    zeros = [part for at in ("L3+", "L3+@M3+", "L2+") for part in ("--zero-drop", f"{at}=0.0mV")]
    code, out, _ = run("prove", "millivolts", "BANK", *ZERO, *LOAD, *AMPS, *drops, *zeros)
    words = " ".join(out.split())
    assert code == 1  # the terminal would pass its rating
    assert "Prove 2.5" in out
    assert "L3+@M3+ has 1.02 mΩ, 1.00 mΩ more than its file says" in words
    assert "bankwright build FILE --apart L3+@M3+" in words
    assert "not read yet" in out
    file = tmp_path / "r.csv"
    file.write_text("at,load,clamp,millivolts,zero\nL3+,200 A,,51.7 mV,0 mV\nM3,200 A,37.9 A,,\n", "utf-8")
    code, out, _ = run("prove", "millivolts", "BANK", "--readings", str(file), "--json", "--no-log")
    body = json.loads(out)
    assert body["format"] == "bankwright.prove-millivolts/2"
    assert {"L3+", "L3+@M3+", "L3+@bar+4"} == {body["suspect"]["name"], *body["suspect"]["alike"]}
    assert body["next_reading"]["look"]["at"][0].startswith("L3+@")
    assert set(body["next_reading"]["shown"]) == {"L3+", "L3+@M3+", "L3+@bar+4"}
    assert body["readings"][0]["ohms"] == pytest.approx(51.7e-3 / 37.9, rel=0.05)


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (("shares", "BANK"), "no current was given"),
        (("shares", "BANK", "--current", "M1=40A"), "this row has no load"),
        (("shares", "BANK", "--zero", "M9=0A"), "M9 is not a module or a link"),
        (("millivolts", "BANK"), "no load was given"),
        (("millivolts", "BANK", "--load", "200A", "--drop", "L33=1mV"), 'Did you mean "L3'),
        (("millivolts", "BANK", "--load", "200A", "--off", "M9"), "M9 is not in this bank"),
        (("shares", "BANK", "--load", "lots"), "--load"),
        (("millivolts", "BANK", "--load", "0A"), "other than 0 A"),
    ],
)
def test_wrong_questions_end_with_two_and_keep_nothing(run, args: tuple[str, ...], words: str) -> None:  # type: ignore[no-untyped-def]
    code, _, err = run("prove", *args)
    assert code == 2
    assert words in " ".join(err.split())
    assert not list(run.bank.parent.glob("*.logbook"))


def test_the_group_says_what_there_is(run) -> None:  # type: ignore[no-untyped-def]
    _, out, _ = run("prove", "--help")
    assert "shares" in out
    assert "millivolts" in out
