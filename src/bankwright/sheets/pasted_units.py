"""A pasted table with a model a row whose headings, wrapped above it, each end in their unit in brackets.

Gives: under_units().
Takes: lines with their numbers.
Limits: rows of a name and of values in the same order; values without a unit stand last, and as many headings with one
belong to the first of them; each heading begins with a capital letter and holds no other. Values that bear their unit
take what stands before those headings as their label.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from bankwright.sheets.columns import is_unit, looks_like_models
from bankwright.sheets.measures import Marks, measures
from bankwright.sheets.row import Row

__all__ = ["under_units"]

MOST = 24  # lines of headings
LONGEST = 60  # letters of a line of them
FEWEST = 2  # rows, and headings with a unit
_NAME = re.compile(r"((?=\S*\d)(?=\S*[A-Za-z])\S+)\s+(.+)")
_BRACKET = re.compile(r"\(([^()\d±]{1,8}?)\s*(?:±\s*[\d.,]+\s*%)?\)")
_NUMBER = re.compile(r"[≤<>]?\d[\d.,]*")
_THREAD = re.compile(r"M\d{1,2}")


@dataclass(frozen=True, slots=True)
class _Line:
    number: int
    text: str
    name: str
    cells: tuple[str, ...]
    shape: tuple[str, ...]  # what each cell is measured in; "bare" for a number alone


def under_units(lines: Sequence[tuple[int, str]]) -> tuple[list[tuple[int, str]], list[Row]]:
    """The lines that are left, and the rows of such tables: one for each model and value that has a heading."""
    rows, gone, at = list[Row](), set[int](), 0
    parted = [_parted(n, line.strip()) for n, line in lines]
    while at < len(parted):
        run = _run(parted, at)
        above = _above(lines, at) if len(run) >= FEWEST else []
        heads = _heads("\n".join(text for _, text in above), run[0].shape) if run and above else ()
        if heads:
            rows += _rows(run, heads)
            gone |= {line.number for line in run} | {n for n, _ in above}
        at += max(1, len(run))
    return [(n, line) for n, line in lines if n not in gone], rows


def _parted(number: int, text: str) -> _Line | None:
    found = _NAME.fullmatch(text)
    cells, words = list[str](), found[2].split() if found else []
    for word in words:
        if _NUMBER.fullmatch(word) or _THREAD.fullmatch(word):
            cells.append(word)
        elif cells and _NUMBER.fullmatch(cells[-1]) and is_unit(word):
            cells[-1] += f" {word}"
        else:
            return None
    return _Line(number, text, found[1], tuple(cells), tuple(map(_kind, cells))) if found else None


def _kind(cell: str) -> str:
    if _NUMBER.fullmatch(cell):
        return "bare"
    return "thread" if _THREAD.fullmatch(cell) else measures(cell, Marks())[0].dimension


def _run(parted: Sequence[_Line | None], at: int) -> list[_Line]:
    """Lines that follow each other with the same values after names that are alike."""
    run: list[_Line] = []
    for line in parted[at:]:
        if line is None or (run and line.shape != run[0].shape):
            break
        run.append(line)
    return run if looks_like_models([line.name for line in run]) else []


def _above(lines: Sequence[tuple[int, str]], at: int) -> list[tuple[int, str]]:
    """The short lines right above a table that end no sentence."""
    found: list[tuple[int, str]] = []
    for n, line in reversed(lines[max(0, at - MOST) : at]):
        text = line.strip()
        if len(text) > LONGEST or (text.endswith((".", ":")) and not text.endswith("c.")):
            break
        found.insert(0, (n, text))
    return found


def _heads(text: str, shape: Sequence[str]) -> tuple[str, ...]:
    """A heading for each value, empty for one that has none; nothing where they do not fit the values."""
    ends = [m for m in _BRACKET.finditer(text) if is_unit(m[1])]
    first = next((n for n, kind in enumerate(shape) if kind == "bare"), len(shape))
    bare = len(shape) - first
    over = bare - len(ends)
    rest = text[ends[-1].end() :] if ends else ""
    if len(ends) < FEWEST or over < 0 or set(shape[first:]) != {"bare"} or _begun(rest) != over:
        return ()
    begins = text.rfind("\n", 0, max(0, ends[0].start() - 1))
    lead = " ".join(text[: max(0, begins)].split())
    if not lead:
        return ()
    starts = [max(0, begins), *(m.end() for m in ends)]
    named = [" ".join(text[a : m.end()].split()) for a, m in zip(starts, ends, strict=False)]
    return (*[lead] * first, *named, *[""] * over) if all(_begun(head) <= 1 for head in named) else ()


def _begun(text: str) -> int:
    """How many headings begin in a text: each with a capital letter."""
    return len(re.findall(r"(?<!\S)[^\W\d_a-zß-öø-ÿ][a-zß-öø-ÿ]{2,}", text))


def _rows(run: Sequence[_Line], heads: Sequence[str]) -> list[Row]:
    names = tuple(line.name for line in run)
    made = [Row("", names, run[0].text, None, run[0].number)]
    for line in run:
        told = zip(heads, line.cells, strict=True)
        made += [Row(head, (value,), line.text, None, line.number, (line.name,)) for head, value in told if head]
    return made
