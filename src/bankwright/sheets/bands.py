"""Rows of a table whose cells stand at different heights: a label in two lines beside a value that is centred.

Gives: settled().
Takes: the lines of cells of a page and its ruled lines.
Limits: between ruled lines a row is what stands between two of them, where one of its cells has a single line; without
them, a value between the two lines of its label.
"""

from __future__ import annotations

from collections.abc import Sequence

from bankwright.sheets.centred import centred
from bankwright.sheets.grid import joined
from bankwright.sheets.headings import stacked
from bankwright.sheets.row import Cell

__all__ = ["settled"]

Line = tuple[Cell, ...]
TALLEST = 6.0  # letter sizes: a row of a table is no higher
MOST_LINES = 4
SAME = 2.5  # points: ruled lines that are one


def settled(lines: Sequence[Line], across: Sequence[tuple[float, float, float]]) -> tuple[Line, ...]:
    """The same lines, where cells of one row of a table stand on one line."""
    return tuple(centred(_ruled(lines, across)))


def _ruled(lines: Sequence[Line], across: Sequence[tuple[float, float, float]]) -> list[Line]:
    bands: list[tuple[float, float, list[Cell]]] = []
    for line in lines:
        for cell in line:
            top, bottom = _band(cell, across)
            if cell.fixed or bottom - top > TALLEST * cell.size:
                continue
            home = next((b for b in bands if abs(b[0] - top) < SAME and abs(b[1] - bottom) < SAME), None)
            if home is None:
                bands.append((top, bottom, [cell]))
            else:
                home[2].append(cell)
    moved = [(cells, made) for _, _, cells in bands if (made := _one_line(cells))]
    moved = [_with_nested(cells, made, lines) for cells, made in moved]
    gone = {id(cell) for cells, _ in moved for cell in cells}
    out = [tuple(cell for cell in line if id(cell) not in gone) for line in lines]
    whole = [line for line in out if line] + [made for _, made in moved]
    return sorted(whole, key=lambda line: min(cell.bottom for cell in line)) if moved else list(lines)


def _band(cell: Cell, across: Sequence[tuple[float, float, float]]) -> tuple[float, float]:
    x, y = (cell.x0 + min(cell.x1, cell.x0 + 20)) / 2, (cell.top + cell.bottom) / 2
    at = [edge for edge, x0, x1 in across if x0 - 1 <= x <= x1 + 1]
    return max((e for e in at if e <= y), default=0.0), min((e for e in at if e > y), default=1e9)


def _one_line(cells: list[Cell]) -> Line | None:
    """Cells between two ruled lines as one line, where they form columns of which one has a single line."""
    columns: list[list[Cell]] = []
    for cell in sorted(cells, key=lambda c: (c.x0, c.top)):
        home = next((c for c in columns if any(cell.x0 < k.x1 and k.x0 < cell.x1 for k in c)), None)
        if home is None:
            columns.append([cell])
        else:
            home.append(cell)
    if any(_hands(column) > 1 for column in columns):
        return None  # a heading over its first row
    heights = [len(column) for column in columns]
    if len(columns) < 2 or min(heights) > 1 or not 2 <= max(heights) <= MOST_LINES:
        return None
    return tuple(joined(sorted(column, key=lambda c: c.top)) for column in columns)


def _hands(column: list[Cell]) -> int:
    """How many sizes and weights of letters stand in a column of cells."""
    return len({(round(cell.size), cell.bold) for cell in column})


def _with_nested(cells: list[Cell], made: Line, lines: Sequence[Line]) -> tuple[list[Cell], Line]:
    """Cells of smaller rows beside one high row: headings over several columns, and those under them."""
    top, bottom = min(c.top for c in made) - 3, max(c.bottom for c in made) + 3
    held = {id(cell) for cell in cells}
    inside = [
        cell
        for line in lines
        for cell in line
        if id(cell) not in held
        and top <= cell.top
        and cell.bottom <= bottom
        and not any(cell.x0 < k.x1 and k.x0 < cell.x1 for k in made)
    ]
    if not inside:
        return cells, made
    half = min(c.bottom for c in inside)
    upper = tuple(c for c in inside if c.top < half - 1)
    lower = tuple(sorted((c for c in inside if c.top >= half - 1), key=lambda c: c.x0))
    nested = stacked(upper, lower) if upper and lower else tuple(inside)
    return [*cells, *inside], tuple(sorted((*made, *nested), key=lambda c: c.x0))
