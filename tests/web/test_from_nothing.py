"""From an empty folder to a bank that plans, on the page: the first conversation."""

import pytest

from bankwright.bank.read import read_bank
from support.page import client
from support.walks import CHAIN, start_page


@pytest.fixture
def path(tmp_path):
    return tmp_path / "shed.toml"


def test_an_empty_folder_says_what_the_first_step_is(path):
    with client(path) as web:
        page = web.get("/plan").text
        assert "No bank on this sheet yet" in page
        assert 'href="/start"' in page
        for other in ("/buy", "/build", "/match", "/fire"):
            assert web.get(other).status_code == 200, other
    assert not path.exists()


def test_the_conversation_ends_in_a_bank_that_plans(path):
    with client(path) as web:
        start_page(web, CHAIN)
        assert len(read_bank(path).modules) == 4
        assert 'class="finding ' in web.get("/plan").text
    assert [each.name for each in path.parent.iterdir()] == ["shed.toml"]


def test_an_answer_that_cannot_be_taken_is_asked_again_with_its_letters_and_an_offer(path):
    with client(path) as web:
        start_page(web, CHAIN[:2], write=False)
        page = web.post("/start", data={"key": "capacity", "act": "next", "typed": "56,8"}).text
        assert 'value="56,8"' in page
        assert 'name="offer" value="56.8 Ah"' in page
        page = web.post("/start", data={"key": "capacity", "offer": "56.8 Ah", "typed": "56,8"}).text
        assert "How many cells" in page
        page = web.post("/start", data={"key": "cells", "act": "next", "typed": "<b>many"}).text
        assert "&lt;b&gt;many" in page
        page = web.post("/start", data={"key": "cells", "act": "next", "typed": "3"}).text
        assert "14, 15 and 16" in page
        assert 'name="offer" value="3 cells"' in page
        page = web.post("/start", data={"key": "cells", "offer": "3 cells", "typed": "3"}).text
        assert "What current may one module give" in page
    assert not path.exists()


def test_it_says_what_not_knowing_brings_and_can_be_left(path):
    with client(path) as web:
        start_page(web, (*CHAIN[:2], "?"), write=False)
        page = web.get("/start?left=capacity").text
        assert "Capacity of one module: left open." in page
    with client(path) as web:
        page = web.get("/start").text
        assert "How many cells" in page
        assert "not known" in page
        assert web.post("/start", data={"key": "cells", "act": "back"}).text.count("What capacity has one module?") == 1


def test_what_a_chain_cannot_do_stands_at_the_choice(path):
    with client(path) as web:
        start_page(web, CHAIN[:9], write=False)
        page = web.get("/start").text
        assert "It has no place for a fuse at each module" in page
        assert page.count('class="bw plate-of"') == 2


def test_a_file_that_is_there_is_never_overwritten(path):
    with client(path) as web:
        start_page(web, CHAIN)
        before = path.read_bytes()
        assert web.post("/start", data={"key": "", "act": "write"}).status_code == 409
        assert path.read_bytes() == before
        assert web.get("/start", follow_redirects=False).headers["location"] == "/plan"


def test_an_answer_to_a_question_that_is_not_asked_answers_no_other(path):
    with client(path) as web:
        start_page(web, CHAIN[:2], write=False)
        for key in ("nothing", "interrupts ", "<b>"):
            assert web.post("/start", data={"key": key, "act": "next", "typed": "4"}).status_code == 200
        page = web.get("/start").text
        assert "What capacity has one module?" in page
        assert web.post("/start", data={"key": "capacity", "act": "next", "typed": "40"}).status_code == 200
        assert "40 Ah" in web.get("/start").text
