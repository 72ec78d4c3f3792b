"""A page as it is read: columns one after the other, numbers with their caption, justified lines whole.

Gives: flowing(), runs_on().
Takes: a page of lines of cells.
Limits: two columns are parts of a page of which each has its own labels with values, or running text; a table with
columns of values is none.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from statistics import median

from bankwright.sheets.columns import is_unit, is_value
from bankwright.sheets.paper import PagePlan
from bankwright.sheets.row import Cell

__all__ = ["flowing", "runs_on"]

Line = tuple[Cell, ...]
PROSE = 40  # letters of a line of running text
OFTEN = 4  # lines of labels over their values
FEWEST = 3  # lines of a table beside another one
TITLE = 12.0  # points: larger letters are those of a title
LARGE = 1.5  # of the usual letter size: a number to be seen from afar
_WORD = re.compile(r"[^\W\d_]{3}|[\u4e00-\u9fff]{2}")


def flowing(page: PagePlan) -> Iterator[PagePlan]:
    """Parts of a page in reading order."""
    lines = _paired(_captioned(_abreast(page.lines)))
    yield from (replace(page, lines=tuple(map(_justified, part)), over=over) for part, over in _parts(lines))


def runs_on(above: Cell, cell: Cell, edge: float) -> bool:
    """Whether a line of running text broke because the next word did not fit before the edge of its column."""
    letter = 0.5 * above.size  # a usual letter
    word = len(cell.text.split(" ", 1)[0]) + 1
    return len(above.text) >= PROSE and above.x1 + word * letter > edge - letter


def _justified(line: Line) -> Line:
    """Words that wide blanks drew apart to fill a line are one text."""
    gaps = [b.x0 - a.x1 for a, b in pairwise(line)]
    even = len(line) >= 4 and max(gaps) < 1.6 * min(gaps) and max(gaps) < 2.5 * line[0].size
    figures = any(re.search(r"\d", cell.text) for cell in line)
    small = sum(cell.text[:1].islower() for cell in line)
    if not even or (figures and (2 * small < len(line) or any(is_value(cell.text) for cell in line[1:3]))):
        return line
    return (replace(line[0], text=" ".join(cell.text for cell in line), x1=line[-1].x1),)


def _abreast(lines: Sequence[Line]) -> list[Line]:
    """The same lines; tables side by side, each under a heading of its own, one after the other."""
    out: list[Line] = []
    n = 0
    while n < len(lines):
        block = _under_two(lines, n)
        if block:
            x = lines[n][-1].x0 - 6
            out += [left for line in block if (left := tuple(c for c in line if c.x0 < x))]
            out += [right for line in block if (right := tuple(c for c in line if c.x0 >= x))]
        else:
            out.append(lines[n])
        n += max(1, len(block))
    return out


def _under_two(lines: Sequence[Line], n: int) -> list[Line]:
    """A line of two headings with the lines of the two tables under them; empty where there are none such."""
    head = lines[n]
    if len(head) != 2 or not all(cell.bold and _wordy(cell) for cell in head):
        return []
    x = head[1].x0 - 6
    block: list[Line] = [head]
    for line in lines[n + 1 :]:
        crosses = any(c.x0 < x < c.x1 for c in line)
        if crosses or any(c.bold and c.size > head[0].size - 0.5 for c in line):
            break
        block.append(line)
    body = block[1:]
    smaller = all(c.size < head[0].size - 0.5 for line in body for c in line)
    return block if smaller and all(_table_under(head[n], body, x, right=bool(n)) for n in (0, 1)) else []


def _table_under(head: Cell, body: Sequence[Line], x: float, *, right: bool) -> bool:
    """Whether the cells of one side are lines of a table that begins where its heading does."""
    parts = [part for line in body if (part := [c for c in line if (c.x0 >= x) == right])]
    lines = sum(len(part) >= 2 for part in parts)
    return lines >= FEWEST and abs(min(c.x0 for part in parts for c in part) - head.x0) < 12


def _parts(lines: Sequence[Line], over: Cell | None = None) -> Iterator[tuple[tuple[Line, ...], Cell | None]]:
    """Parts of a page in reading order, each with the heading that stands over it and beside its own column."""
    found = _columns(lines)
    if found is None:
        yield tuple(lines), over
        return
    first, last, x = found
    if first:
        yield from _parts(lines[:first], over)
        over = _heading(lines[first - 1]) or over
    cuts = _shared_headings(lines[first:last], x)
    for start, end in pairwise([0, *cuts, last - first]):
        block = lines[first + start : first + end]
        if not block:
            continue
        over = (_heading(block[0]) if start in cuts else None) or over
        left = [tuple(c for c in line if c.x0 < x - 4) for line in block]
        right = [tuple(c for c in line if c.x0 >= x - 4) for line in block]
        yield from _parts([line for line in left if line], over)
        yield from _parts([line for line in right if line], over)
    if last < len(lines):
        yield from _parts(lines[last:])


def _heading(line: Line) -> Cell | None:
    """The cell of a line that is a heading and nothing else."""
    return line[0] if len(line) == 1 and line[0].bold and line[0].size <= TITLE and _wordy(line[0]) else None


def _shared_headings(block: Sequence[Line], x: float) -> list[int]:
    """Lines of headings that stand over both columns: beside none of them is anything in the right one."""
    heads = [n for n, line in enumerate(block) if _heading(line) and line[0].x0 < x - 4]
    right = [cell for line in block for cell in line if cell.x0 >= x - 4]
    own = any(cell.bold and len(line) == 1 for line in block for cell in line if cell.x0 >= x - 4)
    free = [n for n in heads if not any(_level(block[n][0], cell) for cell in right)]
    under = [n for n in free if any(c.x0 >= x - 4 for line in block[n + 1 : n + 2] for c in line)]
    return under if heads and not own and len(free) == len(heads) and under else []


def _level(head: Cell, cell: Cell) -> bool:
    return cell.top < head.bottom and head.top < cell.bottom


def _columns(lines: Sequence[Line]) -> tuple[int, int, float] | None:
    """The longest run of lines that two columns share, and where the second begins."""
    starts = [round(cell.x0) for line in lines for cell in line[1:] if _wordy(cell)]
    starts += [round(line[0].x0) for line in lines if _wordy(line[0])]
    best: tuple[int, int, float] | None = None
    for x in sorted({s for s in starts if sum(abs(s - o) <= 2 for o in starts) >= 4}):
        for first, last in _runs(lines, x):
            if (best is None or last - first > best[1] - best[0]) and _two_columns(lines[first:last], x):
                best = (first, last, float(x))
    return best


def _runs(lines: Sequence[Line], x: float) -> Iterator[tuple[int, int]]:
    """Runs of lines of which no cell crosses x."""
    start = 0
    for n, line in enumerate([*lines, ()]):
        if n == len(lines) or any(c.x0 < x - 4 and c.x1 > x - 3 for c in line):
            if n - start >= 4:
                yield start, n
            start = n + 1


def _two_columns(block: Sequence[Line], x: float) -> bool:
    left = [part for line in block if (part := tuple(c for c in line if c.x0 < x - 4))]
    right = [part for line in block if (part := tuple(c for c in line if c.x0 >= x - 4))]
    return len(left) >= 3 and len(right) >= 3 and _stands_alone(left) and _stands_alone(right) and _begins(right, x)


def _begins(part: Sequence[Line], x: float) -> bool:
    at = [line for line in part if abs(line[0].x0 - x) < 9]
    return len(at) >= 0.7 * len(part) and sum(_wordy(line[0]) for line in at) >= 0.7 * len(part)


def _stands_alone(part: Sequence[Line]) -> bool:
    """Whether one side has labels with their values, or running text."""
    pairs = sum(len(line) >= 2 and _wordy(line[0]) and is_value(line[-1].text) for line in part)
    prose = sum(len(line) == 1 and len(line[0].text) >= PROSE and not is_value(line[0].text) for line in part)
    alone = sum(_wordy(line[0]) for line in part)
    return pairs + prose >= max(2, 0.3 * len(part)) and alone >= 0.6 * len(part)


def _wordy(cell: Cell) -> bool:
    return bool(_WORD.search(cell.text)) and not is_value(cell.text)


def _captioned(lines: Sequence[Line]) -> list[Line]:
    """Large numbers become rows: the caption under or over one is its label."""
    body = median([cell.size for line in lines for cell in line] or [8.0])
    made: dict[int, list[Line]] = {}
    gone: set[int] = set()
    for n, line in enumerate(lines):
        for cell in line:
            if cell.size < LARGE * body or not is_value(cell.text) or len(cell.text) > 24:
                continue
            caption = _caption(cell, lines[n + 1 : n + 3], gone) or _caption(cell, lines[max(0, n - 2) : n], gone)
            if caption is not None:
                gone |= {id(cell), id(caption)}
                beside = replace(caption, x0=0.0, x1=1.0, top=cell.top, bottom=cell.bottom)
                made.setdefault(n, []).append((beside, cell))
    out: list[Line] = []
    for n, line in enumerate(lines):
        rest = tuple(cell for cell in line if id(cell) not in gone)
        out += made.get(n, [])
        out += [rest] if rest else []
    return out


def _paired(lines: Sequence[Line]) -> list[Line]:
    """A label in bold with its value on the line under it, again and again, becomes a row of two cells."""
    under = {
        id(cell): (n, below) for n, line in enumerate(lines) for cell in line if (below := _value_under(lines, n, cell))
    }
    if len({n for n, _ in under.values()}) < OFTEN:
        return list(lines)
    gone = {id(below) for _, below in under.values()}
    out: list[Line] = []
    for line in lines:
        made: list[Cell] = []
        for cell in line:
            if id(cell) in gone:
                continue
            made.append(cell)
            if id(cell) in under:
                value = under[id(cell)][1]
                made.append(replace(value, x0=cell.x1 + 6, x1=cell.x1 + 8, top=cell.top, bottom=cell.bottom))
        out += [tuple(made)] if made else []
    return out


def _value_under(lines: Sequence[Line], n: int, cell: Cell) -> Cell | None:
    """The cell under a bold label, where nothing stands beside or right under it in turn."""
    if not cell.bold or not _wordy(cell) or n + 1 >= len(lines):
        return None
    at = [c for c in lines[n + 1] if abs(c.x0 - cell.x0) < 3 and not c.bold and len(c.text) < PROSE]
    near = bool(at) and at[0].top - cell.bottom < cell.size and not _has_value_beside(lines[n + 1], at[0])
    last = [c for line in lines[n + 2 : n + 3] for c in line if abs(c.x0 - cell.x0) < 3 and not c.bold]
    return at[0] if near and not (last and last[0].top - at[0].bottom < 0.5 * cell.size) else None


def _has_value_beside(line: Line, cell: Cell) -> bool:
    """Whether a cell is itself the label of a value on its line."""
    after = [c for c in line if c.x0 > cell.x1]
    return _wordy(cell) and bool(after) and (is_value(after[0].text) or is_unit(after[0].text))


def _caption(number: Cell, near: Sequence[Line], gone: set[int]) -> Cell | None:
    for cell in (cell for line in near for cell in line):
        gap = max(cell.top - number.bottom, number.top - cell.bottom)
        centred = abs(cell.x0 + cell.x1 - number.x0 - number.x1) < 20
        beneath = centred or abs(cell.x0 - number.x0) < 4
        if id(cell) not in gone and beneath and gap < number.size and cell.size < 0.75 * number.size and _wordy(cell):
            return cell
    return None
