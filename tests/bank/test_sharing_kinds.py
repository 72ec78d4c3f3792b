"""Kinds moved into a file of one's own: the same bank, comments kept, shared by a second bank, clashes refused."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from bankwright.bank.read import read_bank
from bankwright.bank.texts.starter import Start, starter
from bankwright.cli.main import group


def run(*words: str) -> tuple[int, str]:
    done = CliRunner().invoke(group, ["kinds", *words])
    return done.exit_code, done.output + str(done.exception or "")


@pytest.fixture
def bank(tmp_path: Path) -> Path:
    path = tmp_path / "one.toml"
    path.write_text(starter(Start(pattern="chain", stud="M8")), "utf-8")
    return path


def test_it_lists_what_is_known_and_what_is_missing(bank: Path) -> None:
    code, out = run(str(bank))
    assert code == 0
    assert "-- module (one.toml; M1, M2, M3, M4)" in out
    assert "capacity 100 Ah" in out
    assert "posts stud M8" in out
    assert "missing" in out
    assert "What is the resistance of the module" in " ".join(run(str(bank), "--all")[1].split())


def test_the_bank_is_the_same_after_its_kinds_moved_and_comments_move_too(bank: Path) -> None:
    before = read_bank(bank)
    code, out = run(str(bank), "--into", "kinds.toml")
    assert code == 0, out
    after = read_bank(bank)
    assert [m.kind.capacity_ah for m in after.modules] == [m.kind.capacity_ah for m in before.modules]
    assert (after.devices[0].kind.rating, after.links[0].cable) != (None, None)
    kinds = (bank.parent / "kinds.toml").read_text("utf-8")
    assert "# energy =" in kinds
    assert "[kinds." not in bank.read_text("utf-8")
    assert "include" in bank.read_text("utf-8")
    assert run(str(bank), "--into", "kinds.toml")[1].startswith("one.toml gives no kinds")
    assert "kinds.toml" in run(str(bank))[1]


def test_a_second_bank_shares_them_and_a_clash_is_refused(bank: Path) -> None:
    second, third = bank.parent / "two.toml", bank.parent / "three.toml"
    second.write_text(bank.read_text("utf-8"), "utf-8")
    third.write_text(bank.read_text("utf-8").replace('capacity = "100 Ah"', 'capacity = "280 Ah"'), "utf-8")
    assert run(str(bank), "--into", "kinds.toml")[0] == 0
    kinds = (bank.parent / "kinds.toml").read_bytes()
    assert run(str(second), "--into", "kinds.toml")[0] == 0
    assert (bank.parent / "kinds.toml").read_bytes() == kinds
    assert len(read_bank(second).modules) == 4
    before = third.read_bytes()
    code, out = run(str(third), "--into", "kinds.toml")
    assert code != 0
    assert "with other values" in out
    assert third.read_bytes() == before


def test_a_file_outside_the_folder_is_refused(bank: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    code, out = run(str(bank), "--into", str(tmp_path_factory.mktemp("other") / "kinds.toml"))
    assert code != 0
    assert "does not lie in the folder" in out
    assert "[kinds." in bank.read_text("utf-8")
