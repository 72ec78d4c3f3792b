"""Pasted text becomes rows: cells parted by tabs, one cell a line, or one row a line.

Gives: sheet_of_text().
Takes: the text as a viewer or a page gave it.
Limits: places across the page are lost, so headings that stood beside several rows may come in the middle of them;
where headings contradict the rows below them, none is trusted (`section` stays empty).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import takewhile

from bankwright.sheets.columns import CHAPTER, HEAD_WORDS, is_value, looks_like_models, models_in
from bankwright.sheets.concepts import direction, ideas
from bankwright.sheets.letters import usual
from bankwright.sheets.measures import Marks, marks_of, measures
from bankwright.sheets.notes import cut_mark
from bankwright.sheets.paragraphs import paragraphs
from bankwright.sheets.pasted_columns import untangled
from bankwright.sheets.pasted_heads import under_heads
from bankwright.sheets.pasted_models import apart, jammed, names_in
from bankwright.sheets.pasted_units import under_units
from bankwright.sheets.pasted_wraps import unwrapped
from bankwright.sheets.placed import is_placed, sheet_of_places
from bankwright.sheets.row import Row, Sheet
from bankwright.sheets.split import runs_on, split_row, united
from bankwright.sheets.stacked_cells import NOTE, is_bare, stacked_cells

__all__ = ["sheet_of_text"]

TITLES = 4  # lines at the top of which one that names a kind heads nothing
_KINDS = {"inverter", "module", "fuse", "breaker", "disconnect", "shunt"}
LONG = 60  # letters of a label that may be several
NEAR = 6  # rows to either side that a heading in the middle of its group may stand from
_CELLS = re.compile(r"\t+|\s{3,}|\s\|\s|(?:\s?\.){4,}\s?|…{2,}")
_TAIL_MARK = re.compile(r"(?<=[a-zA-Z).])\s\[?(\d|[a-f](?=\)))[\])]?$|⁽?[¹²³⁴][⁾)]?(?=$|\s)|(?<=[\w.)])\s?([*†‡]+)$")
_NOTHING = re.compile(r"(?:(?<=\s)|^)[—–-](?=\s|$)")  # a model that has no value here
_RAISED = str.maketrans("¹²³⁴", "1234", "⁽⁾()")
_BOUNDS = re.compile(r"\b(?:min|typ|nom|max)(?:\.|imum|ical)?(?!\w)", re.IGNORECASE)
_NUMBERS = re.compile(r"(.*?[^\d.,−+–—-])\s*((?:(?:[−–-]?\d+(?:[.,]\d+)?|[–—-])\s+){2,3})(\S{1,6})")
_BARE_LINE = re.compile(r"(?=[^\W\d_]{0,2}[(\d])(?!.*[^\W\d_]{4}).*\d.*")  # values alone
_TOKEN = re.compile(r"\b(?=[A-Za-z\-/.]*\d)[A-Z][A-Za-z0-9]*(?:[-/.][A-Za-z0-9]+)*\b")


def sheet_of_text(text: str) -> Sheet:
    """Rows of a pasted text, in its order; `line_no` counts from 1."""
    lines = [
        (n, line.rstrip()) for n, line in enumerate(usual(text).replace("\u00a0", " ").splitlines(), 1) if line.strip()
    ]
    notes = {_mark(found): line[found.end() :] for _, line in lines if (found := NOTE.match(line.strip()))}
    tabbed = sum(bool(_CELLS.search(line.strip())) for _, line in lines)
    bare = sum(is_bare(line.strip()) for _, line in lines)
    if is_placed([line for _, line in lines]):
        return sheet_of_places(lines, text, lines[0][1].strip())
    if tabbed >= 0.2 * len(lines):
        rows = list(_tabbed(lines))
    elif bare >= 0.28 * len(lines):
        rows = list(stacked_cells(lines))
    else:
        left, tables = under_heads(lines)
        left, others = under_units(left)
        rows = [*_row_a_line(unwrapped(paragraphs(left)), marks_of(text)), *tables, *others]
    rows = list(untangled(rows))
    rows = [_with_value_notes(_with_notes(row, notes), notes) for row in rows]
    return Sheet(tuple(_trusted(rows)), text, lines[0][1].split("\t")[0].strip() if lines else "")


def _mark(found: re.Match[str]) -> str:
    return (found[1] or found[2] or found[3] or "").translate(_RAISED)


def _with_notes(row: Row, notes: dict[str, str]) -> Row:
    """A figure at the end of a label that is the mark of a footnote goes, and the note is kept beside the row."""
    found = _TAIL_MARK.search(row.label)
    mark = found and (found[1] or found[2] or found[0].strip().translate(_RAISED))
    if not found or mark not in notes or not row.values or "(" in row.label[: found.start()].rpartition(")")[2]:
        return row
    return replace(row, label=row.label[: found.start()].strip(), notes=(notes[mark],))


def _with_value_notes(row: Row, notes: dict[str, str]) -> Row:
    """The mark of a footnote after a value: "200 A 1)", "100 A*"."""
    cut = [cut_mark(value, notes) for value in row.values]
    own = tuple(notes.get(mark, "") for _, mark in cut)
    return replace(row, values=tuple(value for value, _ in cut), own_notes=own) if any(own) else row


def _trusted(rows: Sequence[Row]) -> Iterator[Row]:
    """Headings that rows of the other direction stand under came in the middle of their group: they head nothing.

    They are kept as `near` of the rows around them.
    """
    floating = any(
        (of := direction(row.label)) and (over := direction(row.section)) and of != over for row in rows if row.values
    )
    for n, row in enumerate(rows):
        if not (floating and row.values):
            yield row
            continue
        around = [r.label for r in rows[max(0, n - NEAR) : n + NEAR + 1] if not r.values and len(r.label) < 40]
        yield replace(row, section="", near=" / ".join(around))


def _tabbed(lines: Sequence[tuple[int, str]]) -> Iterator[Row]:
    parted = [(n, line, tuple(c.strip() for c in _CELLS.split(line.strip("\n")) if c.strip())) for n, line in lines]
    section, heads = "", tuple[str, ...]()
    grid = tuple[str, ...]()  # headings cell by cell, where empty cells keep their tabs
    for at, (n, line, cells) in enumerate(parted):
        whole = tuple(c.strip() for c in line.split("\t"))
        if grid and len(whole) == len(grid) and whole[0] and len(cells) > 1:
            told = [(head, value) for head, value in zip(grid[1:], whole[1:], strict=True) if value]
            yield Row(
                whole[0],
                tuple(v for _, v in told),
                " ".join(cells),
                None,
                n,
                tuple(h for h, _ in told),
                section=section,
            )
            continue
        after = parted[at + 1][2] if at + 1 < len(parted) else ()
        if len(cells) == 1:
            yield Row(cells[0], (), line.strip(), None, n)
            name = CHAPTER.sub("", cells[0])
            if not is_value(name) and len(name) < 70 and at > 0 and not re.search(r"\d", name):
                section, heads, grid = name, (), ()
            continue
        if _heads_here(cells, after):
            heads = cells[1:] if looks_like_models(cells[1:]) or len(cells) == len(after) else cells
            grid = whole if len(whole) > 2 else ()
            yield Row("", cells, line.strip(), None, n, section=section)
            continue
        for label, values in _pairs(cells, heads):
            own = heads if len(values) == len(heads) else ()
            yield Row(label, values, " ".join(cells), None, n, own, section=section)


def _heads_here(cells: tuple[str, ...], after: tuple[str, ...]) -> bool:
    if models_in(cells):
        return True
    if any(is_value(cell) for cell in cells[1:]):
        return False
    if len(cells) >= 3 and sum(bool(HEAD_WORDS.search(cell)) for cell in cells) >= 2:
        return True
    more = len(after) == len(cells) + 1 or (len(after) == len(cells) >= 3)
    return more and any(is_value(cell) for cell in after[1:])


def _pairs(cells: tuple[str, ...], heads: tuple[str, ...]) -> Iterator[tuple[str, tuple[str, ...]]]:
    start = 0
    for n in range(2, len(cells)):
        if len(heads) == len(cells) - 1 or is_value(cells[n]):
            continue
        after = cells[n + 1] if n + 1 < len(cells) else ""
        if (is_value(after) or (len(cells) == 4 and n == 2)) and n - start >= 2:
            yield cells[start], cells[start + 1 : n]
            start = n
    yield cells[start], cells[start + 1 :]


def _row_a_line(lines: Sequence[tuple[int, str]], marks: Marks) -> Iterator[Row]:
    section, heads, bounds = "", tuple[str, ...](), tuple[str, ...]()
    gone: set[int] = set()
    for at, (n, line) in enumerate(lines):
        text = line.strip()
        names = names_in(text) or _TOKEN.findall(text)
        told = tuple(_BOUNDS.findall(text)) if not re.search(r"\d", text) else ()
        bounds = told if len(told) >= 2 else bounds
        if bounds and (row := _bounded(text, bounds)):
            yield replace(row, line_no=n, section=section)
            continue
        if len(names) >= 2 and looks_like_models(names) and not united(text, marks):
            heads = tuple(names)
            yield Row("", heads, text, None, n, section=section)
            continue
        over = lines[at + 1][1].strip() if at + 1 < len(lines) else ""
        if heads and _over_shares(text, over, len(heads), marks):
            heads = ()  # a table over temperature, of all models
        if n in gone:
            continue
        piled = _piled(lines[at:], heads, marks)
        if piled is not None:
            gone |= {number for number, _ in lines[at + 1 : at + piled[1]]}
            yield replace(piled[0], line_no=n, section=section)
            continue
        if heads and (divided := _divided(text, heads)):
            yield replace(divided, line_no=n, section=section)
            continue
        label, value = (text, "") if runs_on(text) else split_row(text, marks)
        if not value:
            yield Row(text, (), text, None, n, section=section)
            title = n < TITLES and ideas(text) & _KINDS
            if len(text) < 50 and not re.search(r"\d", text) and not text.endswith(".") and n > 1 and not title:
                section = text
            continue
        values = _columns(value, len(heads), marks)
        own = heads if len(values) == len(heads) else ("",) * len(values)
        heaped = len(values) == 1 and jammed(value, marks, whatever=len(label) > LONG) and not is_value(label)
        yield Row(label, values, text, None, n, own, section=section, jammed=heaped)


def _piled(lines: Sequence[tuple[int, str]], heads: tuple[str, ...], marks: Marks) -> tuple[Row, int] | None:
    """A row whose values of several models stand in lines of their own below it, each in as many; and its lines."""
    label, value = split_row(lines[0][1].strip(), marks) if len(heads) > 1 else ("", "")
    below = takewhile(lambda text: _BARE_LINE.fullmatch(text) is not None, (line.strip() for _, line in lines[1:]))
    texts = [value, *below]
    each = len(texts) // len(heads) if label and value and len(texts) > 1 else 0
    if not each or len(texts) % len(heads):
        return None
    values = tuple(" ".join(texts[k : k + each]) for k in range(0, len(texts), each))
    if len({_shape(part, marks) for part in values}) > 1:
        return None
    return Row(label, values, " ".join(line.strip() for _, line in lines[: len(texts)]), None, None, heads), len(texts)


def _divided(text: str, heads: tuple[str, ...]) -> Row | None:
    """The row of a table of models."""
    found = None if runs_on(text) or ":" in text else apart(text, len(heads))
    return Row(found[0], found[1], text, None, None, heads) if found else None


def _over_shares(text: str, below: str, count: int, marks: Marks) -> bool:
    """Whether temperatures stand over a row of shares."""
    rows = [apart(line, count) for line in (text, below)]
    kinds = [{m.dimension for value in row[1] for m in measures(value, marks)} for row in rows if row]
    return kinds == [{"temperature"}, {"share"}]


def _bounded(text: str, bounds: tuple[str, ...]) -> Row | None:
    """A row under Min, Typ, Max: bare numbers before their unit; heads only where each column has its number."""
    found = _NUMBERS.fullmatch(text)
    unit = found[3] if found else ""
    if found is None or re.search(r"\d", unit) or re.search(r"\s0\d", found[2]) or not united(f"1 {unit}", Marks()):
        return None
    cells = found[2].split()
    heads = bounds if len(bounds) == len(cells) else ("",) * len(cells)
    told = [(head, f"{cell} {unit}") for head, cell in zip(heads, cells, strict=True) if not _NOTHING.fullmatch(cell)]
    if not told or (len(told) < len(cells) and not any(heads)):
        return None
    return Row(found[1].strip(), tuple(v for _, v in told), text, None, None, tuple(h for h, _ in told))


def _columns(value: str, count: int, marks: Marks) -> tuple[str, ...]:
    """The values of `count` models in one text; one text for all where they do not divide."""
    if count < 2:
        return (value,)
    threads = re.findall(r"M\s?\d{1,2}\b", value)
    if len(threads) == count and not re.sub(r"M\s?\d{1,2}\b|\s", "", value):
        return tuple(threads)
    found = united(value, marks)
    dashes = [m.start() for m in _NOTHING.finditer(value)]
    if dashes and len(found) + len(dashes) == count:
        cuts = sorted([*(m.start for m in found), *dashes])
        return tuple(value[a:b].strip() for a, b in zip(cuts, [*cuts[1:], len(value)], strict=True))
    if len(found) < count or len(found) % count or len({m.dimension for m in found}) > 1:
        return (value,)
    each = len(found) // count
    if each == 2 and any("/" not in value[found[k].end : found[k + 1].start] for k in range(0, len(found), 2)):
        return (value,)
    starts = [found[k].start for k in range(0, len(found), each)]
    parts = tuple(value[a:b].strip() for a, b in zip(starts, [*starts[1:], len(value)], strict=True))
    return parts if len({_shape(part, marks) for part in parts}) == 1 else (value,)


def _shape(text: str, marks: Marks) -> str:
    """A value without its figures and the mark of a footnote: values of several models are written alike."""
    text = re.sub(r"\s[\d*†‡¹²³⁴]\)?$|[*†‡]+$", "", text)
    for measure in reversed(united(text, marks)):
        text = f"{text[: measure.start]}#{text[measure.end :]}"
    return re.sub(r"[\s/,]+", "", text)
