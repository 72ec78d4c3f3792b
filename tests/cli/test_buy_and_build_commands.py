"""`bankwright buy` and `bankwright build`: within 80 columns, files written, ticks kept, wrong questions named."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path

import pytest

from bankwright.cli.main import main

BANK = Path(__file__).parents[1] / "support" / "banks" / "rack_of_five.toml"
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def bank(tmp_path: Path) -> Path:
    file = tmp_path / "barn.toml"
    file.write_text(BANK.read_text(encoding="utf-8"), encoding="utf-8")
    return file


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def called(*args: object) -> tuple[int, str, str]:
        with pytest.raises(SystemExit) as ended:
            main([str(arg) for arg in args])
        out, err = capsys.readouterr()
        return int(ended.value.code or 0), out, err

    return called


def too_wide(text: str) -> list[str]:
    rows = [line for line in text.splitlines() if not line.startswith("Written: ")]  # a path stays whole
    return [line for line in rows if len(line) > 80]


def test_buy_lists_counts_within_the_width(run: Run, bank: Path) -> None:
    code, out, _ = run("buy", bank)
    assert code == 0
    assert too_wide(out) == []
    assert any("Module slab-100" in line and line.split()[:2] == ["5", "5"] for line in out.splitlines())
    code, out, _ = run("buy", bank, "--why")
    assert too_wide(out) == []
    assert "modules[" in out


def test_buy_writes_csv_page_and_json(run: Run, bank: Path, tmp_path: Path) -> None:
    code, out, _ = run("buy", bank, "--csv", tmp_path / "p.csv", "--html", tmp_path / "p.html", "--json")
    body = json.loads(out)
    assert code == 0
    assert body["format"] == "bankwright.parts/2"
    rows = list(csv.reader((tmp_path / "p.csv").read_text(encoding="utf-8").splitlines()))
    head = next(n for n, row in enumerate(rows) if row[0] == "order")
    assert len(rows) - head == len(body["lines"]) + 1
    assert [row[0] for row in rows[:head]][-1:] == (["[ ] I know"] if body["plan_fails"] else [])
    assert "<script" not in (tmp_path / "p.html").read_text(encoding="utf-8")


def test_buy_takes_off_what_is_there(run: Run, bank: Path, tmp_path: Path) -> None:
    shelf = tmp_path / "shelf.toml"
    shelf.write_text('[have]\n"lug/ring-10/4/0 AWG" = 4\n', encoding="utf-8")
    _, out, _ = run("buy", bank, "--have", shelf, "--json")
    line = next(line for line in json.loads(out)["lines"] if line["item"] == "lug/ring-10/4/0 AWG")
    assert line["order"] == line["need"] + line["spares"] - 4


def test_buy_names_what_is_wrong_with_the_question(run: Run, bank: Path, tmp_path: Path) -> None:
    shelf = tmp_path / "shelf.toml"
    shelf.write_text('[have]\n"lug/ring-10" = 4\n', encoding="utf-8")
    code, _, err = run("buy", bank, "--have", shelf)
    assert code == 2
    assert "lug/ring-10/4/0 AWG" in " ".join(err.split())
    assert run("buy", bank, "--have", tmp_path / "none.toml")[0] == 2
    assert run("buy", bank, "--spares", "ten")[0] == 2
    assert run("buy", bank, "--spares", "5")[0] == 2  # five times the need: the per cent sign is missing
    assert run("buy", tmp_path / "none.toml")[0] == 2


def test_buy_fails_where_a_kit_is_short(run: Run, bank: Path, tmp_path: Path) -> None:
    shelf = tmp_path / "shelf.toml"
    shelf.write_text('[[kit]]\nname = "bag"\nnumber = 5\nholds = { "cage nut/M6" = 3 }\n', encoding="utf-8")
    code, out, _ = run("buy", bank, "--have", shelf)
    assert code == 1
    assert "Buy 1.2" in out


@pytest.mark.parametrize("view", ["list", "all", "lifts", "labels", "upkeep", "emergency"])
def test_build_views_stay_within_the_width(run: Run, bank: Path, view: str) -> None:
    _, out, _ = run("build", bank, "--show", view)
    assert out
    assert too_wide(out) == []


def test_build_goes_on_where_it_stopped(run: Run, bank: Path) -> None:
    assert "1 of" in run("build", bank)[1]
    _, out, _ = run("build", bank, "--tick", "all", "--who", "Kim")
    assert "build.people" in out
    assert any(line.startswith("1 of 43 steps done") for line in out.splitlines())
    _, out, _ = run("build", bank, "--show", "list")
    assert "[x] Place and floor" in out


def test_build_stores_a_reading_of_its_step(run: Run, bank: Path) -> None:
    _, out, err = run("build", bank, "--step", "build.read.M1", "--read", "52.6 V", "--tick", "all")
    assert "[x] read M1" in out
    assert "comes after" in err
    assert "lies outside" not in out
    _, out, err = run("build", bank, "--step", "build.read.M2", "--read", "12.6 V")
    assert "outside what this step expects" in err
    assert "[x] read M2" not in out
    assert "M2: 12.6 V lies outside" in " ".join(out.split())


def test_a_place_that_a_step_reads_twice_is_told_apart_by_the_unit(run: Run, bank: Path) -> None:
    """A pole is read to the frame in volts and in ohms: each is kept as its own and held against its own limits."""
    at = "M1-"
    for text, outside in (("0.2 V", False), ("5 Mohm", False), ("48 V", True), ("900 ohm", True)):
        code, _, err = run("build", bank, "--step", "build.poles", "--read", f"{at}={text}")
        assert code in (0, 1), err
        assert ("outside what this step expects" in err) is outside, text
    code, _, err = run("build", bank, "--step", "build.poles", "--read", f"{at}=5")
    assert code == 2
    assert "Write the unit" in err


def test_build_opens_touched_steps_again(run: Run, bank: Path) -> None:
    run("build", bank, "--step", "build.link.L1+", "--tick", "all")
    bank.write_text(bank.read_text(encoding="utf-8").replace("330 mm", "350 mm"), encoding="utf-8")
    _, out, _ = run("build", bank)
    assert "open again" in out
    assert "was 330 mm, is 350 mm" in " ".join(out.split())


def test_build_names_an_unknown_step_and_box(run: Run, bank: Path) -> None:
    code, _, err = run("build", bank, "--step", "build.link.L1")
    assert code == 2
    assert "build.link.L1+" in err
    assert run("build", bank, "--tick", "nothing")[0] == 2
    assert run("build", bank, "--hand-over")[0] == 2


def test_build_writes_json_and_a_page(run: Run, bank: Path, tmp_path: Path) -> None:
    _, out, _ = run("build", bank, "--json", "--html", tmp_path / "b.html")
    body = json.loads(out)
    assert body["format"] == "bankwright.build/2"
    assert body["sheet"]["steps"][0]["state"] == "open"
    text = (tmp_path / "b.html").read_text(encoding="utf-8")
    assert text.count('class="step"') == len(body["sheet"]["steps"])


def test_looking_makes_no_logbook(run: Run, bank: Path) -> None:
    run("build", bank, "--show", "list")
    assert [path.name for path in bank.parent.iterdir()] == ["barn.toml"]


def test_walking_ticks_and_ends(bank: Path) -> None:
    from click.testing import CliRunner

    from bankwright.cli.build import command

    result = CliRunner().invoke(command, [str(bank), "--go"], input="1\n2\n\nb\nf\n\nq\n")
    assert "Place and floor" in result.output
    assert "[x] Place clear" in result.output
    assert "IN A FAULT OR FIRE" in result.output


def walked(bank: Path, typed: str) -> str:
    from click.testing import CliRunner

    from bankwright.cli.build import command

    result = CliRunner().invoke(command, [str(bank), "--go"], input=typed)
    assert result.exception is None or isinstance(result.exception, SystemExit)
    assert result.exit_code in (0, 1)
    return result.output + (result.stderr if result.stderr_bytes else "")


@pytest.mark.share(3)
@pytest.mark.slow
@pytest.mark.parametrize("typed", ["²", "99", "-1", "0", "b", "M1=", "=", "M1=52.6 V", "52.6", "\x00", "Q", "ALL", "f"])
def test_walking_takes_whatever_is_typed(bank: Path, typed: str) -> None:
    """Walking the sheet takes whatever is typed."""
    assert "build.place" in walked(bank, f"{typed}\n")
    assert "Done when" in walked(bank, f"  {typed} \n\n\nq\n")


def test_walking_ends_with_the_input(bank: Path) -> None:
    assert "Faults" not in walked(bank, "")
    assert "IN A FAULT OR FIRE" in walked(bank, "f\n")


def test_all_boxes_but_the_torque_that_is_not_known(run: Run, bank: Path) -> None:
    text = bank.read_text(encoding="utf-8")
    bank.write_text(text.replace('torque = "10 N m", ', "").replace(', torque = "10 N m"', ""), encoding="utf-8")
    _, out, err = run("build", bank, "--step", "build.link.L1+", "--tick", "all")
    assert "Stays open" in err
    assert "Ask the maker" in err
    assert "[x] Covered" in out
    assert "[ ] M1+" in out or "[ ] M1+b" in out


def test_a_reading_at_a_place_that_the_step_does_not_read_is_refused(run: Run, bank: Path) -> None:
    code, _, err = run("build", bank, "--step", "build.read.M1", "--read", "M2=52.6 V")
    assert code == 2
    assert "This step reads: M1" in err
    assert run("build", bank, "--step", "build.read.M1", "--read", "52.6 A")[0] == 2
    assert run("build", bank, "--step", "build.read.M1", "--read", "52.6 V", "--meter", "nobody's")[0] == 2
    both = ("--read", "52.6 V", "--read", "garbage")
    assert run("build", bank, "--step", "build.read.M1", *both)[0] == 2
    assert "52.6" not in run("log", bank)[1]


@pytest.mark.parametrize("args", [("buy", "--csv"), ("buy", "--html"), ("build", "--html")])
def test_a_page_that_cannot_be_written_is_named(run: Run, bank: Path, tmp_path: Path, args: tuple[str, str]) -> None:
    command, option = args
    code, _, err = run(command, bank, option, tmp_path / "none" / "page.html")
    assert code == 2
    assert "cannot be written" in " ".join(err.split())


def test_names_keep_their_letters(run: Run, bank: Path) -> None:
    _, out, _ = run("build", bank, "--step", "build.link.main+")
    assert "Bolt main+: " in out


def test_nothing_is_stored_once_the_file_changed_under_the_walk(
    run: Run, bank: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from bankwright.cli.hands import walk as build_walk

    written = iter([b"as it was", b"as it was", b"changed", b"changed"])
    monkeypatch.setattr(build_walk, "_written", lambda _: next(written))
    out = walked(bank, "1\n2\nq\n")
    assert "[x] Permit" in out
    assert "[x] Place clear" not in run("build", bank, "--step", "build.place")[1]


def test_a_logbook_of_another_bank_is_named(run: Run, bank: Path) -> None:
    run("build", bank, "--step", "build.module.M5", "--tick", "off")
    text = bank.read_text(encoding="utf-8")
    bank.write_text(text.replace('name = "M5"', 'name = "N5"'), encoding="utf-8")
    assert "ticks of steps that this bank does not have: build.module.M5" in " ".join(run("build", bank)[1].split())


def test_a_step_that_fails_is_not_ticked_in_silence(run: Run, bank: Path) -> None:
    text = bank.read_text(encoding="utf-8")
    bank.write_text(text.replace('floor_load = "5 kPa"', 'floor_load = "1 kPa"'), encoding="utf-8")
    code, _, err = run("build", bank, "--tick", "all")
    assert code == 1
    assert "Build 1.1 fails at build.place" in err


def test_the_end_of_the_sheet_names_what_still_fails(bank: Path) -> None:
    from bankwright.cli.show.sheet import done_words
    from bankwright.job import open_bank

    text = bank.read_text(encoding="utf-8")
    bank.write_text(text.replace('floor_load = "5 kPa"', 'floor_load = "1 kPa"'), encoding="utf-8")
    assert "Build 1.1 at R1" in done_words(open_bank(bank).sheet)
    bank.write_text(text.replace('floor_load = "5 kPa"', 'floor_load = "20 kPa"'), encoding="utf-8")
    assert "--hand-over, then" in done_words(open_bank(bank).sheet)


def test_taking_apart_is_a_sheet_within_the_width_as_page_and_json(run: Run, bank: Path, tmp_path: Path) -> None:
    code, out, _ = run("build", bank, "--apart", "--html", tmp_path / "a.html")
    assert code == 0
    assert too_wide(out) == []
    assert out.index("apart.loads") < out.index("apart.proved") < out.index("apart.link.")
    page = (tmp_path / "a.html").read_text("utf-8")
    assert "Main switch open and locked" in page
    assert "<script" not in page
    body = json.loads(run("build", bank, "--apart", "M3", "--json")[1])
    assert body["title"] == "Taking apart M3"
    assert run("build", bank, "--apart", "M99")[0] == 2


def test_a_pole_to_frame_is_stored_and_judged(run: Run, bank: Path) -> None:
    code, out, _ = run("log", "add", bank, "M1+", "26.1 V", "--to", "frame")
    assert code == 0
    assert "frame voltage" in out
    assert "leads were swapped" not in out
    assert run("log", "add", bank, "M1", "26.1 V", "--to", "frame")[0] == 2
    assert run("log", "add", bank, "M1+", "900 V", "--to", "frame")[0] == 2
    assert run("log", "add", bank, "M1-", "-22 V", "--to", "frame")[0] == 0
