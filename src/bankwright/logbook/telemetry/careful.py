"""Reading a table of a damaged file row by row: what can be had, and what the engine said of the rest.

Gives: careful_rows(), highest_number(), is_row(), reading_anything().
Limits: rows are judged by their readers (check.py, salvage/).
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import suppress
from typing import Any

from bankwright.logbook.errors import ENGINE_SAYS

__all__ = ["careful_rows", "highest_number", "is_row", "reading_anything"]

Row = tuple[Any, ...]
_KINDS: dict[str, type | tuple[type, ...]] = {"i": int, "t": str, "b": bytes, "f": (int, float)}
# what stands in the columns of a table: whole number, text, bytes, number; a capital letter: or nothing
_COLUMNS = {
    "boot": "itFt", "frame": "iti", "frame_again": "iti", "clock": "iitiiIi", "hot": "iiiiiIbBi", "sealed": "iiiiiiibi",
    "minute": "iiiibi", "hour": "iiiibi", "happening": "iiiiIttti", "state": "tibii",
}  # fmt: skip


def reading_anything(connection: sqlite3.Connection) -> sqlite3.Connection:
    """Let a connection give text from a damaged page as marks, instead of stopping there; checksums tell it apart."""
    connection.text_factory = lambda data: data.decode("utf-8", "replace")
    return connection


def is_row(table: str, row: Row) -> bool:
    """Whether a row holds what a row of its table holds; the engine gives anything from a damaged page."""
    kinds = zip(row, _COLUMNS[table], strict=True)
    return all(
        value is None if value is None and k.isupper() else isinstance(value, _KINDS[k.lower()]) for value, k in kinds
    )


def highest_number(connection: sqlite3.Connection, table: str, key: str) -> int:
    """The highest number in a table; 0 when there is none or it cannot be read."""
    with suppress(*ENGINE_SAYS):
        row = connection.execute(f"SELECT max({key}) FROM {table}").fetchone()
        return int(row[0] or 0)
    return 0


def careful_rows(
    connection: sqlite3.Connection, table: str, key: str, said: list[str], least: int = 0
) -> Iterator[Row]:
    """Every row of a table that can be read, in the order of its number; `said` takes the engine's words.

    Reads on in one go; where a page stops that, number by number up to the highest that is known (at least `least`).
    """
    seen = 0
    try:
        for row in connection.execute(f"SELECT * FROM {table} ORDER BY {key}"):
            seen = row[0] if isinstance(row[0], int) else seen
            if is_row(table, row):
                yield row
            else:
                said.append(f"table {table}: row {seen} holds what no row of it holds")
        return
    except ENGINE_SAYS as error:
        said.append(f"table {table} behind row {seen}: {error}")
    for number in range(seen + 1, max(highest_number(connection, table, key), least) + 1):
        with suppress(*ENGINE_SAYS):
            row = connection.execute(f"SELECT * FROM {table} WHERE {key} = ?", (number,)).fetchone()
            if row is not None and is_row(table, row):
                yield row
