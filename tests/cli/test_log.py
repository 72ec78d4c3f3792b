"""`bankwright log`: what a person types is stored once and shown again; what is wrong is named and not stored."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from bankwright.cli.main import main
from bankwright.logbook.logbook import open_logbook
from support.banks import bank_text, only

pytestmark = pytest.mark.quick

BANK = bank_text(
    2,
    only("cells", "capacity", "discharge.continuous", posts={"pairs": 1, "stud": "M8", "torque": "10 N m"}),
    head={"title": "Orchard workshop", "units": "metric"},
    inverter={"power": "5 kW"},
    box="box",
    wiring={
        "pattern": "chain",
        "feed": "opposite ends",
        "link": {"cable": "4/0 AWG", "length": "320 mm"},
        "main": {"cable": "4/0 AWG", "length": "1.5 m"},
    },
    more={
        "instruments": [
            {
                "name": "clamp",
                "quantity": "voltage",
                "accuracy": "0.5 % + 2 digits",
                "resolution": "0.1 V",
                "range": "0 V to 60 V",
            }
        ]
    },
)

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    (tmp_path / "orchard.toml").write_text(BANK)
    monkeypatch.chdir(tmp_path)

    def go(*args: str) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as ended:
            main(["log", *args])
        out, err = capsys.readouterr()
        assert all(len(line) <= 80 for line in out.splitlines() if args[0] != "export")
        return int(ended.value.code or 0), out, err

    return go


def _count(tmp_path: Path) -> int:
    with open_logbook(tmp_path / "orchard.toml", write=False) as book:
        return len(list(book.entries()))


def test_a_reading_is_added_as_one_would_say_it_and_shown_by_time_place_and_step(run: Run) -> None:
    assert run("orchard.toml") == (0, "orchard.logbook: nothing was entered yet\n", "")
    code, out, _ = run("add", "orchard.toml", "M1", "52.6 V", "--meter", "clamp", "--who", "Kim", "--step", "match.M1")
    assert (code, out) == (0, "Stored as 2: M1  voltage 52.6 V (52.14 V to 53.06 V), clamp; Kim.\n")
    run("add", "orchard.toml", "L1+@M1+", "10 N m", "--who", "Kim", "--note", "marked with a pen")
    code, out, _ = run("orchard.toml")
    assert code == 0
    assert re.search(r"^ +2  \d\d:\d\d\S? +M1  voltage 52\.6 V \(52\.14 V to 53\.06 V\), clamp; Kim$", out, re.M)
    assert 'torque 10 N m; "marked with a pen"; Kim' in " ".join(out.split())
    assert "-- L1+@M1+ ---" in run("orchard.toml", "--by", "place")[1]
    assert "-- match.M1 ---" in run("orchard.toml", "--by", "step")[1]
    assert "1 of 3 entries" in run("orchard.toml", "--at", "M1")[1]
    assert "1 of 3 entries" in run("orchard.toml", "--last", "1")[1]
    assert "2 of 3 entries" in run("orchard.toml", "--kind", "readings")[1]


@pytest.mark.parametrize("step", ["build.read.M1", "apart.main", "prove.A1", "match.M2"])
def test_an_entry_belongs_to_a_step_of_any_sheet(run: Run, step: str) -> None:
    assert run("add", "orchard.toml", "M1", "52.6 V", "--meter", "clamp", "--step", step)[0] == 0


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("M1", "526 V"), "with 16 cells in series"),
        (("M1", "52.6"), "a unit is missing"),
        (("M7", "52.6 V"), 'M7 is no place in this bank. Did you mean "M'),
        (("M1", "52.6 V", "--meter", "clmp"), 'Did you mean "clamp"?'),
        (("M1", "52.6 A", "--meter", "clamp"), "clamp reads voltage, not current"),
        (("M1", "52.6 V", "--corrects", "9"), "there is no entry 9"),
        (("M1", "52.6 V", "--when", "noon"), 'found "noon"'),
        (("M1", "52.6 V", "--when", "2999-01-01 10:00"), "ahead of now"),
        (("M1", "52.6 V", "--accuracy", "0.5 %"), "no instrument is named"),
        (("M1", "52.6 V", "--quantity", "volts"), "'volts' is no quantity"),
        (("M1", "--photo", "none.jpg"), "cannot be read"),
        (("M1",), "nothing was said"),
        (("M1", "52.6 V", "--step", "build.read.M9"), 'there is no step "build.read.M9". Did you mean "build.'),
        (("--note", "wet floor", "--step", "tomorrow"), 'there is no step "tomorrow"'),
        (("--strike", "1", "--note", "why"), "there is no entry 1"),
    ],
)
def test_wrong_input_is_named_with_exit_code_2_and_nothing_is_stored(
    run: Run, tmp_path: Path, args: tuple[str, ...], said: str
) -> None:
    code, out, err = run("add", "orchard.toml", *args)
    assert code == 2
    assert said in " ".join(err.split())
    assert "Nothing was stored." in err
    assert out == ""
    assert _count(tmp_path) == 0


def test_a_bank_file_with_faults_takes_no_entry_but_its_logbook_can_be_read(run: Run, tmp_path: Path) -> None:
    run("add", "orchard.toml", "M1", "52.6 V")
    (tmp_path / "orchard.toml").write_text(BANK.replace('name = "M2"', 'name = "M1"'))
    code, _, err = run("add", "orchard.toml", "M1", "52.5 V")
    assert code == 2
    assert "orchard.toml" in err
    assert "52.6 V" in run("orchard.toml")[1]
    assert _count(tmp_path) == 1


def test_a_missing_bank_file_is_named(run: Run) -> None:
    for words in (
        ("none.toml",),
        ("add", "none.toml", "M1", "52.6 V"),
        ("export", "none.toml"),
        ("check", "none.toml"),
    ):
        code, _, err = run(*words)
        assert code == 2
        assert "there is no such bank file" in err


def test_a_correction_and_a_struck_entry_stay_visible(run: Run) -> None:
    run("add", "orchard.toml", "M1", "56.2 V")
    run("add", "orchard.toml", "M1", "52.6 V", "--corrects", "1")
    run("add", "orchard.toml", "--strike", "2", "--note", "wrong module")
    out = " ".join(run("orchard.toml")[1].split())
    assert re.search(r"56\.2 V; \S+; corrected by 2", out)
    assert re.search(r"52\.6 V; \S+; struck out by 3", out)
    assert run("orchard.toml", "--standing", "--kind", "readings")[1].startswith("orchard.logbook: 0 of 3")


def test_a_value_below_zero_is_kept_and_pointed_at(run: Run, tmp_path: Path) -> None:
    code, out, _ = run("add", "orchard.toml", "M1", "-52.6 V")
    assert code == 0
    assert "leads were swapped" in out
    with open_logbook(tmp_path / "orchard.toml", write=False) as book:
        assert book.latest_readings("voltage")["M1"].value == -52.6


def test_the_same_id_is_stored_once(run: Run, tmp_path: Path) -> None:
    for _ in range(2):
        assert run("add", "orchard.toml", "M1", "52.6 V", "--id", "phone-7")[0] == 0
    assert "Stored before as 1" in run("add", "orchard.toml", "M1", "52.6 V", "--id", "phone-7")[1]
    assert _count(tmp_path) == 1


def test_a_meter_is_written_down_with_its_accuracy_and_known_from_then_on(run: Run) -> None:
    words = ("--meter", "pocket", "--accuracy", "1 % + 3 digits", "--range", "0 V to 60 V")
    assert "(51.77 V to 53.43 V)" in run("add", "orchard.toml", "M1", "52.6 V", *words)[1]
    assert "(51.77 V to 53.43 V)" in run("add", "orchard.toml", "M2", "52.6 V", "--meter", "pocket")[1]


def test_export_gives_csv_and_json_of_every_entry(run: Run, tmp_path: Path) -> None:
    run("add", "orchard.toml", "M1", "56.2 V", "--note", 'said "again", twice')
    run("add", "orchard.toml", "M1", "52.6 V", "--corrects", "1", "--meter", "clamp")
    rows = list(csv.DictReader(io.StringIO(run("export", "orchard.toml")[1])))
    assert [(row["number"], row["value"], row["unit"], row["corrected_by"]) for row in rows if row["value"]] == [
        ("1", "56.2", "V", "3"),
        ("3", "52.6", "V", ""),
    ]
    assert rows[0]["note"] == 'said "again", twice'
    code, out, _ = run("export", "orchard.toml", "--format", "json", "--out", "log.json", "--kind", "reading")
    assert (code, out) == (0, "Written: log.json\n")
    body = json.loads((tmp_path / "log.json").read_text())
    assert body["format"] == "bankwright.logbook/1"
    assert [(e["number"], e["corrects"]) for e in body["entries"]] == [(1, None), (3, 1)]
    assert run("export", "orchard.toml", "--out", "nowhere/log.csv")[0] == 2


def test_check_names_damage_with_exit_code_1_and_saves_into_a_new_file(run: Run, tmp_path: Path) -> None:
    for value in range(60):
        with open_logbook(tmp_path / "orchard.toml") as book:
            book.note(f"entry {value}")
    assert run("check", "orchard.toml")[:2] == (0, "orchard.logbook: 60 entries, all whole, in both copies.\n")
    path = tmp_path / "orchard.logbook"
    spoilt = bytearray(path.read_bytes())
    at = spoilt.index(b"entry 7")
    spoilt[at : at + 7] = b"entry X"
    path.write_bytes(spoilt)
    code, out, _ = run("check", "orchard.toml", "--salvage", "saved.logbook")
    assert code == 1
    assert "Entries 8." in out
    assert "Saved 60 entries into saved.logbook." in out
    assert path.read_bytes() == bytes(spoilt)
    code, _, err = run("check", "orchard.toml", "--salvage", "saved.logbook")
    assert code == 2
    assert "exists already" in err


def test_backup_makes_one_new_file_and_overwrites_nothing(run: Run, tmp_path: Path) -> None:
    assert run("backup", "orchard.toml", "copy.logbook")[0] == 2
    run("add", "orchard.toml", "M1", "52.6 V")
    code, out, _ = run("backup", "orchard.toml", "copy.logbook")
    assert code == 0
    assert "Copied 1 entries" in out
    assert run("backup", "orchard.toml", "copy.logbook")[0] == 2
    assert (tmp_path / "copy.logbook").exists()


def test_another_programs_file_is_named_and_not_touched(run: Run, tmp_path: Path) -> None:
    (tmp_path / "orchard.logbook").write_bytes(b"something else entirely" * 10)
    for words in (("orchard.toml",), ("add", "orchard.toml", "M1", "52.6 V"), ("check", "orchard.toml")):
        code, _, err = run(*words)
        assert code == 2
        assert "not a logbook" in err
    assert (tmp_path / "orchard.logbook").read_bytes() == b"something else entirely" * 10


def test_times_are_marked_when_the_clock_was_not_known_and_jumps_stand_between(run: Run, tmp_path: Path) -> None:
    from support.logbank import StepClock

    clock = StepClock(known=False)
    clock.wall = -3600.0
    with open_logbook(tmp_path / "orchard.toml", clock=clock) as book:
        book.note("one")
        clock.passes(60)
        clock.wall, clock.known = 0.0, True
        book.note("two")
        clock.boot, clock.known = "boot-b", False
        book.note("three")
    out = run("orchard.toml")[1]
    assert "08:59~" in out  # 60 s before 09:00 by the machine's own clock
    assert "the clock jumped forward by 59 min" in " ".join(out.split())
    assert "09:00?" in out
    assert "? the clock was not known to be right" in out


def _with_telemetry(directory: Path) -> None:
    from bankwright.logbook.telemetry.store import open_telemetry
    from support.logbank import StepClock
    from support.telemetry_rows import poll

    clock = StepClock()
    with open_telemetry(directory / "orchard.toml", clock=clock) as store:
        for _ in range(5):
            clock.passes(1)
            store.append(*poll(clock.monotonic))


def test_telemetry_is_checked_saved_copied_and_written_out(run: Run, tmp_path: Path) -> None:
    _with_telemetry(tmp_path)
    assert "10 rows of telemetry can be read whole" in " ".join(run("check", "orchard.toml")[1].split())
    out = run("check", "orchard.toml", "--salvage", "saved.logbook")[1]
    assert "Saved 10 rows of telemetry" in " ".join(out.split())
    assert "all telemetry" in " ".join(run("backup", "orchard.toml", "copy.logbook")[1].split())
    lines = run("export", "orchard.toml", "--telemetry")[1].splitlines()
    assert len(lines) == 11
    assert lines[0].startswith("thing,time,wall_clock,clock_known,boot,own_clock,")
    code, out, _ = run("export", "orchard.toml", "--telemetry", "--out", "all.csv", "--since", "2026-03-01T08:00:03Z")
    assert (code, out) == (0, "Written: 6 rows in all.csv\n")
    assert (tmp_path / "all.csv").read_text().splitlines()[0] == lines[0]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--telemetry", "--format", "json"), "csv, or as parquet"),
        (("--telemetry", "--format", "parquet"), "into --out FOLDER"),
        (("--telemetry", "--kind", "notes"), "Kinds are of entries"),
        (("--telemetry", "--since", "yesterday"), "found 'yesterday'"),
        (("--telemetry", "--since", "2026-03-02", "--until", "2026-03-01"), "is not after"),
        (("--telemetry", "--out", "orchard.toml"), "reads"),
        (("--telemetry", "--out", "orchard.logbook"), "logbook"),
        (("--since", "2026-03-01"), "are for telemetry"),
        (("--format", "parquet"), "are for telemetry"),
    ],
)
def test_a_wrong_export_of_telemetry_is_named_and_writes_nothing(
    run: Run, tmp_path: Path, words: tuple[str, ...], said: str
) -> None:
    _with_telemetry(tmp_path)
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir() if path.is_file()}
    code, _, err = run("export", "orchard.toml", *words)
    assert code == 2
    assert said in " ".join(err.split())
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir() if path.is_file()} == before
