"""Headings of several lines, and tables with a model a row.

Gives: columns_under(), stacked(), with_models_as_columns().
Takes: cells of two lines of headings; rows.
Limits: a heading over several columns stands over their middle.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from bankwright.sheets.columns import looks_like_models
from bankwright.sheets.row import Cell, Row

__all__ = ["columns_under", "stacked", "with_models_as_columns"]

NEAR = 7.0  # points between the middle of a heading and that of the columns under it
Line = tuple[Cell, ...]


def stacked(above: Line, below: Line) -> Line:
    """One heading a column, of two lines of headings: what stands over several columns goes to each of them."""
    taken: dict[int, list[Cell]] = {}
    alone: list[Cell] = []
    direct = {n: cell for n, one in enumerate(below) for cell in above if _apart(cell, one, one) < NEAR}
    for cell in above:
        free = [n for n in range(len(below)) if direct.get(n, cell) is cell]  # the others have a heading of their own
        under = columns_under(cell, below, free)
        for n in under:
            taken.setdefault(n, []).append(cell)
        if not under:
            alone.append(cell)
    made = [
        replace(cell, text=" ".join([*(c.text for c in taken.get(n, [])), cell.text])) for n, cell in enumerate(below)
    ]
    return tuple(sorted([*alone, *made], key=lambda cell: cell.x0))


def columns_under(cell: Cell, below: Line, free: Sequence[int] | None = None) -> range:
    """The columns whose middle lies under the middle of a heading; as many as may be, of those that are free."""
    best = range(0)
    allowed = set(range(len(below)) if free is None else free)
    for first in range(len(below)):
        for last in range(first + 1, len(below) + 1):
            near = _apart(cell, below[first], below[last - 1]) < NEAR and set(range(first, last)) <= allowed
            if near and last - first > len(best):
                best = range(first, last)
    return best


def _apart(cell: Cell, first: Cell, last: Cell) -> float:
    """How far the middle of a cell is from that of two others."""
    return abs(first.x0 + last.x1 - cell.x0 - cell.x1) / 2


def with_models_as_columns(rows: Sequence[Row]) -> Iterator[Row]:
    """Rows of a table with a model a row become one row for each of its columns, with the models over the values."""
    n = 0
    while n < len(rows):
        run = _run(rows, n)
        if len(run) < 2:
            yield rows[n]
            n += 1
            continue
        yield replace(run[0], label="", values=tuple(row.label for row in run), heads=())
        for row in run:
            told = zip(row.heads, row.values, row.own_notes or [""] * len(row.values), strict=True)
            yield from (
                replace(row, label=head, values=(value,), heads=(row.label,), own_notes=(note,) if note else ())
                for head, value, note in told
                if head
            )
        n += len(run)


def _run(rows: Sequence[Row], n: int) -> list[Row]:
    """Rows that follow each other under the same headings and bear names of models."""
    run: list[Row] = []
    for row in rows[n:]:
        if not row.label or len(row.heads) != len(row.values) or len(row.values) < 2 or row.heads != rows[n].heads:
            break
        run.append(row)
    return run if looks_like_models([row.label for row in run]) else []
