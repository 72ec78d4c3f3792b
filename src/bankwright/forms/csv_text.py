"""One way to write a CSV cell: what somebody typed is never read as a formula by the program that opens the file.

Gives: csv_cell(). Limits: cells alone; quoting and line ends are those of the csv module.
Source: a leading "=", "+", "-", "@", tab or return makes a formula in common spreadsheets [common practice, no source].
"""

from __future__ import annotations

from typing import TypeVar

__all__ = ["csv_cell"]

Cell = TypeVar("Cell", str, str | None)


def csv_cell(text: Cell) -> Cell:
    """Keep free text from being read as a formula: an apostrophe stands before what would begin one."""
    return f"'{text}" if text and text[0] in "=+-@\t\r" else text
