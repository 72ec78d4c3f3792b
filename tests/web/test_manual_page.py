"""The page's Help: the built manual from the same server, its own files alone, behind the same guard."""

from __future__ import annotations

import pytest

from bankwright.web.door import Door
from support.page import Page, bank_file
from support.pages import small_manual


@pytest.fixture
def folder(tmp_path, monkeypatch):
    made = small_manual(tmp_path / "manual")
    monkeypatch.setattr("bankwright.web.pages.manual.manual_folder", lambda: made)
    return made


def test_help_is_on_every_page_and_leads_to_the_manual(tmp_path, folder):
    with Page(bank_file(tmp_path, "two")) as web:
        for path in ("/buy", "/match", "/words", "/fire"):
            assert '<a class="plain" href="/manual/"' in web.get(path).text, path
        assert "<p>index</p>" in web.get("/manual/").text
        assert web.get("/manual/how-to/install.html").text.endswith("<p>how-to/install</p>")
        sheet = web.get("/manual/_static/manual.css")
        assert sheet.headers["content-type"].startswith("text/css")
        assert "script-src 'self'" in sheet.headers["content-security-policy"]


@pytest.mark.parametrize(
    ("word", "page"),
    [("P-CABLE-1", "checks.html#p-cable-1"), ("plan", "plan.html"), ("a b", "search.html?q=a%20b")],
)
def test_a_word_leads_to_its_page(tmp_path, folder, word, page):
    with Page(bank_file(tmp_path, "two")) as web:
        answer = web.get(f"/manual/at/{word}", follow_redirects=False)
        assert (answer.status_code, answer.headers["location"]) == (303, f"/manual/{page}")


@pytest.mark.parametrize(
    "path",
    [
        "secret.txt",
        "../two.toml",
        "..%2ftwo.toml",
        "%2e%2e/two.toml",
        "nothing.html",
        "_static",
        "_static/",
        "/etc/passwd",
    ],
)
def test_nothing_but_the_manual_is_served(tmp_path, folder, path):
    with Page(bank_file(tmp_path, "two")) as web:
        answer = web.get(f"/manual/{path}")
        assert answer.status_code == 404
        assert "format = 1" not in answer.text


def test_a_stranger_does_not_read_it(tmp_path, folder):
    with Page(bank_file(tmp_path, "two"), Door(open_to_all=False)) as web:
        assert web.get("/manual/", headers={"accept": "*/*"}, follow_redirects=False).status_code == 401


def test_without_a_manual_it_says_how_to_get_one(tmp_path, monkeypatch):
    monkeypatch.setattr("bankwright.web.pages.manual.manual_folder", lambda: None)
    with Page(bank_file(tmp_path, "two")) as web:
        for path in ("/manual/", "/manual/at/fuse"):
            answer = web.get(path)
            assert answer.status_code == 410
            assert "make manual" in answer.text
