"""Every number of every table and rule book stands in two places: in the handbook, and in a second copy beside this."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from bankwright.handbook.tables import known_ids, load

pytestmark = pytest.mark.quick

HERE = Path(__file__).parent
HANDBOOK = HERE.parents[1] / "src" / "bankwright" / "handbook"
RULES = tomllib.loads((HERE / "second_copy_of_rules.toml").read_text("utf-8"))
COPY = tomllib.loads((HERE / "second_copy.toml").read_text("utf-8"))


def is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


def test_every_table_has_its_second_copy() -> None:
    assert set(COPY) == set(known_ids())


@pytest.mark.parametrize("table", sorted(COPY))
def test_the_two_copies_agree_to_the_last_digit(table: str) -> None:
    held, copy = load(table), COPY[table]
    assert [row[0] for row in copy["rows"]] == [row[held.key] for row in held.rows]
    for written, row in zip(copy["rows"], held.rows, strict=True):
        numbers = {key: value for key, value in row.items() if is_number(value) and key != held.key}
        again = dict(zip(copy["columns"], written[1:], strict=True))
        assert numbers == {key: value for key, value in again.items() if value != ""}, row[held.key]
    conditions = {key: value for key, value in held.conditions.items() if is_number(value)}
    assert conditions == copy.get("conditions", {})


def numbers_of(value: Any, path: str = "") -> Iterator[tuple[str, float]]:
    """Numbers of a file by their place."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from numbers_of(inner, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from numbers_of(inner, f"{path}[{number}]")
    elif is_number(value):
        yield path, value


def test_every_rule_book_has_its_second_copy() -> None:
    files = {f"{room}/{path.stem}" for room in ("books", "storage") for path in (HANDBOOK / room).glob("*.toml")}
    assert set(RULES) == files


@pytest.mark.parametrize("book", sorted(RULES))
def test_rules_agree_with_their_second_copy(book: str) -> None:
    assert dict(numbers_of(tomllib.loads((HANDBOOK / f"{book}.toml").read_text("utf-8")))) == RULES[book]


def test_there_is_something_to_compare() -> None:
    cells = [cell for table in COPY.values() for row in table["rows"] for cell in row[1:] if is_number(cell)]
    assert len(cells) > 1200
