"""Cells of a ruled table: what stands in one box is one cell, boxes of one height are one line.

Gives: boxed().
Takes: the lines of cells of a page and its ruled lines.
Limits: boxes that are ruled on all four sides; one that is as high as several rows beside it is left as it is, and so
is one in which a label stands over its value in other letters.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from bankwright.sheets.row import Cell

__all__ = ["boxed", "joined"]

SAME = 2.5  # points: ruled lines that are one
TALLEST = 9.0  # letter sizes: a higher box holds more than one cell
Line = tuple[Cell, ...]
Edges = Sequence[tuple[float, float, float]]
Box = tuple[float, float, float, float]  # left, top, right, bottom


def boxed(lines: Sequence[Line], across: Edges, upright: Edges) -> list[Line]:
    """The same lines, where the cells of a ruled row whose text is wrapped stand on one line."""
    boxes: dict[Box, list[Cell]] = {}
    for cell in (cell for line in lines for cell in line):
        box = _box(cell, across, upright)
        if box is not None:
            boxes.setdefault(box, []).append(cell)
    made: list[Line] = []
    gone: set[int] = set()
    for row in _rows(boxes):
        if any(_within(box, row[0]) for box in boxes):
            continue  # beside smaller rows
        cells = [boxes[box] for box in row]
        if any(len(held) > 1 for held in cells) and all(_alike(held) for held in cells) and len(row) > 1:
            gone |= {id(cell) for held in cells for cell in held}
            made.append(tuple(joined(held) for held in cells))
    if not made:
        return list(lines)
    rest = [left for line in lines if (left := tuple(cell for cell in line if id(cell) not in gone))]
    return sorted([*rest, *made], key=lambda line: min(cell.bottom for cell in line))


def _box(cell: Cell, across: Edges, upright: Edges) -> Box | None:
    """The four ruled lines around a cell; None where one of them is wanting or the box is too high."""
    x, y = cell.x0 + min(cell.x1 - cell.x0, 16) / 2, (cell.top + cell.bottom) / 2
    rows = [at for at, x0, x1 in across if x0 - 1 <= x <= x1 + 1]
    sides = [at for at, top, bottom in upright if top - 1 <= y <= bottom + 1]
    top, bottom = max((e for e in rows if e <= y), default=None), min((e for e in rows if e > y), default=None)
    left, right = max((e for e in sides if e <= x), default=None), min((e for e in sides if e > x), default=None)
    if top is None or bottom is None or left is None or right is None or bottom - top > TALLEST * cell.size:
        return None
    return (round(left), round(top), round(right), round(bottom))


def _rows(boxes: dict[Box, list[Cell]]) -> list[list[Box]]:
    """Boxes between the same two ruled lines, from the left."""
    rows: list[list[Box]] = []
    for box in sorted(boxes, key=lambda b: (b[1], b[3], b[0])):
        home = next((r for r in rows if abs(r[0][1] - box[1]) < SAME and abs(r[0][3] - box[3]) < SAME), None)
        if home is None:
            rows.append([box])
        else:
            home.append(box)
    return rows


def _within(box: Box, row: Box) -> bool:
    """Whether a box is lower than a row and stands at its height."""
    inside = row[1] - SAME <= box[1] and box[3] <= row[3] + SAME
    return inside and box[3] - box[1] < row[3] - row[1] - 2 * SAME


def _alike(cells: Sequence[Cell]) -> bool:
    """Whether cells of one box are lines of one text: one hand, one below the other."""
    hands = {(round(cell.size), cell.bold) for cell in cells}
    apart = all(a.bottom < b.top + 0.4 * a.size for a, b in pairwise(cells))
    return len(hands) == 1 and apart


def joined(cells: Sequence[Cell]) -> Cell:
    """Lines of one text as one cell."""
    text = cells[0].text
    for cell in cells[1:]:
        text = text[:-1] + cell.text if text.endswith("-") and cell.text[:1].islower() else f"{text} {cell.text}"
    return replace(
        cells[0],
        text=text,
        x0=min(c.x0 for c in cells),
        x1=max(c.x1 for c in cells),
        top=min(c.top for c in cells),
        bottom=max(c.bottom for c in cells),
    )
