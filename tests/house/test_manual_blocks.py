"""Whoever does what a page of the manual says, word for word, gets what the page says."""

from __future__ import annotations

import pytest

from support.manual_blocks import PAGES, ROOT, Block, Reader, blocks, commands, follow, loose_commands

TRIED = [page for page in PAGES if any(block.info in ("sh", "python", "toml") for block in blocks(page))]


@pytest.mark.slow
@pytest.mark.parametrize("page", TRIED, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_each_block_of_a_page_does_what_it_says(page, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    follow(page)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_no_command_stands_where_it_would_not_be_tried(page):
    assert loose_commands(page) == [], "commands stand in a fence named sh"


def test_the_reader_would_notice(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    def block(info, body, *marks):
        return Block(ROOT / "README.md", 1, info, body, marks)

    reader = Reader()
    for wrong in (
        block("sh", "bankwright plan nowhere.toml\n"),
        block("sh", "bankwright what feed\n", "refuses"),
        block("sh", "make coffee\n"),
        block("python", "assert 1 == 2\n"),
    ):
        with pytest.raises(AssertionError):
            reader.does(wrong)
    reader.does(block("sh", "bankwright what feed   # a word\n"))
    with pytest.raises(AssertionError, match="never printed"):
        reader.does(block("text", "nobody says this\n"))
    with pytest.raises(Exception, match="--nonsense"):
        reader.does(block("sh", "bankwright open x.toml --nonsense\n", "not run: it serves"))
    assert commands(block("sh", "bankwright a \\\n  --b 'c d'   # e\n# f\n")) == [["bankwright", "a", "--b", "c d"]]
    assert block("sh", "", "edit a.toml: 1 => 2").mark("edit") == "a.toml: 1 => 2"
