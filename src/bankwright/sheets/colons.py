"""Lists of "label: value" in a PDF: the label and its value are two cells, a wrapped value is one.

Gives: hung(), parts_here().
Takes: the words of a line; lines of cells.
Limits: where a page has several such lines; a sentence that holds a colon is none.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from bankwright.sheets.bullets import BEGINS
from bankwright.sheets.row import Cell

__all__ = ["hung", "is_list", "parts_here"]

OFTEN = 4  # lines of "label: value" that make a page a list of them
LONGEST = 62  # letters of a label
WRAPPED = 0.6  # of the letter size between a value and its next line
_LABEL = re.compile(r"^[^\W\d_a-zß-öø-ÿ][^:;!?]*[:：]$")
_SENTENCE = re.compile(r"(?:\w{5}|\d)\.\s|\b\w{1,3}\s\w+\.\s")  # an end of one, and no "Max. current"
_AT_COLON = re.compile(r"[:：]$")
Line = tuple[Cell, ...]


def is_list(lines: Iterable[Sequence[dict[str, Any]]]) -> bool:
    """Whether the lines of a page, as words, are a list of labels with a colon and their values."""
    return sum(_labels(line) for line in lines) >= OFTEN


def _labels(line: Sequence[dict[str, Any]]) -> int:
    """How many labels with a colon stand on a line, each after a wide gap or at its beginning."""
    start, found = 0, 0
    for n, word in enumerate(line):
        if n and (BEGINS in word or word["x0"] - line[n - 1]["x1"] > word["size"]):
            start = n
        found += parts_here(line[start : n + 1], line[n + 1 :])
    return found


def parts_here(held: Sequence[dict[str, Any]], after: Sequence[dict[str, Any]]) -> bool:
    """Whether words that stand together end as a label whose value comes after."""
    if not held or not after or not _AT_COLON.search(held[-1]["text"]):
        return False
    label = " ".join(word["text"] for word in held)
    return len(label) <= LONGEST and bool(_LABEL.match(label)) and not _SENTENCE.search(label)


def hung(lines: Sequence[Line]) -> list[Line]:
    """The same lines; a line that goes on with the value of a label above it, at the label's edge, is joined to it."""
    out: list[list[Cell]] = []
    for line in lines:
        rest: list[Cell] = []
        for n, cell in enumerate(line):
            home = _home(cell, out) if _alone(line, n) else None
            if home is None:
                rest.append(cell)
                continue
            row, at = home
            above = out[row][at]
            x1 = max(above.x1, cell.x1)
            out[row][at] = replace(above, text=f"{above.text} {cell.text}", bottom=cell.bottom, x1=x1)
        if rest:
            out.append(rest)
    return [tuple(line) for line in out]


def _alone(line: Line, n: int) -> bool:
    """Whether a cell is neither a label nor the value of one."""
    label = line[n].fixed or _AT_COLON.search(line[n].text) or (n > 0 and _AT_COLON.search(line[n - 1].text))
    return not label and not line[n].bold


def _home(cell: Cell, out: Sequence[Sequence[Cell]]) -> tuple[int, int] | None:
    """The last value above in the same column, close by; it begins beside a label at the edge of this cell."""
    for row in range(len(out) - 1, max(-1, len(out) - 5), -1):
        for n, above in enumerate(out[row]):
            if abs(above.x0 - cell.x0) > 3 or (above.bold != cell.bold and not _AT_COLON.search(above.text)):
                continue
            if not _AT_COLON.search(above.text) or n + 1 >= len(out[row]):
                return None
            value = out[row][n + 1]
            near = -0.3 * cell.size < cell.top - value.bottom < WRAPPED * cell.size
            alike = abs(value.size - cell.size) < 0.6 and value.bold == cell.bold
            return (row, n + 1) if near and alike and _goes_on(value, cell) else None
    return None


def _goes_on(value: Cell, cell: Cell) -> bool:
    """Whether a value did not end on its line: it stops in the middle, or what follows begins in small letters."""
    open_end = re.search(
        r"(?:[,;(–-]|\b(?:a|à|to|bis|do|tot|al|até|and|und|et|y|e|en|of|de|or|the|at|für|for))$", value.text
    )
    shut = value.text.count("(") > value.text.count(")")
    return bool(open_end) or shut or cell.text[:1].islower()
