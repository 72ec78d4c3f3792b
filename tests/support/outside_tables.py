"""Published tables that only the tests use, kept beside the handbook's in the same form.

Gives: outside_table(), outside_tables().
"""

from __future__ import annotations

from pathlib import Path

from bankwright.handbook.tables import Table, read_table

TABLES = Path(__file__).parents[1] / "outside" / "tables"


def outside_tables() -> tuple[Table, ...]:
    return tuple(read_table(path.read_text("utf-8")) for path in sorted(TABLES.glob("*.toml")))


def outside_table(name: str) -> Table:
    return next(table for table in outside_tables() if table.id == name)
