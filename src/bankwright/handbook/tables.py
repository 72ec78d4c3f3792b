"""Published tables, one file each, and the look-up that answers with a cited value.

Gives: Table, load(), read_table(), look_up(), source_of(), known_ids(); errors OutsideTable, NoSuchTable. A table is
read when it is first asked for and kept. There is no default table, and nothing is extrapolated: beyond its ends a
look-up raises.
A file begins with its id on the first line, then document, edition, table, how_known (and `seen`: where it was seen),
`key` (the column that names a row), `columns` with the unit each is printed in, `conditions`, and `rows` as printed. A
row may carry its own document, edition, place or how_known, and `<column>_low`, `<column>_high` beside a value.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from itertools import pairwise
from types import MappingProxyType
from typing import Any, Literal

from bankwright.forms.checks import BeyondTable
from bankwright.forms.origin import Cited, Source
from bankwright.handbook.units import factor_of

__all__ = ["Mode", "NoSuchTable", "OutsideTable", "Table", "known_ids", "load", "look_up", "read_table", "source_of"]

Mode = Literal["exact", "next_larger", "between"]
Row = Mapping[str, Any]
CLOSE = 1e-9  # two printed numbers count as equal within this share


class NoSuchTable(KeyError):
    """No file carries this id."""

    def __init__(self, table: str) -> None:
        """Keep the id."""
        super().__init__(table)
        self.table = table

    def __str__(self) -> str:
        """Name the id."""
        return f'no table "{self.table}" in the handbook'


class OutsideTable(BeyondTable):
    """The table holds no value there; `holds` says what it does hold."""

    def __init__(self, table: Table, row: object, column: str, holds: str) -> None:
        """Keep the parts; the message names them."""
        super().__init__(f"{table.source.document}, {table.name}: no value for {row}, column {column}; {holds}")
        self.table, self.row, self.column, self.holds = table.id, row, column, holds


@dataclass(frozen=True, slots=True)
class Table:
    """One published table. `rows` are as printed; `value` gives a cell in the unit inside."""

    id: str
    name: str  # as the document calls it: "Table 310.16"
    source: Source
    seen: str  # where its values were seen
    key: str
    columns: Mapping[str, str]  # column -> unit as printed
    conditions: Mapping[str, float | str]
    rows: tuple[Row, ...]
    between: bool  # the document allows values between rows
    note: str

    def value(self, row: Row, column: str) -> float | None:
        """One cell in the unit inside; None where the table leaves it empty."""
        if column not in self.columns:
            raise KeyError(f'table {self.id} has no column "{column}"')
        factor = factor_of(self.id, column, self.columns[column])
        if factor is None:
            raise KeyError(f'table {self.id}: column "{column}" holds words')
        printed = row.get(column)
        return None if printed is None else float(printed) * factor

    def row_keys(self) -> tuple[str | float, ...]:
        """What names the rows, as printed (in the unit the column prints)."""
        return tuple(row[self.key] for row in self.rows)

    def row(self, key: str | float) -> Row:
        """The row with this key; OutsideTable if there is none."""
        for row in self.rows:
            if _same(row[self.key], key):
                return row
        raise OutsideTable(self, key, self.key, _span(self))


def _same(printed: str | float, asked: str | float) -> bool:
    if isinstance(printed, str) or isinstance(asked, str):
        return printed == asked
    return abs(printed - asked) <= CLOSE * max(abs(printed), abs(asked))


def _span(table: Table) -> str:
    keys = table.row_keys()
    return f"it holds {keys[0]} to {keys[-1]}" if keys else "it holds no rows"


@cache
def _files() -> Mapping[str, Any]:
    found: dict[str, Any] = {}
    for path in sorted(files("bankwright.handbook").joinpath("data").iterdir(), key=lambda path: path.name):
        if not path.name.endswith(".toml"):
            continue
        with path.open("rb") as stream:
            first = stream.readline().decode("utf-8")
        name = tomllib.loads(first)["id"]
        if name in found:
            raise ValueError(f'two files carry the id "{name}": {found[name].name}, {path.name}')
        found[name] = path
    return MappingProxyType(found)


def known_ids() -> tuple[str, ...]:
    """Ids of all tables; only the first line of each file is read."""
    return tuple(_files())


@cache
def load(table: str) -> Table:
    """Read one table, once; NoSuchTable for an id that no file carries."""
    path = _files().get(table)
    if path is None:
        raise NoSuchTable(table)
    return read_table(path.read_text(encoding="utf-8"))


def read_table(text: str) -> Table:
    """A table from the text of its file; units outside the closed list are refused."""
    raw = tomllib.loads(text)
    source = Source(raw["document"], raw.get("edition", ""), raw["table"], raw["how_known"])
    columns = dict(raw["columns"])
    for column, unit in columns.items():
        factor_of(raw["id"], column, unit)
    return Table(
        raw["id"],
        raw["table"],
        source,
        raw.get("seen", ""),
        raw["key"],
        MappingProxyType(columns),
        MappingProxyType(dict(raw.get("conditions", {}))),
        tuple(MappingProxyType(row) for row in raw["rows"]),
        bool(raw.get("between", False)),
        raw.get("note", ""),
    )


def source_of(table: Table, row: Row | None = None) -> Source:
    """Source of a table, or of one row where the row carries its own."""
    if row is None:
        return table.source
    return Source(
        row.get("document", table.source.document),
        row.get("edition", table.source.edition),
        row.get("place", table.source.place),
        row.get("how_known", table.source.how_known),
    )


def look_up(table: str | Table, row: str | float, column: str, mode: Mode = "exact") -> Cited:
    """Value of a cell in the unit inside, with its limits, conditions and source; OutsideTable where there is none.

    `exact` wants the row itself; `next_larger` takes the row at or above (a standard rating, a band named by its upper
    end); `between` goes straight from row to row, only where the table allows it.
    """
    held = load(table) if isinstance(table, str) else table
    if mode == "between":
        return _between(held, row, column)
    found = held.row(row) if mode == "exact" else _at_or_above(held, row, column)
    return _cited(held, found, column)


def _cited(table: Table, row: Row, column: str) -> Cited:
    value = table.value(row, column)
    if value is None:
        raise OutsideTable(table, row[table.key], column, "the table leaves it empty")
    factor = factor_of(table.id, column, table.columns[column]) or 1.0
    low, high = (row.get(f"{column}_{end}") for end in ("low", "high"))
    at = {**table.conditions, table.key: row[table.key], "column": column}
    return Cited(
        value,
        source_of(table, row),
        None if low is None else low * factor,
        None if high is None else high * factor,
        MappingProxyType(at),
    )


def _numbers(table: Table, asked: object, column: str) -> list[tuple[float, Row]]:
    if isinstance(asked, str) or any(isinstance(key, str) for key in table.row_keys()):
        raise OutsideTable(table, asked, column, "its rows are labels: only an exact row can be read")
    return sorted(((float(row[table.key]), row) for row in table.rows), key=lambda pair: pair[0])


def _at_or_above(table: Table, asked: str | float, column: str) -> Row:
    for key, row in _numbers(table, asked, column):
        if key >= float(asked) or _same(key, asked):
            return row
    raise OutsideTable(table, asked, column, _span(table))


def _between(table: Table, asked: str | float, column: str) -> Cited:
    if not table.between:
        raise OutsideTable(table, asked, column, "the document gives no values between its rows")
    rows = [(key, row) for key, row in _numbers(table, asked, column) if table.value(row, column) is not None]
    for (low, below), (high, above) in pairwise(rows):
        if low <= float(asked) <= high:
            a, b = _cited(table, below, column), _cited(table, above, column)
            value = a.value + (b.value - a.value) * (float(asked) - low) / (high - low)
            at = {**table.conditions, table.key: float(asked), "column": column}
            return Cited(value, a.origin, None, None, MappingProxyType(at))
    raise OutsideTable(table, asked, column, _span(table))
