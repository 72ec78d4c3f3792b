"""Two columns of a page that a viewer pasted into one line: "60 A 1 Tightening torque, battery 5 N m" is two rows.

Gives: untangled().
Takes: rows of a pasted text.
Limits: a sheet where it happens at least three times; a label in small letters or running text stays in its line.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from bankwright.sheets.measures import Marks, measures
from bankwright.sheets.row import Row

__all__ = ["untangled"]

OFTEN = 3
_NEXT = re.compile(r"(?<=[\w%°Ω)*])\s+(?=[^\W\d_a-zß-öø-ÿ][^\W\d_]{3,}\.?(?:\s|,|$))")
_SENTENCE = re.compile(r"\.\s+[^\W\d_a-z]|\.$")


def untangled(rows: Sequence[Row]) -> Iterator[Row]:
    """The same rows, those of two columns as two each."""
    cut = [_cut(row) for row in rows]
    if sum(len(parts) > 1 for parts in cut) < OFTEN:
        yield from rows
        return
    for parts in cut:
        yield from parts


def _cut(row: Row) -> list[Row]:
    if len(row.values) != 1 or any(row.heads):
        return [row]
    text = row.values[0]
    for found in _NEXT.finditer(text):
        first, rest = text[: found.start()], text[found.end() :]
        if _ends_as_value(first) and (split := _label_and_value(rest)):
            label, value = split
            return [replace(row, values=(first,)), replace(row, label=label, values=(value,), section="", heads=())]
    return [row]


def _ends_as_value(text: str) -> bool:
    """Whether nothing but values stands in a text, at most with the mark of a footnote."""
    found = measures(text, Marks())
    left = text
    for measure in reversed(found):
        left = f"{left[: measure.start]} {left[measure.end :]}"
    return bool(found) and len(re.sub(r"[\W\d_]+|AC|DC|max|do", "", left)) <= 3


def _label_and_value(text: str) -> tuple[str, str] | None:
    if _SENTENCE.search(text):
        return None
    found = re.match(r"(\D{5,60}?)\s+((?:M|IP)?\s?[−+-]?\d\S*(?:\s.*)?)$", text)
    return (found[1].strip(), found[2]) if found and len(found[2]) < 30 else None
