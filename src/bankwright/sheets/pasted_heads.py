"""A pasted table with a model a row whose headings stand one below the other above it, each down to its unit.

Gives: under_heads().
Takes: lines with their numbers.
Limits: rows of a name and bare numbers; as many headings that end in a line with a unit alone as the rows have numbers.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from bankwright.sheets.columns import looks_like_models
from bankwright.sheets.measures import Marks, measures
from bankwright.sheets.row import Row

__all__ = ["under_heads"]

LONGEST = 34  # letters of a line of a heading
MOST = 5  # lines of one heading
_ROW = re.compile(r"((?=\S*\d)\S*[A-Za-z]\S*|[A-Za-z][\w-]*\s\d\S*)((?:\s+(?:[≤<>]?[\d.,]*\d|[—–-]))+)\s*$")
_NOTHING = re.compile(r"[—–-]")


@dataclass(frozen=True, slots=True)
class _Line:
    number: int
    text: str
    name: str
    values: tuple[str, ...]


def under_heads(lines: Sequence[tuple[int, str]]) -> tuple[list[tuple[int, str]], list[Row]]:
    """The lines that are left, and the rows of such tables: one for each model and heading."""
    rows: list[Row] = []
    gone: set[int] = set()
    parted = [_parted(n, line.strip()) for n, line in lines]
    at = 0
    while at < len(parted):
        run = _run(parted, at)
        heads = _heads(lines, at, len(run[0].values)) if len(run) >= 2 else ()
        if heads:
            rows += _rows(run, tuple(label for label, _ in heads))
            gone |= {line.number for line in run} | {n for _, numbers in heads for n in numbers}
        at += max(1, len(run))
    return [(n, line) for n, line in lines if n not in gone], rows


def _parted(number: int, text: str) -> _Line | None:
    found = _ROW.fullmatch(text)
    return _Line(number, text, found[1], tuple(found[2].split())) if found else None


def _run(parted: Sequence[_Line | None], at: int) -> list[_Line]:
    """Lines that follow each other with as many numbers each, after names that are alike."""
    run: list[_Line] = []
    for line in parted[at:]:
        if line is None or (run and len(line.values) != len(run[0].values)) or len(line.values) < 2:
            break
        run.append(line)
    return run if looks_like_models([line.name for line in run]) else []


def _heads(lines: Sequence[tuple[int, str]], at: int, count: int) -> tuple[tuple[str, list[int]], ...]:
    """The headings above a table, from the left, each with its lines; empty where they are not as many."""
    found: list[tuple[str, list[int]]] = []
    held: list[tuple[int, str]] = []
    for n, line in reversed(lines[max(0, at - MOST * count) : at]):
        text = line.strip()
        if _is_unit(text) and held:
            found.append(_head(held))
            held = []
        if (not held and not _is_unit(text)) or len(text) > LONGEST or text.endswith((".", ":")) or len(held) >= MOST:
            break
        held.append((n, text))
        if len(found) == count:
            break
    found += [_head(held)] if len(found) == count - 1 and held else []
    return tuple(reversed(found)) if len(found) == count else ()


def _head(held: Sequence[tuple[int, str]]) -> tuple[str, list[int]]:
    return " ".join(text for _, text in reversed(held)), [n for n, _ in held]


def _is_unit(text: str) -> bool:
    found = measures(f"1 {text}", Marks()) if len(text) <= 8 and not re.match(r"\d", text) else ()
    return len(found) == 1 and found[0].dimension != "count" and found[0].end == len(f"1 {text}")


def _rows(run: Sequence[_Line], heads: Sequence[str]) -> list[Row]:
    names = tuple(line.name for line in run)
    made = [Row("", names, run[0].text, None, run[0].number)]
    for line in run:
        told = zip(heads, line.values, strict=True)
        made += [
            Row(head, (value,), line.text, None, line.number, (line.name,))
            for head, value in told
            if not _NOTHING.fullmatch(value)
        ]
    return made
