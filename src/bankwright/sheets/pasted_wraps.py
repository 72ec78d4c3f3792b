"""Labels that were wrapped around their value when a table was pasted: "Cut-off voltage per", "2.80 V", "cell".

Gives: unwrapped().
Takes: lines with their numbers.
Limits: a value alone on its line takes the label above it; what stands below it only where that goes on in small
letters, or where the line above is left open, or where the next value has a label of its own.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from bankwright.sheets.columns import is_value
from bankwright.sheets.measures import Marks
from bankwright.sheets.split import split_row, united

__all__ = ["unwrapped"]

LONGEST = 46  # letters of one line of a label
VALUE = 40  # letters of a value alone
MOST = 3  # lines that a label goes on with below
_OPEN = re.compile(
    r"(?:[,(–-]|\s(?:a|à|al|au|de|du|del|des|della|di|da|do|of|the|in|en|et|y|e|per|je|pro|par|por|für|von|der|die|des|bei|beim|zum"
    r"|la|le|el|van|het|met|op|and|with|at|by|mit|im|und|och|med|na|przy|od|to|max\.|min\.))$",
    re.IGNORECASE,
)


def unwrapped(lines: Sequence[tuple[int, str]]) -> list[tuple[int, str]]:
    """The same lines, where such a row is one line: its label, a colon and its value."""
    out: list[tuple[int, str]] = []
    at = 0
    while at < len(lines):
        n, text = lines[at][0], lines[at][1].strip()
        if _is_value(text) and out and _is_label(out[-1][1].strip()):
            below = _below(lines, at)
            label = " ".join([out.pop()[1].strip(), *(line.strip() for _, line in lines[at + 1 : at + 1 + below])])
            out.append((n, f"{label}: {text}"))
            at += 1 + below
            continue
        more = _small(lines, at + 1) if not _is_label(text) and not _is_value(text) else 0
        label, value = split_row(text, Marks()) if more and ":" not in text else ("", "")
        if label and value and len(label) <= LONGEST and len(value) <= VALUE:
            label = " ".join([label, *(line.strip() for _, line in lines[at + 1 : at + 1 + more])])
            out.append((n, f"{label}: {value}"))
            at += 1 + more
            continue
        out.append(lines[at])
        at += 1
    return out


def _is_value(text: str) -> bool:
    """A measure alone on its line; a bare number is none."""
    found = united(text, Marks())
    points = any(not text[a.end : b.start].strip() for a, b in pairwise(found))  # of a table
    return is_value(text) and len(text) <= VALUE and bool(found) and not points and ":" not in text


def _is_label(text: str) -> bool:
    words = re.search(r"[^\W\d_]{3}", text)
    plain = not text.endswith((".", ":", ";")) and "\t" not in text and ":" not in text
    return bool(words) and plain and len(text) <= LONGEST and not united(text, Marks()) and not is_value(text)


def _below(lines: Sequence[tuple[int, str]], at: int) -> int:
    """How many lines below a value belong to its label."""
    rest = [line.strip() for _, line in lines[at + 1 : at + 2 + MOST]]
    labels = next((k for k, text in enumerate(rest) if not _is_label(text)), len(rest))
    if not labels:
        return 0
    if rest[0][:1].islower() or _OPEN.search(lines[at - 1][1].strip()):
        return 1
    return 1 if labels == 2 and len(rest) > 2 and _is_value(rest[2]) else 0


def _small(lines: Sequence[tuple[int, str]], at: int) -> int:
    """How many lines go on in small letters with the label of the row above."""
    rest = [line.strip() for _, line in lines[at : at + MOST]]
    ready = [bool(text[:1].islower()) and len(text) <= LONGEST // 2 + 3 and not _has_value(text) for text in rest]
    return next((k for k, yes in enumerate(ready) if not yes), len(ready))


def _has_value(text: str) -> bool:
    return bool(united(text, Marks())) or text.endswith((".", ";", ":"))
