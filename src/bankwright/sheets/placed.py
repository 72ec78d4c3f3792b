"""Pasted text that keeps its places by blanks is a page: cells have the places of their letters.

Gives: is_placed(), sheet_of_places().
Takes: the lines of a text.
Limits: text with tabs is none; two blanks part no cells, three do.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from bankwright.sheets.columns import is_value
from bankwright.sheets.layout import sheet_of_pages
from bankwright.sheets.paper import PagePlan
from bankwright.sheets.row import Cell, Row, Sheet

__all__ = ["is_placed", "sheet_of_places"]

SHARE = 0.5  # of the lines that have cells apart
WIDE = 4.0  # points of a letter
PITCH = 13.0  # points from line to line: too far for a wrapped cell, near enough for running text
SIZE = 8.0
_CELL = re.compile(r"\S(?:\S|\s{1,2}(?=\S))*")


def is_placed(lines: Sequence[str]) -> bool:
    """Whether the columns of a text were kept in place by blanks."""
    if any("\t" in line for line in lines):
        return False
    apart = sum(bool(re.search(r"\S\s{4,}\S", line)) for line in lines)
    return apart >= SHARE * len(lines)


def sheet_of_places(lines: Sequence[tuple[int, str]], text: str, title: str) -> Sheet:
    """Rows of such a text, each with the number of its line."""
    made = [(n, tuple(_joined(_cells(line, n)))) for n, line in lines]
    page = PagePlan(0, tuple(cells for _, cells in made), (), ())
    rows = sheet_of_pages([page]).rows
    return Sheet(tuple(_numbered(rows, made)), text, title)


def _cells(line: str, n: int) -> list[Cell]:
    top = n * PITCH
    return [
        Cell(re.sub(r"\s+", " ", m[0]), m.start() * WIDE, m.end() * WIDE, top, top + SIZE, SIZE)
        for m in _CELL.finditer(line)
    ]


def _joined(cells: list[Cell]) -> list[Cell]:
    """A label that its blanks drew apart is one: three of them before words in small letters."""
    out: list[Cell] = []
    for cell in cells:
        near = bool(out) and cell.x0 - out[-1].x1 <= 3 * WIDE
        if near and cell.text[:1].islower() and not is_value(cell.text) and not is_value(out[-1].text):
            out[-1] = replace(out[-1], text=f"{out[-1].text} {cell.text}", x1=cell.x1)
        else:
            out.append(cell)
    return out


def _numbered(rows: Sequence[Row], made: Sequence[tuple[int, tuple[Cell, ...]]]) -> list[Row]:
    """Rows with the line that they begin on; a row whose line is not found again has none."""
    found: list[Row] = []
    printed = [(n, re.sub(r"\s+", " ", " ".join(cell.text for cell in cells))) for n, cells in made]
    for row in rows:
        line = re.sub(r"\s+", " ", row.line)
        at = next((n for n, text in printed if line.startswith(text) or text.startswith(line)), None)
        found.append(replace(row, page=None, line_no=at))
    return found
