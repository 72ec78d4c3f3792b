"""The mark of a footnote at the end of a value.

Gives: cut_mark().
Takes: a value as printed, and the footnotes of its sheet by their marks.
Limits: a bare figure is a mark only after a unit or a word, and where a footnote bears it.
"""

from __future__ import annotations

import re
from collections.abc import Container

__all__ = ["cut_mark"]

_AT_END = re.compile(r"(?<=[A-Za-zΩ%°)\]])\s?(?:\[?\(?([\da-f])[\])]|(?<=\s)(\d)|([*†‡]+)|[⁽]?([¹²³⁴⁵])[⁾)]?)\s*$")
_TOUCHING = re.compile(r"(?<=[a-zΩ%)])(\d)$")  # "105 Ah1", of a figure that was raised
_FIGURE = re.compile(r"(?<=\d)\s?(?:([*†‡]+)|(?<=\s)(\d)\)|[⁽]?([¹²³⁴⁵])[⁾)]?)\s*$")
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
