"""A data sheet as rows: a label, its values, and the words that stand over them.

Gives: Cell, Row, Sheet.
Takes: nothing. The rooms paper and pasted make sheets of a PDF and of pasted text.
Limits: a row knows its place (page, line) and its printed line; what it means is in concepts and in the rules.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Cell", "Row", "Sheet"]


@dataclass(frozen=True, slots=True)
class Cell:
    """Text that stands together on a line; places in points from the upper left corner."""

    text: str
    x0: float = 0.0
    x1: float = 0.0
    top: float = 0.0
    bottom: float = 0.0
    size: float = 8.0
    bold: bool = False
    fixed: bool = False  # its line is settled: it goes on with none above it and heads no group


@dataclass(frozen=True, slots=True)
class Row:
    """A label with the values beside it.

    `heads` are the headings over each value, alike in number, or empty; `group` and `section` stand beside and above
    the row; `notes` are the footnotes that its label or values point to; `line` is the row as printed.
    """

    label: str
    values: tuple[str, ...]
    line: str
    page: int | None = None
    line_no: int | None = None
    heads: tuple[str, ...] = ()
    group: str = ""
    section: str = ""
    notes: tuple[str, ...] = ()
    own_notes: tuple[str, ...] = ()  # the footnote of each value, alike in number to the values, or none at all
    jammed: bool = False  # values stand side by side, and which is of which column is not known
    near: str = ""  # headings close by of which is not known which rows they head

    @property
    def value(self) -> str:
        """All values as one text."""
        return "   ".join(self.values)


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything that was read off a data sheet."""

    rows: tuple[Row, ...]
    text: str  # all of it, to judge by: marks, language, kind
    title: str = ""
