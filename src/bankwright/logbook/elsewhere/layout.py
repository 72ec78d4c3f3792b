"""How the lines of a foreign file make a table.

Gives: Layout, rows_of(), parted(), rejoined(), unwrapped().
Limits: found in table.py; numbers and times in the fields are read elsewhere.
"""

from __future__ import annotations

import csv
import gc
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from bankwright.logbook.elsewhere.numbers import NumberForm

__all__ = ["Layout", "parted", "rejoined", "rows_of", "unwrapped"]

_INTEGER, _REST = re.compile(r"\s*[+-]?\d+\s*"), re.compile(r"\s*\d{1,3}\s*")


@dataclass(frozen=True, slots=True)
class Layout:
    """The table in a text."""

    delimiter: str  # "," ";" "\t" "|" " " (any run of blanks)
    names: tuple[str, ...]  # headings, one a column
    header: int  # line of the headings, 0: there is none
    first: int  # line of the first row
    quoted: bool = True
    comment: str = ""  # lines that begin with it say nothing
    numbers: NumberForm = field(default_factory=NumberForm)
    wrapped: bool = False  # every line stands in quotes as a whole
    rejoin: tuple[int, ...] = ()  # columns whose decimals came as a field of their own

    @property
    def width(self) -> int:
        """Fields of a row, as they come."""
        return len(self.names) + len(self.rejoin)


def parted(lines: Iterable[str], delimiter: str, quoted: bool = True) -> list[list[str]]:
    """Fields of each line."""
    on = gc.isenabled()
    gc.disable()  # many small lists and no circles among them: twice as quick
    try:
        return _parted(lines, delimiter, quoted)
    finally:
        if on:
            gc.enable()


def _parted(lines: Iterable[str], delimiter: str, quoted: bool) -> list[list[str]]:
    if delimiter == " ":
        return [line.split() for line in lines]
    if quoted:
        return list(csv.reader(lines, delimiter=delimiter))
    return list(csv.reader(lines, delimiter=delimiter, quoting=csv.QUOTE_NONE))


def unwrapped(lines: Sequence[str]) -> list[str]:
    """Lines without the quotes around each."""
    return [
        line[1:-1].replace('""', '"') if len(line) > 1 and line[0] == line[-1] == '"' else line
        for line in (line.strip() for line in lines)
    ]


def rows_of(lines: Sequence[str], first_line: int, layout: Layout) -> tuple[list[list[str]], list[int]]:
    """Rows as they come, with their lines; blank lines, comments and what stands above the first row are left out."""
    skip = max(layout.first - first_line, 0)
    wanted = unwrapped(lines[skip:]) if layout.wrapped else lines[skip:]
    numbers = range(first_line + skip, first_line + len(lines))
    if layout.quoted and any(line.count('"') % 2 for line in wanted):
        return _over_lines(wanted, numbers.start, layout)
    rows = parted(wanted, layout.delimiter, layout.quoted)
    if len(rows) != len(wanted):  # a quote that opens and closes in one line, and opens again
        return _over_lines(wanted, numbers.start, layout)
    kept = [
        (row, number)
        for row, number, line in zip(rows, numbers, wanted, strict=True)
        if row and not _says_nothing(line, layout.comment)
    ]
    return [row for row, _ in kept], [number for _, number in kept]


def _says_nothing(line: str, comment: str) -> bool:
    bare = line.strip(" \t\x1a,;|")
    return not bare or (bool(comment) and bare.startswith(comment))


def _over_lines(lines: Sequence[str], first: int, layout: Layout) -> tuple[list[list[str]], list[int]]:
    """Rows whose quoted fields may go over several lines."""
    reader = csv.reader(lines, delimiter=layout.delimiter)
    rows, numbers, before = [], [], 0
    for row in reader:
        if row and not _says_nothing(lines[before], layout.comment):
            rows.append(row)
            numbers.append(first + before)
        before = reader.line_num
    return rows, numbers


def rejoined(row: list[str], layout: Layout) -> list[str] | None:
    """A row whose decimals were split put together again; None where it cannot be."""
    if len(row) != layout.width:
        return None
    out, at = [], 0
    for column in range(len(layout.names)):
        if column in layout.rejoin:
            if not (_INTEGER.fullmatch(row[at]) and _REST.fullmatch(row[at + 1])):
                return None
            out.append(f"{row[at].strip()}.{row[at + 1].strip()}")
            at += 2
        else:
            out.append(row[at])
            at += 1
    return out
