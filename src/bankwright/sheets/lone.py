"""Rows of a PDF whose label and value stand so close that they are one cell: they are parted, and not taken for prose.

Gives: parted_rows().
Takes: the lines of cells of a page.
Limits: runs of lines at one edge in one hand of which most are such rows and nearly all begin with a capital letter.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from bankwright.sheets.columns import is_value
from bankwright.sheets.measures import Marks
from bankwright.sheets.row import Cell
from bankwright.sheets.split import runs_on, split_row

__all__ = ["parted_rows"]

FEWEST = 3  # such rows in a run
SHARE = 0.6  # of the lines of a run
CAPITALS = 0.85
LONGEST = 100  # letters of a row
NEAR = 3.0  # points: lines that begin at one x
PITCH = 1.6  # of the letter size from one line of a run to the next
Line = tuple[Cell, ...]


def parted_rows(lines: Sequence[Line]) -> list[Line]:
    """The same lines, where each such row is a label and a value."""
    made: dict[int, Line] = {}
    for run in _runs(lines):
        told = {id(cell): row for cell in run if (row := _row(cell))}
        capitals = sum(cell.text[:1].isupper() or cell.text[:1].isdigit() for cell in run)
        if len(told) < max(FEWEST, SHARE * len(run)) or capitals < CAPITALS * len(run):
            continue
        for cell in run:
            made[id(cell)] = told.get(id(cell)) or (replace(cell, fixed=not cell.text[:1].islower()),)
    return [tuple(part for cell in line for part in made.get(id(cell), (cell,))) for line in lines]


def _runs(lines: Sequence[Line]) -> Iterator[list[Cell]]:
    """Cells one below the other that have nothing beside them but such a column in turn."""
    open_runs: list[list[Cell]] = []
    for line in lines:
        for cell in line:
            home = next((run for run in open_runs if _follows(run[-1], cell)), None)
            if home is None:
                open_runs.append([cell])
            else:
                home.append(cell)
    yield from (run for run in open_runs if len(run) >= FEWEST)


def _follows(above: Cell, cell: Cell) -> bool:
    alike = abs(above.x0 - cell.x0) < NEAR and abs(above.size - cell.size) < 0.6 and above.bold == cell.bold
    return alike and 0 < cell.top - above.top < PITCH * cell.size


def _row(cell: Cell) -> Line:
    """Label and value of a cell; empty where it is none, or a heading."""
    text = cell.text
    if cell.bold or len(text) > LONGEST or runs_on(text) or is_value(text) or text.endswith((".", ",", ";", ":")):
        return ()
    label, value = split_row(text, Marks())
    if not value or not label or not (is_value(value) or len(value) < 40):
        return ()
    at = cell.x0 + (cell.x1 - cell.x0) * (len(text) - len(value)) / len(text)
    return (replace(cell, text=label, x1=at - 2, fixed=True), replace(cell, text=value, x0=at, fixed=True))
