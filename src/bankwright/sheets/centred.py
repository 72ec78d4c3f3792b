"""Rows of a table without ruled lines whose cells are wrapped and stand beside each other by their middles.

Gives: centred().
Takes: the lines of cells of a page.
Limits: a cell of two to four lines with another one beside it, on none of these lines but at their middle.
"""

from __future__ import annotations

from collections.abc import Sequence

from bankwright.sheets.columns import is_value
from bankwright.sheets.grid import joined
from bankwright.sheets.row import Cell

__all__ = ["centred"]

NEAR = 3.0  # points: lines of one cell begin at one x
MIDDLE = 2.0  # points between the middles of two cells of a row
CLOSE = 0.5  # of the letter size between two lines of a cell
MOST = 4  # lines of a cell
Line = tuple[Cell, ...]
Block = list[Cell]


def centred(lines: Sequence[Line]) -> list[Line]:
    """The same lines, where such a row is one line of cells."""
    blocks = _blocks(lines)
    gone: set[int] = set()
    made: list[Line] = []
    for block in blocks:
        if not 2 <= len(block) <= MOST or any(id(cell) in gone for cell in block):
            continue
        beside = [other for other in blocks if other is not block and _beside(block, other)]
        if not any(_off(block, other) for other in beside) or _is_pair_apart(beside):
            continue
        row = sorted([block, *(b for b in beside if not any(id(c) in gone for c in b))], key=lambda b: b[0].x0)
        gone |= {id(cell) for held in row for cell in held}
        made.append(tuple(joined(held) for held in row))
    if not made:
        return list(lines)
    rest = [left for line in lines if (left := tuple(cell for cell in line if id(cell) not in gone))]
    return sorted([*rest, *made], key=lambda line: min(cell.bottom for cell in line))


def _blocks(lines: Sequence[Line]) -> list[Block]:
    """Cells with those that stand close below them at one edge and in one hand."""
    blocks: list[Block] = []
    for cell in (cell for line in lines for cell in line):
        home = next((b for b in reversed(blocks[-40:]) if _follows(b[-1], cell)), None)
        if home is None:
            blocks.append([cell])
        else:
            home.append(cell)
    return blocks


def _follows(above: Cell, cell: Cell) -> bool:
    near = abs(above.x0 - cell.x0) < NEAR or abs(above.x0 + above.x1 - cell.x0 - cell.x1) < NEAR
    alike = above.bold == cell.bold and abs(above.size - cell.size) < 0.6 and not cell.fixed
    return near and alike and -0.3 * cell.size < cell.top - above.bottom < CLOSE * cell.size


def _beside(block: Block, other: Block) -> bool:
    """Whether a cell stands beside another one, no higher than it, their middles at one height."""
    top, bottom = block[0].top, block[-1].bottom
    across = other[0].x0 < max(c.x1 for c in block) and block[0].x0 < max(c.x1 for c in other)
    inside = top - 1 <= other[0].top and other[-1].bottom <= bottom + 1
    return not across and inside and abs(top + bottom - other[0].top - other[-1].bottom) / 2 < MIDDLE


def _off(block: Block, other: Block) -> bool:
    """Whether a cell begins below the first line of the other: on the line it would be read with it anyway."""
    return other[0].top - block[0].top > 0.25 * block[0].size


def _is_pair_apart(beside: Sequence[Block]) -> bool:
    """A label with its value of another column of the page, beside a label in two lines."""
    cells = sorted((b[0] for b in beside), key=lambda c: c.x0)
    return len(cells) == 2 and not is_value(cells[0].text) and is_value(cells[1].text)
