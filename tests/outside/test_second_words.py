"""The handbook and the rule books against a second writing of the same documents (second_words.toml).

It is not the second copy in tests/handbook, which only tells that a number was changed: this one was taken from a
reference book, in units of its own. Both may rest on the same pages. What has no second word is listed on the page of
sources.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from bankwright.handbook.tables import known_ids, load, look_up
from support.second_words import RULES, WORDS, lines, without

pytestmark = pytest.mark.quick

HANDBOOK = Path(__file__).parents[2] / "src" / "bankwright" / "handbook"
HOW = ("read", "copy", "from memory", "derived", "computed apart")


@pytest.mark.parametrize("name", sorted(WORDS))
def test_a_table_says_what_the_second_writing_says(name: str) -> None:
    word, table = WORDS[name], load(name)
    rows = {row[table.key]: row for row in table.rows}
    for key, *values in word["rows"]:
        if word.get("between"):
            found = [look_up(name, key, column, "between").value for column in word["columns"]]
            off = [abs(a - b) for a, b in zip(found, values, strict=True)]
            assert all(gap <= most for gap, most in zip(off, word["within"], strict=True)), (name, key, off)
            continue
        assert key in rows, f"{name} has no row {key}"
        for column, value in zip(word["columns"], values, strict=True):
            held = rows[key].get(column)
            if isinstance(value, str) and value:
                assert held == value, (name, key, column)
            elif value != "":
                assert held == pytest.approx(value, rel=1e-9, abs=word.get("within", 0.0)), (name, key, column)
    assert word["how_known"].startswith(HOW)
    assert word["document"]


@pytest.mark.parametrize("name", ["nec-2023/310.16", "nec-2023/310.17", "iec-60364-5-52/two-loaded"])
def test_a_table_of_currents_has_no_value_that_the_second_writing_lacks(name: str) -> None:
    word, table = WORDS[name], load(name)
    told = {row[0]: dict(zip(word["columns"], row[1:], strict=True)) for row in word["rows"]}
    extra = [
        (row[table.key], column)
        for row in table.rows
        for column in word["columns"]
        if row.get(column) is not None and told.get(row[table.key], {}).get(column, "") == ""
    ]
    assert extra == []


@pytest.mark.parametrize(
    "name", ["nec-2023/240.6-a", "nec-2023/240.6-a-fuses", "iec-60059/ratings", "nec-2023/250.122"]
)
def test_a_list_of_ratings_is_whole(name: str) -> None:
    table = load(name)
    assert [row[table.key] for row in table.rows] == [row[0] for row in WORDS[name]["rows"]]


def place(whole: Any, path: str) -> float:
    """A number of a rule book by its place: "place[0].sum"."""
    for part in path.replace("]", "").replace("[", ".").split("."):
        whole = whole[int(part)] if part.isdigit() else whole[part]
    return float(whole)


@pytest.mark.parametrize("book", sorted(RULES))
def test_a_rule_book_says_what_the_second_writing_says(book: str) -> None:
    word = RULES[book]
    assert word["how_known"].startswith(HOW)
    whole = tomllib.loads((HANDBOOK / f"{book}.toml").read_text("utf-8"))
    for path, value in word.items():
        if path not in ("document", "how_known", "units"):
            # millimetres are what a tape shows: 3 ft stand as 0.914 m
            assert place(whole, path) == pytest.approx(value, abs=0.0005), (book, path)


def test_what_has_no_second_word_is_known_and_listed() -> None:
    assert set(without()) <= set(known_ids())
    page = (Path(__file__).parents[2] / "docs" / "sources.md").read_text("utf-8")
    assert [line for line in lines() if line not in page] == []


def test_no_table_that_rates_a_conductor_or_a_device_is_without_a_second_word() -> None:
    rates = (
        "nec-2023/",
        "iec-60364-5-52/",
        "iec-60364-4-43/",
        "iec-60228/",
        "ul-489/",
        "breakers/",
        "shock/",
        "iso-273/",
    )
    assert [name for name in without() if name.startswith(rates)] == []
