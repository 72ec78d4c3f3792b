"""Whoever has not typed the code is told nothing of the bank; a body without an announced length is bounded too."""

import os
import signal

import pytest

from bankwright.web.door import COOKIE, Door
from support.page import Page, bank_file

TITLE = "Shed of the seventh heron"

ASKED = [
    ("GET", "/enterX", {}),
    ("GET", "/enter/plan", {}),
    ("GET", "/enter/../plan", {}),
    ("PUT", "/enter", {}),
    ("POST", "/enter", {"data": {"code": "X" * 90}}),
    ("GET", "/static/no-such-file", {}),
    ("GET", "/static/../plan", {}),
    ("POST", "/static/sheet.css", {}),
]


@pytest.fixture
def shut(tmp_path):
    path = bank_file(tmp_path, "two")
    lines = path.read_text().splitlines()
    assert any(line.startswith("title") for line in lines)
    path.write_text("\n".join(f'title = "{TITLE}"' if line.startswith("title") else line for line in lines))
    door = Door(open_to_all=False)
    code = door.new_code()
    with Page(path, door) as web:
        yield web, door.enter(code)


@pytest.mark.slow
@pytest.mark.parametrize(("method", "path", "more"), ASKED)
def test_an_answer_without_a_session_holds_nothing_of_the_bank(shut, method, path, more):
    web, _ = shut
    answer = web.request(method, path, follow_redirects=False, **more)
    assert answer.status_code in (303, 401, 403, 404, 405, 422)
    assert TITLE not in answer.text
    assert "data-digest" not in answer.text


def test_with_a_session_a_page_that_is_not_there_is_framed_as_before(shut):
    web, token = shut
    answer = web.get("/no-such-page", headers={"cookie": f"{COOKIE}={token}"})
    assert answer.status_code == 404
    assert TITLE in answer.text


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/api/entries", "application/json"),
        ("/match", "application/x-www-form-urlencoded"),
        ("/buy/have", "application/x-www-form-urlencoded"),
    ],
)
def test_a_body_that_grows_past_its_bound_is_told_so_by_pages_and_interface(tmp_path, path, kind):
    async def pieces():
        for _ in range(40):
            yield b"x" * 65536

    with Page(bank_file(tmp_path, "two")) as web:
        answer = web.post(path, content=pieces(), headers={"content-type": kind, "accept": "application/json"})
    assert answer.status_code == 413
    assert "1024 KiB" in answer.json()["faults"][0]["found"]


def test_wrong_codes_neither_shut_the_door_for_good_nor_flood_the_terminal(tmp_path):
    now, printed = [0.0], []
    door = Door(open_to_all=False, clock=lambda: now[0])

    def invite():
        printed.append(door.new_code())

    invite()
    with Page(bank_file(tmp_path, "two"), door, entered=invite) as web:

        def typed(code):
            return web.post("/enter", data={"code": code}, follow_redirects=False).status_code

        for _ in range(6):
            assert typed("WRONG234") == 403
        assert len(printed) == 1, "nothing is withdrawn"
        assert typed(printed[0]) == 303
        now[0] = 601.0  # nobody came: the code grew old
        assert typed(printed[1]) == 403
        assert len(printed) == 3
        assert typed(printed[2]) == 303


def test_the_list_of_undo_is_bounded(tmp_path, monkeypatch):
    monkeypatch.setattr("bankwright.web.desk.KEPT_UNDO", 3)
    with Page(bank_file(tmp_path, "two")) as web:
        for n in range(6):
            digest = web.get("/api/bank").json()["digest"]
            web.patch("/api/bank", json={"path": "title", "value": f"edit {n}", "digest": digest})
        state = web.get("/api/bank").json()
        assert (state["undo"], state["title"]) == (3, "edit 5")
        for _ in range(3):
            state = web.post("/api/bank/undo", json={"digest": state["digest"]}).json()
        assert (state["undo"], state["redo"], state["title"]) == (0, 3, "edit 2")


@pytest.mark.slow
@pytest.mark.parametrize("bomb", ["a = " + "[" * 5000, "a = " + "9" * 6000, "a = 2020-02-31"])
def test_a_shopping_file_that_is_a_bomb_leaves_the_other_stages_standing(tmp_path, bomb):
    (tmp_path / "two.shopping.toml").write_text(bomb)
    with Page(bank_file(tmp_path, "two")) as web:
        assert web.get("/buy").status_code == 422
        assert web.get("/plan").status_code == 200


@pytest.mark.slow
@pytest.mark.parametrize("kind", ["folder", "pipe"])
def test_a_file_that_is_no_file_any_more_is_a_fault_and_is_not_waited_for(tmp_path, kind):
    path = bank_file(tmp_path, "two")
    with Page(path) as web:
        assert web.get("/plan").status_code == 200
        path.unlink()
        path.mkdir() if kind == "folder" else os.mkfifo(path)
        before = signal.signal(signal.SIGALRM, lambda *_: os.close(os.open(path, os.O_RDWR | os.O_NONBLOCK)))
        signal.alarm(5)  # a reader that waits is let go, and the test fails by its answer
        try:
            state = web.get("/api/bank").json()
            assert state["faults"][0]["code"] == "no-file"
            assert "is no file" in state["faults"][0]["found"]
            assert web.get("/plan").status_code == 200
        finally:
            signal.alarm(0)
            signal.signal(signal.SIGALRM, before)
