"""Room for letters: how wide a text may get in the widest face of the stack, and how it is shortened.

Gives: room(), fitted(). 7.5 px a letter at 13 px, as the look demands; a browser test measures real faces.
Limits: an estimate for laying out; nothing here measures a font.
"""

from __future__ import annotations

__all__ = ["fitted", "room"]

PX_A_LETTER = 7.5 / 13


def room(text: str, size: float) -> float:
    """Width that a text may need. [px]"""
    return len(text) * size * PX_A_LETTER


def fitted(text: str, width: float, size: float) -> str:
    """Shorten a text to the width; the end is cut, an ellipsis says so. The whole stands in the title."""
    most = int(width / (size * PX_A_LETTER) + 1e-6)
    return text if len(text) <= most else text[: max(most - 1, 1)] + "…"
