"""The quick way through a piece of a foreign file that has nothing odd in it: pyarrow parts and converts it.

Gives: quick_columns(). None wherever one field is not as it should be (a torn line, a repeated heading, an unusual way
of saying none), and where pyarrow is not installed: the piece is then read the slow way, which tells what is odd.
Limits: tables of one quantity a column whose rows are all of one module; both ways give the same (a test).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np

from bankwright.logbook.elsewhere.mapping import Mapping
from bankwright.logbook.elsewhere.source import Chunk

__all__ = ["Column", "quick_columns"]

Column = Sequence[str] | np.ndarray  # texts, or numbers with NaN where there is none
_NONE = ["", "-", "--", "NaN", "nan", "n/a", "N/A", "NA", "null", "NULL", "None", "unavailable"]


@lru_cache
def _arrow() -> Any:
    try:
        import pyarrow.csv
    except ImportError:
        return None
    return pyarrow


def quick_columns(chunk: Chunk, mapping: Mapping) -> list[Column] | None:
    """Columns of a piece, those that are not needed empty; None where the slow way must be taken."""
    layout = mapping.layout
    if mapping.long is not None or mapping.by is not None or layout.rejoin or layout.wrapped or layout.delimiter == " ":
        return None
    data = chunk.from_line(layout.first)
    if _arrow() is None or not data or b"\0" in data or (chunk.encoding != "utf-8" and not data.isascii()):
        return None
    if layout.comment and (data.startswith(mark := layout.comment.encode()) or b"\n" + mark in data):
        return None
    table = _table(data, mapping)
    rows = data.count(b"\n") + (not data.endswith(b"\n"))
    if table is None or table.num_rows != rows:
        return None
    out: list[Column] = [()] * len(layout.names)
    for name in table.column_names:
        values = table.column(name).combine_chunks().to_numpy(zero_copy_only=False)
        if values.dtype.kind == "f" and np.isinf(values).any():
            return None
        out[int(name)] = values if values.dtype.kind == "f" else values.tolist()
    return None if any(_has_none(out[k]) for k in mapping.time.columns) else out


def _has_none(column: Column) -> bool:
    """A row without a time: a blank line, or one that the slow way must look at."""
    if isinstance(column, np.ndarray):
        return bool(np.isnan(column).any())
    return not all(column)


def _table(data: bytes, mapping: Mapping) -> Any:
    """The columns that are needed, as pyarrow reads them; None where it cannot."""
    arrow, layout = _arrow(), mapping.layout
    texts = set(mapping.time.columns) if mapping.time.kind in ("moment", "clock") else set()
    numbers = {mapping.column(take.heading) for take in mapping.takes} | (set(mapping.time.columns) - texts)
    types = {str(k): arrow.float64() for k in numbers} | {str(k): arrow.string() for k in texts}
    read = arrow.csv.ReadOptions(
        use_threads=False, block_size=len(data) + 1, column_names=[str(k) for k in range(len(layout.names))]
    )
    parse = arrow.csv.ParseOptions(
        delimiter=layout.delimiter, quote_char='"' if layout.quoted else False, ignore_empty_lines=False
    )
    convert = arrow.csv.ConvertOptions(
        column_types=types, include_columns=list(types), null_values=_NONE, decimal_point=layout.numbers.decimal
    )
    try:
        return arrow.csv.read_csv(
            arrow.BufferReader(data), read_options=read, parse_options=parse, convert_options=convert
        )
    except (arrow.ArrowInvalid, arrow.ArrowKeyError):
        return None
