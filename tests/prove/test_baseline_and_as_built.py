"""From readings to the baseline, and from there to the file as built: sealed once, begun anew for one module, taken
or left by a person."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from bankwright.cli.main import main
from bankwright.forms.faults import QuestionError
from bankwright.job import Job, open_bank
from bankwright.job.baseline import as_built, baseline_of, gathered, proposals, put_in, seal_baseline
from bankwright.job.powering import keep_readings, powering
from bankwright.logbook.baseline import WHAT, Measured, seal
from bankwright.logbook.logbook import open_logbook

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"
Run = Callable[..., tuple[int, str, str]]
AMPS = (40.6, 40.6, 37.9, 40.5, 40.5)


@pytest.fixture
def bank(tmp_path: Path) -> Path:
    path = tmp_path / "barn.toml"
    path.write_text(BARN.read_text("utf-8"), "utf-8")
    return path


@pytest.fixture
def run(bank: Path, capsys: pytest.CaptureFixture[str]) -> Run:
    def go(*args: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as end:
            main([args[0], *((args[1],) if args[0] == "prove" and args[1] in SUB else ()), str(bank),
                  *args[2 if args[0] == "prove" and args[1] in SUB else 1 :]])  # fmt: skip
        out = capsys.readouterr()
        return int(end.value.code or 0), out.out, out.err

    return go


SUB = ("shares", "millivolts", "capacity", "baseline")


def proved(run: Run) -> None:
    """Shares with volts and temperatures, millivolts of links, capacity: all into the logbook."""
    zero = [part for k in range(1, 6) for part in ("--zero", f"M{k}=0.0A")]
    amps = [part for k, value in enumerate(AMPS, 1) for part in ("--current", f"M{k}={value}A")]
    warm = [part for k in range(1, 6) for part in ("--temperature", f"M{k}=21degC")]
    same = ("--load", "200A", "--age", "40s", "--zeroed", "--who", "Kim")
    run("prove", "shares", *zero, *amps, *warm, *same)
    drops = {"L1+": 14.6, "L3+": 51.7, "L3+@M3+": 38.7, "F1": 54.0}
    read = [part for at, mv in drops.items() for part in ("--drop", f"{at}={mv}mV", "--zero-drop", f"{at}=0.0mV")]
    run("prove", "millivolts", *read, *amps, "--room", "20degC", *same)
    own = [part for k in range(1, 6) for part in ("--module", f"M{k}={99 if k != 4 else 92}Ah")]
    back = [part for k in range(1, 6) for part in ("--module-back", f"M{k}={99.2 if k != 4 else 92.2}Ah")]
    ways = ("--out", "488Ah", "--out-time", "4.9h", "--back", "489Ah", "--back-time", "5h")
    run("prove", "capacity", *ways, *own, *back,
        "--temperature", "22degC", "--who", "Kim")  # fmt: skip


def test_nothing_was_proved_yet(run: Run, bank: Path) -> None:
    code, out, _ = run("prove", "baseline")
    assert code == 0
    assert "No baseline was sealed yet" in out
    assert "capacity of the bank" in out
    code, _, err = run("prove", "--as-built")
    assert code == 2
    assert "--seal" in err
    assert not (bank.parent / "barn.logbook").exists()


def test_what_was_measured_is_sealed_with_its_temperature_and_age(run: Run, bank: Path) -> None:
    proved(run)
    _, out, _ = run("prove", "baseline")
    assert "are not in it" in out
    code, out, _ = run("prove", "baseline", "--seal", "--who", "Kim")
    assert code == 0
    assert "Sealed now" in out
    assert all(len(line) <= 80 for line in out.splitlines())
    job = open_bank(bank)
    with open_logbook(bank, job.bank, write=False) as book:
        found = baseline_of(book, job.bank)
    assert found is not None
    link = found.value("resistance", "L3+")
    assert link is not None
    assert (link.source, link.degc, link.age, link.who) == ("millivolt test", 20.0, 40.0, "Kim")
    assert link.value == pytest.approx(51.7e-3 / 37.9, rel=0.01)
    assert link.current == pytest.approx(37.9, abs=0.2)
    third = found.value("share", "M3")
    assert third is not None
    assert (third.value, third.degc, third.age) == (pytest.approx(37.9 * 5 / sum(AMPS)), 21.0, 40.0)
    assert found.of("capacity").keys() == {"bank", "M1", "M2", "M3", "M4", "M5"}
    assert found.of("capacity")["M4"].value == pytest.approx(92.0, abs=0.6)
    assert found.of("capacity")["M4"].degc == 22.0
    assert {each.what for each in found.values} <= set(WHAT)
    assert any(words.startswith("insulation") for words in found.open)


def test_a_second_seal_keeps_the_first_values_and_a_new_module_begins_anew(run: Run, bank: Path) -> None:
    proved(run)
    run("prove", "baseline", "--seal")
    before = json.loads(run("prove", "baseline", "--json")[1])
    proved(run)  # measured again: nothing is replaced
    _, out, _ = run("prove", "baseline", "--seal")
    assert "Sealed now: 0" in out
    _, out, _ = run("prove", "baseline", "--anew", "M3")
    assert "Begun anew" in out
    assert "are not in it" not in out  # what was read before does not come back
    after = json.loads(run("prove", "baseline", "--json")[1])
    gone = {(v["what"], v["at"]) for v in before["values"]} - {(v["what"], v["at"]) for v in after["values"]}
    assert {at for _, at in gone} == {"M3", "L3+", "L3+@M3+"}
    kept = {(v["what"], v["at"]): v for v in after["values"]}
    for each in before["values"]:
        if (each["what"], each["at"]) not in gone:
            assert kept[each["what"], each["at"]] == each
    proved(run)
    _, out, _ = run("prove", "baseline", "--seal")
    assert f"Sealed now: {len(gone)} values" in out


def test_readings_of_the_sheet_are_in_it(bank: Path) -> None:
    job = open_bank(bank)
    with open_logbook(bank, job.bank) as book:
        book.hand_over("match record", {"may_join": "pass", "order": [f"M{k}" for k in range(1, 6)]})
        book.tick("build.earth", "earthed")

        def step(name: str, *texts: str) -> None:
            now = next(each for each in powering(job, book).steps if each.step.id == name)
            keep_readings(book, job.bank, now, texts, who="Ira")

        step("B1", "M1=53.21 V")
        step("B3", "bar+1 to frame=0.571 V", "bar-1 to frame=-1.284 V", "bar+1=53.2 V")
        step("C1", "S1=3.0 s", "S1=1.20 V")
        step("E1", "bar+1=51.2 V")
        step("E2", "main+=200 A", "bar+1=50.61 V", "main+=153 mV", "M1=40.1 A", "M1=23 degC")
        step("D1", "I1.L-N=120.3 V")
        found = {(each.what, each.at): each for each in gathered(book, job.bank).values}
    assert found["insulation", "bar+1"].value == pytest.approx(276.8e6, rel=1e-3)
    assert found["sag", "bar+1"].value == pytest.approx(0.59)
    assert found["sag", "bar+1"].current == 200.0
    assert found["precharge time", "S1"].value == 3.0
    assert (found["current", "M1"].value, found["current", "M1"].degc, found["current", "M1"].age) == (40.1, 23.0, 30.0)
    assert found["drop", "main+"].value == pytest.approx(0.153)
    assert found["island voltage", "I1.L-N"].value == 120.3
    assert found["rest voltage", "M1"].who == "Ira"


def test_as_built_proposes_and_a_person_takes_or_leaves(run: Run, bank: Path) -> None:
    proved(run)
    run("prove", "baseline", "--seal")
    text = bank.read_text("utf-8")
    code, out, _ = run("prove", "--as-built")
    assert code == 0
    assert bank.read_text("utf-8") == text  # nothing is written by itself
    assert "modules[3].capacity" in out
    assert "would be" in out
    assert all(len(line) <= 80 for line in out.splitlines())
    code, out, _ = run("prove", "--as-built", "--put-in", "M4")
    assert code == 0
    after = open_bank(bank).bank
    assert after.module("M4").capacity_ah == pytest.approx(92.0, abs=0.6)
    assert after.module("M3").capacity_ah is None  # left
    assert (bank.parent / "barn.toml.previous").read_text("utf-8") == text
    code, _, err = run("prove", "--as-built", "--put-in", "M9")
    assert code == 2
    assert "M9" in err


def test_a_link_as_built_is_its_cable_alone_at_20_degrees(bank: Path) -> None:
    job = open_bank(bank)
    with open_logbook(bank, job.bank) as book:
        number = book.note("read", at="L3+").seq
        values = [
            Measured("resistance", "L3+", 500e-6, 490e-6, 510e-6, 20.0, entry=number),
            Measured("resistance", "L3+@M3+", 30e-6, entry=number, degc=20.0),
            Measured("resistance", "L3+@bar+4", 25e-6, entry=number, degc=20.0),
            Measured("resistance", "L2+", 20e-6, entry=number, degc=20.0),
            Measured("resistance", "F1", 0.31e-3, 0.30e-3, 0.32e-3, 20.0, entry=number),
            Measured("resistance", "M2", 14.7e-3, 14.5e-3, 14.9e-3, 25.0, age=30.0, entry=number),
        ]
        seal(book, job.bank, values)
        made = {each.at: each for each in proposals(job, book)}
    fuse = sum(d.kind.resistance.nominal for d in job.bank.devices_on("L3+") if d.kind.resistance)
    assert made["L3+"].after.startswith(f"{1e6 * (500e-6 - 55e-6 - fuse):.1f} uohm")
    assert not made["L2+"].edit  # its joints alone are more than that
    assert made["F1"].after.startswith("0.310 mohm")
    assert made["M2"].after.startswith("1.050")  # 14.7 against 14 mohm at 30 s and 25 degC
    taken = put_in(job, made.values(), ["L3+", "F1", "M2"])
    assert len(taken) == 3
    after = open_bank(bank).bank
    measured = after.link("L3+").resistance
    assert measured is not None
    assert measured.nominal == pytest.approx(500e-6 - 55e-6 - fuse, abs=1e-7)
    assert after.link("L2+").resistance is None
    factor = after.module("M2").resistance_factor
    assert factor is not None
    assert factor.nominal == pytest.approx(1.05)
    fuse_kind = next(d.kind for d in after.devices if d.name == "F1")
    assert fuse_kind.resistance is not None
    assert fuse_kind.resistance.nominal == pytest.approx(0.31e-3)


def test_a_file_that_changed_meanwhile_is_not_written_over(bank: Path) -> None:
    job = open_bank(bank)
    with open_logbook(bank, job.bank) as book:
        number = book.note("read", at="M1").seq
        seal(book, job.bank, [Measured("capacity", "M1", 97.0, entry=number)])
        made = proposals(job, book)
    bank.write_text(bank.read_text("utf-8") + "\n# from elsewhere\n", "utf-8")
    with pytest.raises(QuestionError):
        put_in(job, made, ["all"])
    assert bank.read_text("utf-8").endswith("# from elsewhere\n")


def test_modules_by_count_have_no_entry_of_their_own(tmp_path: Path) -> None:
    path = tmp_path / "four.toml"
    path.write_text(
        'format = 1\n[kinds.module.K]\ncells = 16\ncapacity = "100 Ah"\n'
        '[[modules]]\nname = "M1"\nkind = "K"\ncount = 4\n'
        '[wiring]\npattern = "chain"\nfeed = "opposite ends"\n', "utf-8",
    )  # fmt: skip
    job: Job = open_bank(path)
    with open_logbook(path, job.bank) as book:
        number = book.note("read", at="M1").seq
        seal(book, job.bank, [Measured("capacity", "M2", 97.0, entry=number)])
        found = baseline_of(book, job.bank)
        assert found is not None
        (made,) = as_built(job.bank, job.document, found)
        assert not made.edit
        assert "by count" in made.words
        with pytest.raises(QuestionError):
            put_in(job, (made,), ["M2"])
        assert seal_baseline(book, job.bank) == ()
