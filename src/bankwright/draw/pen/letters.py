"""Room for letters: how wide a text may get in the widest face of the stack, and how it is shortened.

Gives: room(), fitted(), wrapped(). 7.5 px a letter at 13 px, bold letters and M, W wider, as the look demands.
Limits: an estimate for laying out; nothing here measures a font (a browser test does).
"""

from __future__ import annotations

__all__ = ["fitted", "room", "wrapped"]

EM, BOLD_EM = 7.5 / 13, 8.4 / 13  # part of the letter size that one letter takes
WIDE, WIDE_EM = frozenset("MWmw%@…"), 0.93


def _letter(letter: str, bold: bool) -> float:
    return WIDE_EM if letter in WIDE else BOLD_EM if bold else EM


def room(text: str, size: float, bold: bool = False) -> float:
    """Width that a text may need. [px]"""
    return sum(_letter(letter, bold) for letter in text) * size


def fitted(text: str, width: float, size: float, bold: bool = False) -> str:
    """Shorten a text to the width; the end is cut, an ellipsis says so. The whole stands in the title."""
    if room(text, size, bold) <= width + 1e-6:
        return text
    most = len(text) - 1
    while most > 1 and room(text[:most] + "…", size, bold) > width:
        most -= 1
    return text[:most] + "…"


def wrapped(text: str, width: float, size: float) -> list[str]:
    """Lines of whole words that fit the width; a word that is longer stands alone."""
    rows: list[str] = []
    row = ""
    for word in text.split():
        longer = f"{row} {word}".strip()
        if row and room(longer, size) > width:
            rows.append(row)
            longer = word
        row = longer
    return [*rows, row] if row else rows
