"""The first conversation with a data sheet: what it says stands ready with its line; an answer only when confirmed."""

import io
from pathlib import Path

import pytest

from bankwright.bank.talk.talk import Talk, go_to, offering
from bankwright.bank.talk.text import as_text, from_text
from bankwright.job.sheets import offers_of, proposed_of
from support.ended import ended
from support.page import client

GIVEN = Path(__file__).parent / "given"
PASTED = Path(__file__).parent / "pasted"


@pytest.fixture
def path(tmp_path):
    return tmp_path / "shed.toml"


def offers(name):
    return {offer.key: offer for offer in offers_of(proposed_of(GIVEN / name))}


def test_a_sheet_answers_the_questions_of_its_kind():
    module = offers("module-fernwoggle.txt")
    assert {key: offer.values for key, offer in module.items()} == {
        "capacity": ("100 Ah",), "cells": ("16",), "discharge": ("100 A",), "charge": ("100 A",), "mass": ("46.5 kg",),
        "height": ("133 mm",), "stud": ("M8",), "pairs": ("2",), "breaker": ("125 A",), "interrupts": ("6 kA",),
    }  # fmt: skip
    inverter = offers("inverter-yarrowplink.txt")
    assert inverter["power"].values == ("5000 W", "4500 W")
    assert set(inverter) == {"power", "lowest_voltage"}


def test_offers_are_no_answers_and_are_kept():
    talk = offering(Talk(), offers_of(proposed_of(GIVEN / "module-fernwoggle.txt")))
    assert talk.answers == ()
    assert from_text(as_text(go_to(talk, "capacity"))).offers == talk.offers
    assert from_text('{"form": 1, "answers": {}, "offers": [["capacity", [3], "x"], 7]}').offers == ()


def test_enter_takes_what_the_sheet_says(path, monkeypatch, capsys):
    monkeypatch.setattr("sys.stdin", io.StringIO("4\n1\n\n15\n.\n"))
    sheet = str(GIVEN / "module-fernwoggle.txt")
    assert ended(["new", str(path), "--ask", "--sheet", sheet]) == 0
    printed = " ".join(capsys.readouterr().out.split())
    assert 'The sheet says 100 Ah: "Rated capacity, 0.5C 100 Ah"' in printed
    kept = from_text(path.with_name("shed.toml.answers").read_text("utf-8"))
    assert (kept.answer("capacity"), kept.answer("cells")) == ("100 Ah", "15")


def test_a_sheet_goes_with_a_person_only(path, capsys):
    assert ended(["new", str(path), "--no-ask", "--sheet", str(GIVEN / "module-fernwoggle.txt")]) == 2
    assert "confirmed by a person" in capsys.readouterr().err
    assert not path.exists()


def test_the_page_takes_a_pasted_sheet(path):
    text = (PASTED / "module_de.txt").read_text("utf-8")
    with client(path) as web:
        page = web.post("/start/sheet", data={"text": text}).text
        assert "Read as the sheet of: module" in page
        web.post("/start", data={"key": "modules", "act": "next", "typed": "4"})
        web.post("/start", data={"key": "units", "act": "next", "typed": "metric"})
        page = web.get("/start").text
        assert "The sheet says 100 Ah." in page
        assert 'value="100 Ah"' in page
        assert "Nennkapazität: 100 Ah" in page
    assert not path.exists()


def test_the_page_says_why_a_sheet_is_not_read_and_keeps_its_text(path):
    with client(path) as web:
        page = web.post("/start/sheet", data={"text": "<b>milk</b> and bread"}).text
        assert "Nothing of a" in page
        assert "&lt;b&gt;milk&lt;/b&gt; and bread" in page
