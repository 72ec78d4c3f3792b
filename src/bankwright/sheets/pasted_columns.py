"""Two columns of a page that a viewer pasted into one line: "60 A 1 Tightening torque, battery 5 N m" is two rows.

Gives: untangled().
Takes: rows of a pasted text.
Limits: a sheet where it happens at least three times; a label in small letters or running text stays in its line.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from bankwright.sheets.columns import is_value
from bankwright.sheets.measures import Marks, measures
from bankwright.sheets.notes import cut_mark
from bankwright.sheets.row import Row

__all__ = ["untangled"]

OFTEN = 3
_NEXT = re.compile(r"(?<=[\w%°Ω)*])\s+(?=[^\W\d_a-zß-öø-ÿ][^\W\d_]{3,}\.?(?:\s|,|$))")
_LABELLED = re.compile(
    r"\s+([^\W\d_a-zß-öø-ÿ][^\W\d_]{2}[^:;.]{1,46}):\s+(\S.*)$"
)  # a label with a colon within a value
_OPEN = re.compile(r"\d.*\s(?:a|à|to|bis|do|tot|al|até)$")  # a range that goes on in the next line
_MARKS = "123456789"
_SENTENCE = re.compile(r"\.\s+[^\W\d_a-z]|\.$")


def untangled(rows: Sequence[Row]) -> Iterator[Row]:
    """The same rows, those of two columns as two each; a range that its own column goes on with is whole again."""
    parted = [part for row in rows for part in _at_colon(row)]
    cut = [_cut(row) for row in _closed(parted)]
    if sum(len(parts) > 1 for parts in cut) < OFTEN:
        yield from (row for row in _closed(parted))
        return
    for parts in cut:
        yield from parts


def _at_colon(row: Row) -> list[Row]:
    """A label with a colon within a value begins a row of its own."""
    if len(row.values) != 1 or any(row.heads):
        return [row]
    text = row.values[0]
    for found in _LABELLED.finditer(text):
        first = text[: found.start()]
        if cut_mark(first, _MARKS)[1] or _ends_as_value(first) or _OPEN.search(first):
            rest = replace(row, label=found[1], values=(found[2],), section="", heads=())
            return [replace(row, values=(first,)), *_at_colon(rest)]
    return [row]


def _closed(rows: Sequence[Row]) -> Iterator[Row]:
    """Rows of which one that ends in the middle of a range is joined to the value that comes alone soon after."""
    out: list[Row] = []
    for row in rows:
        back = next((n for n in range(1, min(3, len(out)) + 1) if _OPEN.search(out[-n].value)), 0)
        if back and not row.values and is_value(row.label):
            out[-back] = replace(out[-back], values=(f"{out[-back].value} {row.label}",))
        else:
            out.append(row)
    yield from out


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
