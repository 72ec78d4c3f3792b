"""Pasted text with one cell a line: labels and values in turn, headings and wrapped labels between.

Gives: NOTE, is_bare(), stacked_cells().
Takes: lines with their numbers.
Limits: names of several models must follow each other in lines of their own; a row with as many values is theirs.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from bankwright.sheets.columns import is_unit, is_value, looks_like_models
from bankwright.sheets.row import Row
from bankwright.sheets.unit_cell import with_unit_cell

__all__ = ["NOTE", "is_bare", "stacked_cells"]

LONGEST = 60  # letters of a value
HEADING = 70  # letters of a heading
_TEXT_VALUE = re.compile(
    r"^(?:IP\s?\d\d|M\s?\d{1,2}\b|UL\b|IEC\b|EN\b|UN\b|VDE\b|class\b|klasse\b|classe\b|clase\b|not\b|nicht\b|non\b|niet\b|no\b"
    r"|by\b|durch\b|par\b|por\b|da\b|door\b|yes\b|ja\b|oui\b|s[ií]\b|LFP\b|LiFePO|Lithium|Litio|RS-?485|CAN\b|(?:max|min)\.?\s*\d"
    r"|\d+S\d*P?\b|[≤≥<>±]|—|–\s*$|-\s*$|discharge stays"
    r"|[^\W\d_]+ (?:stays|remains|weiter|bleibt|reste|sigue|rimane|blijft|weiterhin)\b.*\w|bis zu \d"
    r"|up to \d|hasta \d|jusqu.à \d|fino a \d|tot \d|beliebig|keine\b|nessun|ninguno|aucun|any\b|quelconque"
    r"|indifferen|(?:adjustable|settable|einstellbar|r[ée]glable|ajustable|regolabile|instelbaar)\b.*\d"
    r"|[^\W\d_]+ing stops?$)",
    re.IGNORECASE,
)
NOTE = re.compile(
    r"^(?:(?:\(?(\d)\)?|([*†‡]+))\s+(?=[A-ZÀ-Ý«\"][\w'’-]*\s+[^\W\d_]{2,}.{12,})(?![AVWJ]\b)"
    r"|([*†‡]+|⁽?[¹²³⁴][⁾)]?|[\da-f]\))\s+(?=[A-ZÀ-Ý].{12,}))"
)
_NUMBERED = re.compile(r"\d{1,2}(?:\.\d)?\.?\s+[^\W\d_]{4,}")


def is_bare(text: str) -> bool:
    """A line that is a value or a unit alone; one that begins with the number of a chapter is none."""
    told = is_value(text) or _TEXT_VALUE.match(text) or is_unit(text)
    return bool(told and len(text) < LONGEST and not _NUMBERED.match(text))


def stacked_cells(lines: Sequence[tuple[int, str]]) -> Iterator[Row]:
    """Rows of such a text, in its order."""
    section, heads, at = "", tuple[str, ...](), 0
    while at < len(lines):
        names = _models(lines, at)
        if names:
            heads = names
            yield Row("", names, " ".join(names), None, lines[at][0], section=section)
            at += len(names)
            continue
        label, last = _label(lines, at)
        values = _values(lines, last + 1)
        n = lines[last + (1 if values else 0)][0] if last + 1 < len(lines) or not values else lines[last][0]
        row = with_unit_cell(Row(label, values, f"{label} {' '.join(values)}".strip(), None, n))
        if values:
            over = heads if len(row.values) == len(heads) else ("",) if heads and len(row.values) == 1 else ()
            yield replace(row, section=section, heads=over)
        else:
            yield row
            section = label if len(label) < HEADING else section
        at = last + 1 + len(values)


def _models(lines: Sequence[tuple[int, str]], at: int) -> tuple[str, ...]:
    """Names of models in lines of their own that follow each other, as many as are alike."""
    for count in range(min(6, len(lines) - at), 1, -1):
        names = tuple(line.strip() for _, line in lines[at : at + count])
        if looks_like_models(names):
            return names
    return ()


def _label(lines: Sequence[tuple[int, str]], at: int) -> tuple[str, int]:
    """The label that begins on a line, with the lines it is wrapped onto, and where it ends."""
    label, last = lines[at][1].strip(), at
    for n in range(at + 1, len(lines)):
        text = lines[n][1].strip()
        if _is_cell(text) or not (text[:1].islower() or label.endswith(("when", "bei", "of", "-", "("))):
            break
        label, last = f"{label} {text}", n
    return label, last


def _values(lines: Sequence[tuple[int, str]], at: int) -> tuple[str, ...]:
    found: list[str] = []
    for _, line in lines[at:]:
        text = line.strip()
        if not _is_cell(text):
            break
        found.append(text)
    return tuple(found)


def _is_cell(text: str) -> bool:
    told = is_value(text) or bool(_TEXT_VALUE.match(text)) or is_unit(text)
    return told and not NOTE.match(text) and len(text) < LONGEST
