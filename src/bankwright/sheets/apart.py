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
MOST = 4  # names in one label
_STROKE = re.compile(r"\s+/\s+|(?<=[^\W\d_]{3})/(?=[^\W\d_]{3})")


def told_apart(row: Row) -> Iterator[Row]:
    """The same row, or one for each thing that it says."""
    own = [_OWN.match(value) for value in row.values]
    if len(own) >= 2 and all(own):
        for found in own:
            if found:
                yield replace(row, label=f"{row.label}, {found[1]}", values=(found[2],), heads=(), own_notes=())
        return
    for part in _of_models(row) or _by_brackets(row) or _by_semicolon(row):
        yield from _by_stroke(part)


def _of_models(row: Row) -> tuple[Row, ...]:
    """Two names in a label over two values of each model: "Current, continuous / peak", "50 A / 75 A (5 s)"."""
    parts = [part.strip() for part in re.split(r"\s+/\s+", row.label)]
    pairs = [re.split(r"\s+/\s+", value) for value in row.values]
    models = len(row.heads) == len(row.values) >= 2 and all(row.heads)
    if len(parts) != 2 or "(" in row.label or not models or any(len(pair) != 2 for pair in pairs):
        return ()
    if {"charge", "discharge"} <= ideas(row.label) or not all(_alike(a, b.partition("(")[0]) for a, b in pairs):
        return ()
    stem = " ".join(parts[0].split()[:-1])
    ended = row.page is None  # in pasted text the mark of a footnote stood at the end of the label
    first = replace(row, label=parts[0], values=tuple(a for a, _ in pairs), own_notes=())
    return (
        replace(first, notes=()) if ended else first,
        replace(row, label=f"{stem} {parts[1]}".strip(), values=tuple(b for _, b in pairs), own_notes=()),
    )


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
    if not 2 <= len(parts) == len(values) <= MOST or heads or "(" in row.label or not _alike(*values):
        yield row
        return
    stem = " ".join(parts[0].split()[:-1])
    tail = " ".join(parts[-1].split()[1:]) if all(len(part.split()) == 1 for part in parts[:-1]) else ""
    for n, (part, value) in enumerate(zip(parts, values, strict=True)):
        label = f"{stem if n else ''} {part} {tail if n < len(parts) - 1 else ''}"
        yield replace(row, label=" ".join(label.split()), values=(value,), heads=(), own_notes=())


def _alike(*texts: str) -> bool:
    """Whether texts hold one value each, of one dimension."""
    found = [[m for m in measures(text, Marks()) if m.dimension != "count"] for text in texts]
    return all(len(one) == 1 for one in found) and len({one[0].dimension for one in found}) == 1
