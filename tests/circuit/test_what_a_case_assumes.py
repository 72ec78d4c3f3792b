"""A solved case says which of its figures rest on values that nobody gave, with the range and the value taken."""

import json
import re
from pathlib import Path

import pytest

from bankwright.cli.main import main
from bankwright.draw import shares, wiring
from bankwright.job import open_bank
from support.banks import sample_path

TWO = sample_path("two").read_text("utf-8")
WITHOUT_RESISTANCE = re.sub(r"resistance = .*\n", "", TWO)


def job_of(folder: Path, text: str):
    path = folder / "bank.toml"
    path.write_text(text, "utf-8")
    return open_bank(path)


def test_a_module_resistance_that_stands_in_is_taken_at_the_low_end(tmp_path):
    # 100 Ah, 16 cells: 8 to 21 mohm by the published range; what is solved is 8 mohm, and it says so
    solution = job_of(tmp_path, WITHOUT_RESISTANCE).steady.case("full discharge")
    (stood,) = [each for each in solution.assumed if each.key.endswith(".resistance.dc")]
    assert stood.places == ("M1", "M2")
    assert stood.end == "low"
    assert stood.figure.value == stood.figure.low == pytest.approx(8e-3, rel=0.05)
    assert stood.figure.high == pytest.approx(21e-3, rel=0.05)
    assert stood.settle is not None
    assert all(e.assumed for e in solution.network.elements if e.kind == "module")
    assert solution.ohms("M1") == pytest.approx(stood.figure.value)


def test_a_case_names_only_what_it_rests_on(tmp_path):
    job = job_of(tmp_path, re.sub(r"(lowest_voltage|efficiency) = .*\n", "", TWO))
    keys = {name: {a.key.rpartition(".")[2] for a in job.steady.case(name).assumed} for name in job.steady.names[:2]}
    assert {"lowest_voltage", "efficiency"} & keys["full discharge"] == {"efficiency"}
    assert {"lowest_voltage", "efficiency"} <= keys["full discharge at lowest voltage"]
    given = job_of(tmp_path, TWO).steady.case("full discharge").assumed
    assert not [a for a in given if a.key.endswith((".dc", ".efficiency", ".lowest_voltage"))]


def test_cables_not_given_are_marked_in_the_network(tmp_path):
    job = job_of(tmp_path, re.sub(r"main = \{[^}]*\}\n", "main = {}\n", TWO))
    solution = job.steady.case("full discharge")
    marked = {e.name for e in solution.network.elements if e.kind == "conductor" and e.assumed}
    assert marked == {"main+", "main-"}
    assert {a.places for a in solution.assumed if a.key.endswith(".length")} == {("main+", "main-")}


def test_a_bank_that_gives_everything_assumes_nothing():
    job = open_bank(Path(__file__).parents[2] / "demo" / "barn.toml")
    assert job.steady.case("full discharge").assumed == ()
    assert "assumed:" not in wiring(job.bank, job.steady.case("full discharge")).text


def test_it_is_said_in_text_json_and_drawings(tmp_path, capsys):
    job = job_of(tmp_path, WITHOUT_RESISTANCE)
    solution = job.steady.case("full discharge")
    said = "low end of 8"
    for drawing in (wiring(job.bank, solution), wiring(job.bank, solution, (), "phone"), shares(job.bank, solution)):
        assert said in " ".join(re.sub(r"<[^>]*>", " ", drawing.text).split())
    file = str(tmp_path / "bank.toml")
    with pytest.raises(SystemExit):
        main(["plan", file, "--case", "full discharge"])
    assert said in " ".join(capsys.readouterr().out.split())
    with pytest.raises(SystemExit):
        main(["plan", file, "--case", "full discharge", "--json"])
    rows = json.loads(capsys.readouterr().out)["assumed"]
    assert [row["end"] for row in rows if row["key"].endswith(".dc")] == ["low"]
    assert any(said in row["text"]["text"] for row in rows)
