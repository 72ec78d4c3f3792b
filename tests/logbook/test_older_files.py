"""A logbook of every earlier number opens, keeps its entries and takes telemetry. The files were made by the versions
that wrote them, with invented entries, and are never made anew."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from bankwright.logbook.check_repair import check
from bankwright.logbook.logbook import open_logbook
from bankwright.logbook.schema import SCHEMA
from bankwright.logbook.telemetry.store import open_telemetry
from support.telemetry_rows import ALL, poll

_OLD = Path(__file__).parent / "old"


def _number(path: Path) -> int:
    with closing(sqlite3.connect(path)) as connection:
        return int(connection.execute("PRAGMA user_version").fetchone()[0])


def test_there_is_a_file_of_every_earlier_number() -> None:
    assert {_number(path) for path in _OLD.glob("*.logbook")} == set(range(1, SCHEMA))


@pytest.mark.parametrize("name", ["schema-1", "schema-1-empty"])
def test_an_older_file_is_brought_forward_with_all_it_has(tmp_path: Path, name: str) -> None:
    path = tmp_path / "orchard.logbook"
    shutil.copy(_OLD / f"{name}.logbook", path)
    before = path.read_bytes()
    with open_logbook(tmp_path / "orchard.toml", write=False) as book:
        entries = list(book.entries())
    assert path.read_bytes() == before  # reading leaves an older file as it is
    with open_telemetry(tmp_path / "orchard.toml") as store:
        store.append(*poll(1.0))
        assert store.read("voltage", ("M1",), *ALL).value.shape == (1, 1)
    assert _number(path) == SCHEMA
    with open_logbook(tmp_path / "orchard.toml", write=False) as book:
        assert list(book.entries()) == entries
    assert check(path).is_whole


def test_what_stood_in_the_older_file_is_read(tmp_path: Path) -> None:
    shutil.copy(_OLD / "schema-1.logbook", tmp_path / "orchard.logbook")
    with open_logbook(tmp_path / "orchard.toml", write=False) as book:
        kinds = [entry.kind for entry in book.entries()]
        assert book.latest_readings("voltage")["M1"].value == 52.5
    assert kinds == ["instrument", "reading", "reading", "tick", "event", "note", "result", "event"]
