"""Rows that say two things are told apart: cells with words of their own, a label with a stroke beside two values.

Gives: told_apart().
Takes: a row.
Limits: two values of one dimension; "current / delay" stays one row.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from bankwright.sheets.concepts import ideas
from bankwright.sheets.measures import Marks, measures
from bankwright.sheets.row import Row

__all__ = ["told_apart"]

_OWN = re.compile(r"^([^:]*[^\W\d_]{2}[^:]{0,40}):\s*(.*\d.*)$")
_CONDITIONS = re.compile(r"(.*?)\s*\(([^()/]+?)\s*/\s*([^()/]+?)\)(.*)")
_NAMED = re.compile(r"([^\W\d_]{3}[^\d;]*?)\s((?:[≤≥<>±]\s?)?\d.*)$")
_STROKE = re.compile(r"\s+/\s+|(?<=[^\W\d_]{3})/(?=[^\W\d_]{3})")


def told_apart(row: Row) -> Iterator[Row]:
    """The same row, or one for each thing that it says."""
    own = [_OWN.match(value) for value in row.values]
    if len(own) >= 2 and all(own):
        for found in own:
            if found:
                yield replace(row, label=f"{row.label}, {found[1]}", values=(found[2],), heads=(), own_notes=())
        return
    for part in _by_brackets(row) or _by_semicolon(row):
        yield from _by_stroke(part)


def _by_brackets(row: Row) -> tuple[Row, ...]:
    """Two conditions in the brackets of a label, two values: "Current (continuous / 10 s)", "100 A / 150 A"."""
    found = _CONDITIONS.fullmatch(row.label)
    values = tuple(re.split(r"\s*/\s*", row.values[0])) if len(row.values) == 1 else row.values
    if not found or len(values) != 2 or any(row.heads) or not _alike(*values):
        return ()
    return tuple(
        replace(row, label=f"{found[1]} {told}{found[4]}", values=(value,), heads=(), own_notes=())
        for told, value in zip(found.group(2, 3), values, strict=True)
    )


def _by_semicolon(row: Row) -> Iterator[Row]:
    """A value with another one behind a semicolon that has a name of its own: "M8 studs; torque 9 N m"."""
    parts = row.values[0].split("; ") if len(row.values) == 1 and not any(row.heads) else []
    named = [_NAMED.match(part) for part in parts[1:]]
    if not parts or not named or not all(named) or {"charge", "discharge"} <= ideas(row.label + row.value):
        yield row
        return
    yield replace(row, values=(parts[0],))
    for found in named:
        if found:
            yield replace(row, label=f"{row.label}, {found[1].strip()}", values=(found[2],))


def _by_stroke(row: Row) -> Iterator[Row]:
    parts = [part.strip() for part in _STROKE.split(row.label)]
    values = row.values if len(row.values) > 1 else tuple(re.split(r"\s+/\s+", row.value))
    heads = any(row.heads) or {"charge", "discharge"} <= ideas(row.label)
    if len(parts) != 2 or len(values) != 2 or heads or "(" in row.label or not _alike(*values):
        yield row
        return
    first, second = parts
    stem = " ".join(first.split()[:-1])
    yield replace(row, label=first, values=(values[0],), heads=(), own_notes=())
    yield replace(row, label=f"{stem} {second}".strip(), values=(values[1],), heads=(), own_notes=())


def _alike(one: str, other: str) -> bool:
    """Whether two texts hold one value each, of one dimension."""
    found = [[m for m in measures(text, Marks()) if m.dimension != "count"] for text in (one, other)]
    return len(found[0]) == len(found[1]) == 1 and found[0][0].dimension == found[1][0].dimension
