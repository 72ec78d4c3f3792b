"""Headings of several lines, and tables with a model a row.

Gives: columns_under(), piled(), stacked(), with_models_as_columns().
Takes: cells of two lines of headings; rows.
Limits: a heading over several columns stands over their middle.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from bankwright.sheets.columns import looks_like_models
from bankwright.sheets.row import Cell, Row

__all__ = ["columns_under", "piled", "stacked", "with_models_as_columns"]

NEAR = 7.0  # points between the middle of a heading and that of the columns under it
TALL = 3  # lines of a heading; of two the places decide (stacked)
Line = tuple[Cell, ...]


def piled(lines: Sequence[Line]) -> list[Line]:
    """The same lines; bold headings of three lines and more, one below the other, are one line of headings."""
    out: list[Line] = []
    n = 0
    while n < len(lines):
        run = _bold_run(lines[n:])
        made = _one_line(run) if len(run) >= TALL else None
        out.append(made or lines[n])
        n += len(run) if made else 1
    return out


def _bold_run(lines: Sequence[Line]) -> list[Line]:
    """Lines that follow closely, all in bold letters of one size."""
    run: list[Line] = []
    for line in lines:
        near = not run or line[0].top - run[-1][0].bottom < 0.5 * line[0].size
        alike = all(cell.bold and abs(cell.size - lines[0][0].size) < 0.6 for cell in line)
        if not (near and alike):
            break
        run.append(line)
    return run


def _one_line(run: Sequence[Line]) -> Line | None:
    """Each column's headings from top to bottom; the fullest line says which columns there are."""
    base = max(run, key=len)
    if len(base) < 3:
        return None
    under: list[list[Cell]] = [[] for _ in base]
    for cell in (cell for line in run for cell in line):
        at = [n for n, column in enumerate(base) if cell.x0 < column.x1 and column.x0 < cell.x1]
        if not at:
            return None
        for n in at:
            under[n].append(cell)
    return tuple(
        replace(
            column,
            text=" ".join(cell.text for cell in cells),
            top=min(c.top for c in cells),
            bottom=max(c.bottom for c in cells),
        )
        for column, cells in zip(base, under, strict=True)
    )


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
