"""Kinds in a file beside a bank to come: offered first, not asked again, the file included, names kept apart."""

from __future__ import annotations

import io
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from bankwright.bank.read import read_bank
from bankwright.bank.talk.talk import Talk, applying, said, start_of, using
from bankwright.bank.talk.text import as_text, from_text
from bankwright.bank.texts.shelf import ANSWERS, shelf_of
from bankwright.bank.texts.starter import first_document
from bankwright.job import open_bank
from bankwright.job.kinds import share
from support.ended import ended
from support.page import client

DEMO = Path(__file__).parents[2] / "demo"
CLASH = """
[kinds.device.main-fuse]
type = "fuse"

[kinds.lug.lug]
hole = "8.4 mm"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The kinds of the demo bank in a file of their own, two more with names of the starter file, and the bank."""
    for name in ("barn.toml", "barn-map.toml"):
        shutil.copy(DEMO / name, tmp_path)
    share(open_bank(tmp_path / "barn.toml"), tmp_path / "kinds.toml")
    with (tmp_path / "kinds.toml").open("a", encoding="utf-8") as file:
        file.write(CLASH)
    return tmp_path


def test_only_files_of_kinds_are_on_the_shelf(folder: Path) -> None:
    (folder / "broken.toml").write_text("kinds = [", "utf-8")
    (folder / "strange.toml").write_text('kinds = "none"\n', "utf-8")
    (folder / "odd.toml").write_text("[kinds]\nmodule = 3\n[kinds.inverter]\na = 1\n", "utf-8")
    shelf = shelf_of(folder)
    assert [(kind.family, kind.name, kind.file) for kind in shelf] == [
        ("module", "slab-100", "kinds.toml"), ("inverter", "box-5k", "kinds.toml"),
    ]  # fmt: skip
    assert dict(shelf[0].answers)["capacity"] == "100 Ah"
    assert shelf_of(folder / "nowhere") == ()


def test_what_a_kind_gives_is_not_asked_and_what_the_bank_is_comes_from_it(folder: Path) -> None:
    module, inverter = shelf_of(folder)
    talk = using(using(Talk(), "module", module), "inverter", inverter)
    asked = {each.key for each in applying(talk)}
    assert not asked & {*ANSWERS["module"], *ANSWERS["inverter"]}
    assert {"modules", "pattern", "title"} <= asked
    talk = said(replace(talk, at="modules"), "3")
    document = first_document(start_of(talk), folder / "shed.toml")
    document.save()
    bank = read_bank(folder / "shed.toml")
    assert [m.kind.name for m in bank.modules] == ["slab-100"] * 3
    assert bank.inverters[0].kind.name == "box-5k"
    assert document.data["include"] == ["kinds.toml"]
    assert set(document.data["kinds"]["device"]) == {"branch-fuse", "main-fuse-2", "main-switch"}
    assert set(document.data["kinds"]["lug"]) == {"lug-2"}
    alone = start_of(said(replace(Talk(), at="modules"), "3"))
    assert "include" not in first_document(alone, folder / "alone.toml").data


def test_names_of_a_first_bank_that_were_shared_do_not_clash_in_the_second(tmp_path: Path) -> None:
    first_document(start_of(Talk()), tmp_path / "first.toml").save()
    share(open_bank(tmp_path / "first.toml"), tmp_path / "kinds.toml")
    for family in ("module", "inverter"):
        kind = next(kind for kind in shelf_of(tmp_path) if kind.family == family)
        path = tmp_path / f"{family}.toml"
        first_document(start_of(using(Talk(), family, kind)), path).save()
        bank = read_bank(path)
        assert (bank.modules[0].kind.name == "module") == (family == "module")
        assert (bank.inverters[0].kind.name == "inverter") == (family == "inverter")


def test_a_kind_that_was_taken_is_kept_and_can_be_let_go(folder: Path) -> None:
    module, _ = shelf_of(folder)
    talk = using(Talk(), "module", module)
    assert from_text(as_text(talk)) == talk
    assert using(talk, "module", None) == Talk()
    rubbish = as_text(talk).replace('"module"', '"table"')
    assert from_text(rubbish).kinds == ()


def test_the_page_offers_them_takes_one_and_lets_it_go(folder: Path) -> None:
    with client(folder / "shed.toml") as web:
        assert "Take slab-100" in web.get("/start").text
        taken = {"family": "module", "name": "slab-100", "file": "kinds.toml"}
        web.post("/start/kind", data=taken)
        text = web.get("/start").text
        assert "It stands in kinds.toml, which is included." in text
        assert "Take slab-100" not in text
        web.post("/start/kind", data={"family": "module"})
        assert "Take slab-100" in web.get("/start").text
        assert web.post("/start/kind", data=taken | {"file": "../kinds.toml"}).status_code == 422


def test_the_terminal_offers_them_before_its_questions(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("7\n1\n\n3\n.\n"))  # no such line; the module; no inverter; 3 modules
    assert ended(["new", str(folder / "shed.toml"), "--ask"]) == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert "kinds.toml beside this file gives kinds of module. Is yours one of them?" in printed
    assert "slab-100: kinds.toml is included, and its questions are not asked here." in printed
    kept = from_text((folder / "shed.toml.answers").read_text("utf-8"))
    assert [kind.name for kind in kept.kinds] == ["slab-100"]
    assert kept.answer("modules") == "3"


def test_options_name_them_and_what_they_give_is_not_given_twice(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shed = folder / "shed.toml"
    assert ended(["new", str(shed), "--module-kind", "slab-10"]) == 2
    assert "slab-100" in capsys.readouterr().err
    assert ended(["new", str(shed), "--module-kind", "slab-100", "--capacity", "50 Ah"]) == 2
    assert "leave out --module-kind" in " ".join(capsys.readouterr().err.split())
    assert not shed.exists()
    assert ended(["new", str(shed), "--module-kind", "slab-100", "--inverter-kind", "box-5k", "--modules", "2"]) == 0
    assert [m.kind.name for m in read_bank(shed).modules] == ["slab-100", "slab-100"]
