"""What stops in one stage is told there and keeps no other page away; a file with faults is named everywhere."""

import pytest

from support.page import bank_file, client

PAGES = ("/plan", "/buy", "/build", "/match", "/fire")


@pytest.fixture
def web(tmp_path):
    with client(bank_file(tmp_path, "two")) as page:
        yield page


def broken(*_):
    raise KeyError("main")


@pytest.mark.parametrize("what", ["buy_words", "build_words", "match_words", "plan_words"])
def test_fire_is_shown_whatever_stops_elsewhere(web, monkeypatch, what):
    monkeypatch.setattr(f"bankwright.web.shell.{what}", broken)
    answer = web.get("/fire")
    assert answer.status_code == 200
    assert "stopped with KeyError" in answer.text
    assert "Do not save the module" in answer.text


def test_fire_is_shown_beside_a_logbook_that_is_none(web, tmp_path):
    (tmp_path / "two.logbook").write_bytes(b"no logbook at all, " * 60)
    for place in ("/fire", "/plan"):
        assert web.get(place).status_code == 200, place
    assert web.get("/build").status_code == 422


def test_a_file_with_faults_is_named_on_every_page_with_its_line(web, tmp_path):
    assert all("1 fault" not in web.get(place).text for place in PAGES)
    path = tmp_path / "two.toml"
    path.write_text(path.read_text(encoding="utf-8").replace('"1.5 m"', '"1.5 mm5"'), encoding="utf-8")
    for place in PAGES:
        text = web.get(place).text
        assert "two.toml:53" in text or "wiring.main.length" in text, place
        assert place == "/plan" or "two.toml has 1 fault" in text, place
        assert place == "/plan" or "as it was read at" in text, place
