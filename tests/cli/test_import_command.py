"""`import` as it is typed: it shows and writes nothing, asks, stores, goes on, and says what is wrong."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from bankwright.cli import bring
from bankwright.cli.main import group, main
from bankwright.logbook.telemetry.store import open_telemetry

DEMO = Path(__file__).parents[2] / "demo" / "barn.toml"


@pytest.fixture
def barn(tmp_path: Path) -> Path:
    return Path(shutil.copy(DEMO, tmp_path / "barn.toml"))


@pytest.fixture
def log(tmp_path: Path) -> Path:
    rows = [f"14/03/2026 10:{k:02d};52,{60 - k};{-5 if k % 20 < 10 else 20},5" for k in range(40)]
    path = tmp_path / "old.csv"
    path.write_text("Datum;Spannung [V];Strom [A]\n" + "\n".join(rows) + "\n", "utf-8")
    return path


def run(*args: object, typed: str = "") -> Result:
    return CliRunner().invoke(group, ["import", *map(str, args)], input=typed)


def rows_in(barn: Path, at: str = "M2") -> int:
    with open_telemetry(barn, write=False) as store:
        return len(store.read("voltage", [at], 0.0, 4e9).time)


TOLD = ("--module", "M2", "--zone", "UTC", "--positive", "charging")


def test_it_shows_everything_and_writes_nothing(barn: Path, log: Path) -> None:
    done = run(barn, log)
    assert done.exit_code == 0
    for words in (
        *("semicolon", "day first", "comma", "14/03/2026", "40 kept of 40", "line 2: 14/03/2026 10:00;52,60;-5,5"),
        *("Settle it with --zone", "Settle it with --module M1", "Nothing was written"),
    ):
        assert words in done.output
    assert not barn.with_suffix(".logbook").exists()


def test_what_is_open_keeps_it_from_being_stored(barn: Path, log: Path) -> None:
    done = run(barn, log, "--module", "M2", "--positive", "charging", "--store")
    assert done.exit_code == 2
    assert "--zone" in done.output
    assert not barn.with_suffix(".logbook").exists()


def test_it_stores_once(barn: Path, log: Path) -> None:
    done = run(barn, log, *TOLD, "--store")
    assert done.exit_code == 0, done.output
    assert "Stored: 40 rows in barn.logbook" in done.output
    assert rows_in(barn) == 40
    assert "Nothing new: every row of this file is stored already." in run(barn, log, *TOLD).output
    done = run(barn, log, *TOLD, "--store")
    assert "Nothing new" in done.output
    assert rows_in(barn) == 40
    with open_telemetry(barn, write=False) as store:
        amps = store.read("current", ["M2"], 0.0, 4e9).value[:, 0]
        assert any(boot.id.startswith("file:old.csv#") for boot in store.boots())
    assert amps[0] == pytest.approx(5.5)  # charging was positive; inside, what leaves the module is
    assert amps[15] == pytest.approx(-20.5)


def test_a_sample_row_shows_its_own_module(barn: Path, tmp_path: Path) -> None:
    rows = [f"2026-03-14T10:{k:02d}:00Z,{n},{52 + n / 10}" for k in range(5) for n in (1, 2)]
    path = tmp_path / "rows.csv"
    path.write_text("time,Address,Voltage [V]\n" + "\n".join(rows) + "\n", "utf-8")
    document = json.loads(run(barn, path, "--json").stdout)
    shown = [[(one["at"], one["value"]) for one in row["values"]] for row in document["samples"]]
    assert shown == [[("M1", 52.1)], [("M2", 52.2)], [("M1", 52.1)]]


@pytest.mark.parametrize(("typed", "stored"), [("y\n", 40), ("n\n", 0), ("\n", 0)])
def test_a_person_at_a_terminal_is_asked(
    typed: str, stored: int, barn: Path, log: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bring, "_at_a_terminal", lambda: True)
    done = run(barn, log, *TOLD, typed=typed)
    assert done.exit_code == 0
    assert "Store these rows in barn.logbook?" in done.output
    assert (rows_in(barn) if stored else barn.with_suffix(".logbook").exists()) == stored


def test_a_mapping_is_kept_and_used(barn: Path, log: Path, tmp_path: Path) -> None:
    kept = tmp_path / "meter.toml"
    assert run(barn, log, *TOLD, "--keep-map", kept).exit_code == 0
    done = run(barn, log, "--map", kept, "--json")
    assert done.exit_code == 0
    document = json.loads(done.stdout)
    assert document["ready"]
    assert [one["at"] for one in document["columns"]] == ["M2", "M2"]
    kept.write_text(kept.read_text("utf-8").replace("M2", "M77"), "utf-8")
    done = run(barn, log, "--map", kept)
    assert "'M77', which this bank has not" in str(done.exception)


WRONG = {
    ("--zone", "Mars/Base"): "there is no zone",
    ("--module", "M9"): "no module of this bank",
    ("--decimal", "dot"): "point or comma",
    ("--dates", "backwards"): "day-first",
    ("--delimiter", "x"): "semicolon",
    ("--encoding", "klingon"): "utf-8",
    ("--unit", "Strom [A]=parsec"): "is no unit",
    ("--unit", "Stron=A"): 'Did you mean "Strom',
    ("--take", "Strom [A]=flux at M1"): "is no quantity",
    ("--take", "Strom [A]=current at M9"): "is no place",
    ("--take", "nothing"): "HEADING",
    ("--start", "soon", "--take", "Datum=nothing"): "no column holds a time",
    ("--header", "999"): "line 999",
}


@pytest.mark.parametrize("options", WRONG, ids=" ".join)
def test_a_wrong_option_says_what_would_be_right(options: tuple[str, ...], barn: Path, log: Path) -> None:
    done = run(barn, log, *options)
    assert done.exit_code != 0
    assert WRONG[options] in f"{done.output} {done.exception}"


def test_files_in_the_wrong_order_are_told(barn: Path, log: Path) -> None:
    assert "The bank file comes first" in run(log, barn).output


def test_a_fault_ends_with_two_and_as_json_where_json_was_asked(
    barn: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pdf = tmp_path / "manual.pdf"
    pdf.write_bytes(b"%PDF-1.7 \x00\x01")
    with pytest.raises(SystemExit) as end:
        main(["import", str(barn), str(pdf), "--json"])
    assert end.value.code == 2
    shown = capsys.readouterr()
    assert json.loads(shown.out)["faults"][0]["code"] == "wrong-kind"
    assert "PDF" in shown.err
