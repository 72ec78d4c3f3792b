"""Until the tick of its earthing stands every page says that the main switch stays open."""

from __future__ import annotations

from pathlib import Path

from support.page import bank_file, client

WORDS = "The minus pole is not earthed yet: the main switch stays open."
PAGES = ("/plan", "/buy", "/build", "/build/all", "/build/step/build.earth", "/match")


def test_every_page_says_so_until_it_is_ticked(tmp_path: Path) -> None:
    with client(bank_file(tmp_path, "two_inverters")) as page:
        for place in PAGES:
            answer = page.get(place)
            assert answer.status_code == 200, place
            assert WORDS in answer.text, place
        earth = page.get("/build/step/build.earth").text
        assert "Match: the modules may be joined" in earth  # what the step waits for, with the way there
        book = page.desk.book(write=True)
        assert book is not None
        book.tick("build.earth", "earthed")
        assert not [place for place in PAGES if WORDS in page.get(place).text]
