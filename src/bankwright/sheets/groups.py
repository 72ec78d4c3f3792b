"""Labels that stand beside several rows: between ruled lines, turned on their side, or in a sparse column on the left.

Gives: groups_of(), middle_of().
Takes: a page of lines of cells.
Limits: without ruled lines a label stands at the top of its rows or in the middle of them.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from statistics import median

from bankwright.sheets.columns import is_value
from bankwright.sheets.paper import PagePlan
from bankwright.sheets.row import Cell

__all__ = ["groups_of", "middle_of"]

NEAR = 3.0  # points: cells that begin at one x
Line = tuple[Cell, ...]


def groups_of(page: PagePlan) -> list[tuple[list[Cell], float, float]]:
    """Cells beside several rows: their cells and the heights between which their rows stand."""
    out = _turned_groups(page)
    firsts = [line[0] for line in page.lines]
    for cell in firsts:
        if cell.fixed or any(cell in cells for cells, _, _ in out) or is_value(cell.text):
            continue
        top, bottom = _span(page, cell)
        inside = [line for line in page.lines if top - 1 <= middle_of(line[0]) <= bottom + 1]
        own = [line[0] for line in inside if abs(line[0].x0 - cell.x0) < NEAR]
        beside = [line for line in inside if line[0].x0 > max(c.x1 for c in own) and len(line) >= 2]
        together = all(b.top - a.bottom < 1.2 * a.size for a, b in pairwise(own))
        if top > 0 and bottom < 1e6 and len(inside) >= 2 and beside and together and len(own) <= 4:
            shared = sum(1 for line in inside if line[0] in own and len(line) >= 3)
            if len(beside) + shared >= 2:
                out.append((own, top, bottom))
    return out or _groups_unruled(page)


def _turned_groups(page: PagePlan) -> list[tuple[list[Cell], float, float]]:
    """Labels that run up beside their rows, between ruled lines."""
    made = [([cell], *_span(page, cell)) for cell in page.turned if len(cell.text) > 2]
    return [(cells, top, bottom) for cells, top, bottom in made if top > 0 and bottom < 1e6]


def _span(page: PagePlan, cell: Cell) -> tuple[float, float]:
    x, y = (cell.x0 + min(cell.x1, cell.x0 + 20)) / 2, middle_of(cell)
    at = [edge for edge, x0, x1 in page.across if x0 - 1 <= x <= x1 + 1]
    return max((e for e in at if e <= y), default=0.0), min((e for e in at if e > y), default=1e9)


def middle_of(cell: Cell) -> float:
    """Half height of a cell on its page."""
    return (cell.top + cell.bottom) / 2


def _groups_unruled(page: PagePlan) -> list[tuple[list[Cell], float, float]]:
    """Without ruled lines: a sparse column to the left of the labels; top cell on the first row, or centred."""
    out: list[tuple[list[Cell], float, float]] = []
    for run in _runs(page):
        left = min(line[0].x0 for line in run)
        marks = [line[0] for line in run if line[0].x0 - left < NEAR]
        if not 1 <= len(marks) < len(run) / 1.8 or any(is_value(m.text) for m in marks):
            continue
        first, last = run[0][0].top - 1, run[-1][0].bottom + 1
        if run[0][0] is marks[0]:
            ends = [*(m.top - 1 for m in marks[1:]), last]
            out += [([m], m.top - 1, end) for m, end in zip(marks, ends, strict=True)]
            continue
        top = first
        for mark in marks:
            bottom = 2 * middle_of(mark) - top
            out.append(([mark], top, min(bottom, last)))
            top = bottom
    return out


def _runs(page: PagePlan) -> Iterator[list[Line]]:
    """Lines one below another of which most begin at one x, some to the left of it with a cell more."""
    run: list[Line] = []
    for line in page.lines:
        fits = len(line) >= 2 and (not run or line[0].top - run[-1][0].bottom < 1.6 * line[0].size)
        if fits:
            run.append(line)
            continue
        if _mixed(run):
            yield run
        run = [line] if len(line) >= 2 else []
    if _mixed(run):
        yield run


def _mixed(run: list[Line]) -> bool:
    if len(run) < 4:
        return False
    left = min(line[0].x0 for line in run)
    wide = [line for line in run if line[0].x0 - left < NEAR]
    rest = [line for line in run if line[0].x0 - left >= NEAR]
    if not rest or not wide:
        return False
    label = median([line[0].x0 for line in rest])
    return all(len(line) >= 3 and abs(line[1].x0 - label) < NEAR for line in wide) and all(
        abs(line[0].x0 - label) < NEAR for line in rest
    )
