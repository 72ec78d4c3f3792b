"""The sample of a foreign file as columns: what proposals are made from.

Gives: Learned, learned_from().
Limits: a sample; the whole file is read by pass_over.py.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.logbook.elsewhere.layout import Layout, rejoined, rows_of
from bankwright.logbook.elsewhere.numbers import NumberForm, is_missing, numbers_in
from bankwright.logbook.elsewhere.source import Sample

__all__ = ["Learned", "learned_from"]

_ROWS = 4000  # of the beginning
_MOST = 8_000


@dataclass(frozen=True, slots=True)
class Learned:
    """Columns of texts; the first `head` rows follow each other in the file."""

    columns: tuple[list[str], ...]
    lines: list[int]  # 0: somewhere in the file
    head: int

    def __len__(self) -> int:
        """How many rows."""
        return len(self.lines)

    def said(self, column: int, most: int = 3000) -> list[tuple[str, int]]:
        """Texts that say something, each with its line."""
        pairs = zip(self.columns[column], self.lines, strict=True)
        return list(itertools.islice(((text, line) for text, line in pairs if not is_missing(text)), most))

    def values(self, column: int, form: NumberForm) -> np.ndarray:
        """Numbers of a column, NaN where there is none."""
        return numbers_in([text.strip() for text in self.columns[column]], form)[0]


def learned_from(sample: Sample, layout: Layout) -> Learned:
    """Columns of the rows that are as wide as they should be."""
    rows, lines = _fitting(*rows_of(sample.head, 1, layout), layout)
    rows, lines = rows[:_ROWS] + (rows[_ROWS:] if sample.is_whole else []), lines
    rows, lines = rows[:_MOST], lines[:_MOST][: len(rows)]
    if not sample.is_whole:
        rows, lines = rows[:_ROWS], lines[:_ROWS]
    head = len(rows)
    for spot in sample.spots:
        if len(rows) >= _MOST:
            break
        more, _ = _fitting(*rows_of(spot, layout.first, layout), layout)
        rows += more[:120]
        lines += [0] * len(more[:120])
    columns = tuple([row[k].strip() for row in rows] for k in range(len(layout.names)))
    return Learned(columns, lines, head)


def _fitting(rows: Sequence[list[str]], lines: Sequence[int], layout: Layout) -> tuple[list[list[str]], list[int]]:
    kept, where = [], []
    width = len(layout.names)
    for row, line in zip(rows, lines, strict=True):
        whole = rejoined(row, layout) if layout.rejoin else row
        if whole is not None and len(whole) == width and whole[: width - 1] != list(layout.names)[: width - 1]:
            kept.append(whole)
            where.append(line)
    return kept, where
