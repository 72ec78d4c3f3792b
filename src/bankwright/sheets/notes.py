"""The marks of footnotes in a text, and at the end of a value.

Gives: cut_mark(), without_marks().
Takes: a value as printed, and the footnotes of its sheet by their marks.
Limits: a bare figure is a mark only after a unit or a word, and where a footnote bears it.
"""

from __future__ import annotations

import re
from collections.abc import Container

__all__ = ["cut_mark", "without_marks"]

_AT_END = re.compile(r"(?<=[A-Za-zΩ%°)\]])\s?(?:\[?\(?([\da-f])[\])]|(?<=\s)(\d)|([*†‡]+)|[⁽]?([¹²³⁴⁵])[⁾)]?)\s*$")
_TOUCHING = re.compile(r"(?<=[a-zΩ%)])(\d)$")  # "105 Ah1", of a figure that was raised
_FIGURE = re.compile(r"(?<=\d)\s?(?:([*†‡]+)|(?<=\s)(\d)\)|[⁽]?([¹²³⁴⁵])[⁾)]?)\s*$")
_MARK = re.compile(
    "\u2060\\[(\\d+|[a-f])\\]|⁽?([¹²³⁴⁵](?!\\w))[⁾)]?|(?<=[^\\W\\d_]|[).])([*†‡]+)|(?<=[^\\W\\d_.,]|\\.)\\s(\\d)\\)$"
)
_RAISED = str.maketrans("¹²³⁴⁵", "12345")


def cut_mark(value: str, notes: Container[str]) -> tuple[str, str]:
    """The value without its mark, and the mark; an empty mark where it has none."""
    for pattern in (_AT_END, _FIGURE, _TOUCHING):
        found = pattern.search(value)
        mark = next((g for g in found.groups() if g), "").translate(_RAISED) if found else ""
        raised = found is not None and found[0].strip() in ("²", "³", "2", "3")
        square = raised and found is not None and value[: found.start()].endswith(("m", "A"))
        if found and mark in notes and not square and re.search(r"\d", value[: found.start()]):
            return value[: found.start()].strip(), mark
    return value, ""


def without_marks(text: str) -> tuple[str, list[str]]:
    """Text without the marks of footnotes, and these."""
    found = [m for m in _MARK.finditer(text) if not _power(text, m)]
    marks = [m[1] or (m[2] or "").translate(_RAISED) or m[3] or m[4] for m in found]
    cleaned = _MARK.sub(lambda m: m[0] if _power(text, m) else "", text)
    return re.sub(r"\s+", " ", cleaned).strip(), marks


def _power(text: str, found: re.Match[str]) -> bool:
    """A raised two after a unit is a power: A²s, mm², I²t; `2)` within brackets closes them."""
    if found[4]:
        return "(" in text[: found.start()].rpartition(")")[2]
    return bool(found[2]) and text[max(0, found.start() - 1) : found.start()] in ("A", "m", "I")
