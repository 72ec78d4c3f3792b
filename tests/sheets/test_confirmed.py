"""Nothing enters a bank file unconfirmed; what is confirmed stands there as the file writes it, and plans."""

import io
import shutil
from pathlib import Path

import pytest

from bankwright.job import open_bank
from bankwright.job.sheets import Said, proposed_of, standing, taken
from support.ended import ended

ROOT = Path(__file__).parents[2]
GIVEN = Path(__file__).parent / "given"
SHEETS = (
    ("given/module-fernwoggle", ""),
    ("given/inverter-yarrowplink", ""),
    ("given/device-sorreldoof", "SD-T300"),
    ("given2/module-kwispelvoet", ""),
    ("given2/module-wobbleton", ""),
    ("given2/inverter-quaddelhorn", ""),
    ("given2/device-brimbalou", "FB-C250"),
)


@pytest.fixture
def barn(tmp_path):
    for name in ("barn.toml", "barn-map.toml"):
        shutil.copy(ROOT / "demo" / name, tmp_path)
    return tmp_path / "barn.toml"


@pytest.mark.parametrize(("name", "model"), SHEETS)
def test_every_value_is_one_that_the_bank_file_takes(barn, name, model):
    found = proposed_of(GIVEN.parent / f"{name}.pdf")
    said = {key: answer.value for key, answer in found.models[model].items() if isinstance(answer, Said)}
    job, fault = taken(open_bank(barn), found.kind, "NEW", said)
    assert fault == ""
    assert all(standing(job, found.kind, "NEW", key) for key in said)


def test_what_the_file_would_refuse_is_said_and_not_written(barn):
    before = barn.read_bytes()
    job, fault = taken(open_bank(barn), "module", "R100", {"capacity": "a lot"})
    assert job is None
    assert "capacity" in fault
    assert barn.read_bytes() == before


@pytest.fixture
def at_a_terminal(monkeypatch):
    monkeypatch.setattr("bankwright.cli.datasheet._terminal", lambda: True)


def confirmed(barn, answers, monkeypatch):
    monkeypatch.setattr("sys.stdin", io.StringIO(answers))
    return ended(["datasheet", str(GIVEN / "inverter-yarrowplink.pdf"), "--into", str(barn), "--name", "YP"])


@pytest.mark.usefixtures("at_a_terminal")
def test_only_what_was_confirmed_enters(barn, monkeypatch, capsys):
    code = confirmed(
        barn, "2\ny\n\nn\n.\n", monkeypatch
    )  # power asked: the second; surge taken; time left; efficiency refused; stop
    printed = capsys.readouterr().out
    assert code == 0, printed
    job = open_bank(barn)
    assert standing(job, "inverter", "YP", "power") == "4500 W"
    assert standing(job, "inverter", "YP", "surge_power") == "10 kW"
    assert standing(job, "inverter", "YP", "surge_time") == standing(job, "inverter", "YP", "efficiency") == ""
    assert "2 values taken" in printed
    assert 'page 1: "Rated power 5000 W at 25 °C; 4500 W at 40 °C (6000 VA)"' in " ".join(printed.split())


def test_without_a_terminal_nothing_is_confirmed(barn, monkeypatch):
    before = barn.read_bytes()
    assert confirmed(barn, "y\n" * 40, monkeypatch) == 2
    assert barn.read_bytes() == before


def test_several_models_must_be_chosen(capsys):
    assert ended(["datasheet", str(GIVEN / "device-sorreldoof.pdf"), "--model", "SD-T500"]) == 2
    assert "SD-T200" in capsys.readouterr().err
