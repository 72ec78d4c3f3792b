"""From an empty folder to a bank that plans, on the page."""

import pytest

from bankwright.bank.read import read_bank
from support.page import client


@pytest.fixture
def path(tmp_path):
    return tmp_path / "shed.toml"


def answers(**other):
    given = {
        "title": "Shed", "modules": "3", "capacity": "100 Ah", "cells": "16", "discharge": "100 A", "charge": "50 A",
        "mass": "", "pattern": "chain", "feed": "opposite ends", "inverters": "1", "power": "5 kW",
        "efficiency": "93 %", "lowest_voltage": "46 V", "rules": "iec-60364", "units": "metric", "place": "",
    }  # fmt: skip
    return given | other


def test_an_empty_folder_says_what_the_first_step_is(path):
    with client(path) as web:
        page = web.get("/plan").text
        assert "No bank on this sheet yet" in page
        assert 'href="/start"' in page
        for other in ("/buy", "/build", "/match", "/fire"):
            assert web.get(other).status_code == 200, other
    assert not path.exists()


def test_the_dialogue_ends_in_a_bank_that_plans(path):
    with client(path) as web:
        assert web.post("/start", data=answers(), follow_redirects=False).headers["location"] == "/plan"
        assert len(read_bank(path).modules) == 3
        assert 'class="finding ' in web.get("/plan").text


def test_answers_that_cannot_stand_are_marked_and_kept(path):
    with client(path) as web:
        answer = web.post("/start", data=answers(capacity="100", modules="many"))
        assert answer.status_code == 422
        assert answer.text.count("cannot stand") >= 1
        assert 'value="many"' in answer.text
    assert not path.exists()


def test_a_file_that_is_there_is_never_overwritten(path):
    with client(path) as web:
        web.post("/start", data=answers())
        before = path.read_bytes()
        assert web.post("/start", data=answers(title="Other")).status_code == 409
        assert path.read_bytes() == before
        assert web.get("/start", follow_redirects=False).headers["location"] == "/plan"
