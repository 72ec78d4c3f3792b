"""Lines of cells become rows: label beside value, headings over columns, groups beside rows, wrapped lines joined.

Gives: sheet_of_pages().
Takes: pages of paper.
Limits: tables that read from left to right. A heading is a line of which no cell holds a value; a group is a cell that
stands beside several rows, between the ruled lines of its column or, where none are ruled, in the middle or at the top
of its rows.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from statistics import median

from bankwright.sheets.columns import HEAD_WORDS, is_value, looks_like_models, models_in
from bankwright.sheets.flow import flowing, runs_on
from bankwright.sheets.groups import groups_of, middle_of
from bankwright.sheets.headings import piled, stacked, with_models_as_columns
from bankwright.sheets.notes import cut_mark, without_marks
from bankwright.sheets.over import TITLE, Heads, spread, with_unit
from bankwright.sheets.paper import PagePlan
from bankwright.sheets.row import Cell, Row, Sheet

__all__ = ["sheet_of_pages"]

NEAR = 3.0  # points: cells that begin at one x
WRAPPED = 0.5  # of the letter size between a line and its continuation
PROSE = 70  # letters: a longer line is no heading
SPACED = 1.0  # the same in running text with wide lines
_NOTE = re.compile(r"^(?:[\[(]?(\d|[a-f](?=\)?\s))\]?\)?|([*†‡]+)|⁽?([¹²³⁴⁵])[⁾)]?)\s+(?=\S)(?![\d.,]+\s*\S{1,3}$)")
_ENDS_IN_VALUE = re.compile(r"\d\s*(?:[mk]?[VAW]|[mk]?[VA] ?[DA]C|[kM]?Wh|Ah|Hz|kg|mm|m?Ω|%)$")
_NUMBERING = re.compile(r"^\d{1,3}[.)]?$")
_RAISED = str.maketrans("¹²³⁴⁵", "12345")
Line = tuple[Cell, ...]


def sheet_of_pages(pages: Sequence[PagePlan]) -> Sheet:
    """Every row of every page in reading order, with its footnotes."""
    parts = [(part, _body_size(page)) for page in pages for part in flowing(page)]
    notes = {mark: text for part, body in parts for mark, text in _notes(part, body)}
    first = {id(part) for page in pages[:1] for part, _ in parts[:1] if part.number == page.number}
    rows: list[Row] = []
    over: Line = ()  # names of models over a table that goes on over the page
    for n, (part, _) in enumerate(parts):
        turned = n > 0 and parts[n - 1][0].number != part.number
        heads = Heads(begun=id(part) not in first, title=_title_size(part), carried=turned and bool(over))
        heads.heads = over if turned else ()
        heads.sections = [(0.0, without_marks(part.over.text)[0])] if part.over else []
        rows += _rows(part, notes, heads)
        over = heads.heads if models_in([cell.text for cell in heads.heads]) else ()
    text = "\n".join(cell.text for page in pages for line in page.lines for cell in line)
    title = max((cell for cell in pages[0].lines[0]), key=lambda cell: cell.size).text if pages[0].lines else ""
    return Sheet(tuple(with_models_as_columns(rows)), text, title)


def _body_size(page: PagePlan) -> float:
    return median([cell.size for line in page.lines for cell in line] or [8.0])


def _title_size(page: PagePlan) -> float:
    """Letters larger than this are a title: the first line, where no other is as large."""
    first = max((cell.size for cell in page.lines[0]), default=TITLE) if page.lines else TITLE
    others = [cell.size for line in page.lines[1:] for cell in line]
    return min(TITLE, first - 0.1) if others and max(others) < first - 0.6 else TITLE


def _notes(page: PagePlan, body: float) -> Iterator[tuple[str, str]]:
    for line in page.lines:
        found = _NOTE.match(line[0].text)
        if found and len(line) == 1 and (line[0].size < body - 0.3 or found[2] or found[3] or ")" in found[0]):
            yield (found[1] or found[2] or found[3].translate(_RAISED)), line[0].text[found.end() :]


def _rows(page: PagePlan, notes: dict[str, str], heads: Heads) -> Iterator[Row]:
    groups = groups_of(page)
    taken = {id(cell) for cells, _, _ in groups for cell in cells}
    lines = [tuple(cell for cell in line if id(cell) not in taken) for line in page.lines]
    printed = [tuple(line) for line in page.lines]
    kept = _with_piled([(line, whole) for line, whole in zip(lines, printed, strict=True) if line])
    for line, whole in _joined(kept, page):
        yield from _rows_of_line(page, line, whole, heads, groups, notes=notes)


def _with_piled(lines: list[tuple[Line, Line]]) -> list[tuple[Line, Line]]:
    """Headings of several lines are one; a line that is so made is its own printed line."""
    whole = {id(line): printed for line, printed in lines}
    return [(line, whole.get(id(line), line)) for line in piled([line for line, _ in lines])]


def _joined(lines: list[tuple[Line, Line]], page: PagePlan) -> list[tuple[Line, Line]]:
    """Wrapped cells go to the cell above."""
    out: list[list[Line]] = []
    for line, whole in lines:
        rest: list[Cell] = []
        for n, cell in enumerate(line):
            spot = _above(cell, out, page)
            alone = len(line) == 1 or not _has_partner(line, n)
            if spot is None or not alone:
                rest.append(cell)
                continue
            row, at = spot
            above = out[row][0][at]
            merged = replace(above, text=_glued(above.text, cell.text), bottom=cell.bottom, x1=max(above.x1, cell.x1))
            out[row][0] = (*out[row][0][:at], merged, *out[row][0][at + 1 :])
            out[row][1] = (*out[row][1], cell)
        if rest:
            out.append([tuple(rest), whole if len(rest) == len(line) else tuple(rest)])
    return [(line[0], line[1]) for line in out]


def _glued(first: str, then: str) -> str:
    return first[:-1] + then if first.endswith("-") and then[:1].islower() else f"{first} {then}"


def _has_partner(line: Line, n: int) -> bool:
    """Whether a cell of a line is one of a label-and-value pair."""
    cell, others = line[n], [c for k, c in enumerate(line) if k != n]
    if cell.text.endswith(":") or (n and line[n - 1].text.endswith(":")):
        return len(line) > 1
    if is_value(cell.text):
        return any(not is_value(c.text) and c.x1 <= cell.x0 for c in others)
    after = line[n + 1] if n + 1 < len(line) else None
    return after is not None and (is_value(after.text) or n == 0)


def _above(cell: Cell, out: list[list[Line]], page: PagePlan) -> tuple[int, int] | None:
    """The cell that this one goes on: same x, close above, same hand, no ruled line between."""
    for back in range(1, 0 if cell.fixed else min(3, len(out)) + 1):
        for at, above in enumerate(out[-back][0]):
            centred = abs((above.x0 + above.x1) - (cell.x0 + cell.x1)) / 2 < NEAR and len(out[-back][0]) > 1
            if abs(above.x0 - cell.x0) > NEAR and not centred:
                continue
            gap = cell.top - above.bottom
            prose = len(out[-back][0]) == 1 and runs_on(above, cell, _right_edge(page, above))
            if not -0.3 * cell.size < gap < (SPACED if prose else WRAPPED) * cell.size or above.bold != cell.bold:
                return None
            if abs(above.size - cell.size) > 0.6 or _NOTE.match(cell.text) or _ruled(page, above, cell):
                return None
            return len(out) - back, at
    return None


def _right_edge(page: PagePlan, cell: Cell) -> float:
    """How far lines of text reach that begin where a cell does, in letters of its size."""
    alike = [c for line in page.lines for c in line if abs(c.x0 - cell.x0) < NEAR and abs(c.size - cell.size) < 0.6]
    return max(c.x1 for c in alike)


def _ruled(page: PagePlan, above: Cell, cell: Cell) -> bool:
    low, high = above.bottom - 2, cell.top + 2
    return any(low <= y <= high and x0 <= cell.x0 + 2 and x1 >= cell.x0 + 2 for y, x0, x1 in page.across)


def _rows_of_line(
    page: PagePlan,
    line: Line,
    whole: Line,
    heads: Heads,
    groups: list[tuple[list[Cell], float, float]],
    *,
    notes: dict[str, str],
) -> Iterator[Row]:
    printed = without_marks("  ".join(cell.text for cell in whole))[0]
    middle = middle_of(line[0])
    group = next((" ".join(c.text for c in cells) for cells, top, bottom in groups if top <= middle <= bottom), "")
    if not line[0].text.endswith(":") and _is_head(line, _labels_at(page)):
        heads.heads = stacked(heads.heads, line) if _goes_on(heads, line) else line
        heads.fresh, heads.carried = True, False
        yield Row(
            "",
            tuple(without_marks(c.text)[0] for c in line),
            printed,
            page.number,
            section=heads.section_at(line[0].x0),
        )
        return
    told = any(is_value(cell.text) or before.text.endswith(":") for before, cell in pairwise(line))
    if len(line) == 1 or not told:
        alone = [cell for cell in line if not is_value(cell.text)]
        if len(line) == 1 or (len(alone) == len(line) and all(cell.bold for cell in line)):
            for cell in alone:
                _open_section(heads, cell)
            for cell in line:
                over = heads.section_at(cell.x0) if len(cell.text) > PROSE else ""  # it stands under its heading
                yield Row(without_marks(cell.text)[0], (), printed, page.number, section=over, group=group)
            return
    heads.begun, heads.fresh = True, False
    for label, values in _pairs(line, heads):
        yield _row(page, label, values, printed, heads, group=group, notes=notes)


def _goes_on(heads: Heads, line: Line) -> bool:
    """Whether a line of headings goes on with the one above; names of models stand for themselves."""
    return heads.fresh and bool(heads.heads) and not models_in([cell.text for cell in line])


def _open_section(heads: Heads, cell: Cell) -> None:
    if (len(cell.text) > PROSE and not cell.bold) or (not heads.begun and cell.size > heads.title):
        return  # prose is no heading, a title heads everything
    if cell.fixed or _ENDS_IN_VALUE.search(cell.text):
        return  # a row whose label and value stand too close to be told apart
    heads.sections = [(x, text) for x, text in heads.sections if x < cell.x0 - NEAR] + [
        (cell.x0, without_marks(cell.text)[0])
    ]
    heads.fresh = False
    if not models_in([c.text for c in heads.heads]):
        heads.heads = tuple(c for c in heads.heads if c.x1 < cell.x0)


def _labels_at(page: PagePlan) -> tuple[float, ...]:
    """Where labels begin: cells that stand beside a value."""
    return tuple(a.x0 for line in page.lines for a, b in pairwise(line) if is_value(b.text) and not is_value(a.text))


def _is_head(line: Line, labels: tuple[float, ...]) -> bool:
    """A line of headings over columns: nothing in it is a value, and there are two columns at least."""
    words = [cell for cell in line if not is_value(cell.text)]
    if len(line) >= 3 and len(words) == len(line) and all(cell.bold for cell in line):
        return True
    if len(line) >= 3 and models_in([cell.text for cell in line]):
        return True
    if len(line) >= 2 and looks_like_models([cell.text for cell in line]):
        return True
    if len(words) < len(line) or len(line) < 2:
        return False
    if len(line) >= 3 and sum(bool(HEAD_WORDS.search(cell.text)) for cell in line) >= 2:
        return True
    if sum(abs(line[0].x0 - x) < NEAR for x in labels) < 1:
        return min(labels, default=line[0].x0) + 20 < line[0].x0
    return len(line) >= 3 and all(cell.bold for cell in line)


def _pairs(line: Line, heads: Heads) -> Iterator[tuple[Cell, tuple[Cell, ...]]]:
    """Label with its values; a line through two tables that stand side by side has two labels."""
    cells = list(line)
    if len(cells) >= 3 and _NUMBERING.match(cells[0].text) and not is_value(cells[1].text):
        cells = cells[1:]
    under = [
        h for h in heads.heads if any(abs(h.x0 + h.x1 - c.x0 - c.x1) < 2 * max(20.0, h.x1 - h.x0) for c in cells[1:])
    ]
    start = 0
    for n in range(2, len(cells) - 1 if len(cells) % 2 == 0 else len(cells)):
        a, b = cells[n], cells[n + 1] if n + 1 < len(cells) else None
        if (
            is_value(a.text)
            or (under and looks_like_models([h.text for h in under]))
            or len(under) >= len(cells) - 1 > 3
        ):
            continue
        if (b is not None and is_value(b.text) and n - start >= 2) or (b is not None and len(cells) == 4 and n == 2):
            yield cells[start], tuple(cells[start + 1 : n])
            start = n
    yield cells[start], tuple(cells[start + 1 :])


def _row(
    page: PagePlan,
    label: Cell,
    values: tuple[Cell, ...],
    printed: str,
    heads: Heads,
    *,
    group: str,
    notes: dict[str, str],
) -> Row:
    text, marks = without_marks(label.text)
    values, over = spread(with_unit(values, heads), heads)
    cleaned = [without_marks(cell.text) for cell in values]
    cut = [cut_mark(value, notes) for value, _ in cleaned]
    own = [
        " ".join(notes[m] for m in (*found, mark) if m in notes)
        for (_, found), (_, mark) in zip(cleaned, cut, strict=True)
    ]
    return Row(
        text.rstrip(":："),
        tuple(value for value, _ in cut),
        printed,
        page.number,
        heads=over,
        group=without_marks(group)[0],
        section=heads.section_at(label.x0),
        notes=tuple(notes[mark] for mark in marks if mark in notes),
        own_notes=tuple(own) if any(own) else (),
    )
