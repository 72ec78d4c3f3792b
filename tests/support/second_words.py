"""A second writing of the published tables: the second words, and what of the handbook has none.

Gives: WORDS, RULES, without(), lines(). Used by the test that compares, and by the page of sources.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bankwright.handbook.tables import Table, known_ids, load

__all__ = ["RULES", "WORDS", "lines", "without"]

_FILE = Path(__file__).parents[1] / "outside" / "second_words.toml"
_READ: dict[str, Any] = tomllib.loads(_FILE.read_text("utf-8"))
RULES: dict[str, dict[str, Any]] = _READ.pop("rules")
WORDS: dict[str, dict[str, Any]] = _READ


def _numbers(table: Table) -> Iterator[tuple[object, str]]:
    """Row and column of every number, the ends of a band left out."""
    for row in table.rows:
        for column in table.columns:
            value = row.get(column)
            if column != table.key and isinstance(value, int | float) and not isinstance(value, bool):
                yield row[table.key], column


def _told(name: str, word: dict[str, Any]) -> set[tuple[object, str]]:
    """Row and column of every number that has a second word; of a curve all rows, where points are told."""
    if word.get("between"):
        return {(row[load(name).key], column) for row in load(name).rows for column in word["columns"]}
    return {
        (row[0], column)
        for row in word["rows"]
        for column, value in zip(word["columns"], row[1:], strict=True)
        if value != ""
    }


def without() -> dict[str, tuple[int, int]]:
    """Tables of the handbook that hold numbers without a second word: how many of how many."""
    found = {}
    for name in known_ids():
        numbers = list(_numbers(load(name)))
        told = _told(name, WORDS[name]) if name in WORDS else set()
        left = sum((key, column) not in told for key, column in numbers)
        if left:
            found[name] = (left, len(numbers))
    return found


def lines() -> Iterator[str]:
    """One line a table, for the page of sources."""
    for name, (left, whole) in without().items():
        how = "any of its" if left == whole else f"{left} of its"
        yield f"- `{name}`: no second word for {how} {whole} numbers"
