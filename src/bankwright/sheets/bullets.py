"""Signs that begin the lines of a list: they go, and what follows one begins a line of its own.

Gives: BEGINS, without_bullets().
Takes: the words of a line.
Limits: a sign alone, with a word close behind it, and nothing or a gap before it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

__all__ = ["BEGINS", "without_bullets"]

BEGINS = "begins"  # the mark on a word that stood behind a bullet
GAP = 1.2  # of the letter size: blank before a bullet in the middle of a line
_BULLET = re.compile(r"[•●○▪▫■□◦‣▸►➤➢→✓✔✱·\uf0b7\uf0a7\uf0d8–—-]$")


def without_bullets(line: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """The same words without bullets; a word behind one bears the mark."""
    out: list[dict[str, Any]] = []
    marked = False
    for n, word in enumerate(line):
        if _is_bullet(line, n):
            marked = True
            continue
        out.append({**word, BEGINS: True} if marked else word)
        marked = False
    return out


def _is_bullet(line: Sequence[dict[str, Any]], n: int) -> bool:
    word, after = line[n], line[n + 1] if n + 1 < len(line) else None
    if after is None or not _BULLET.match(word["text"]) or not re.match(r"[^\W_]", after["text"]):
        return False
    near = after["x0"] - word["x1"] < 2.5 * word["size"]
    first = n == 0 or word["x0"] - line[n - 1]["x1"] > GAP * word["size"]
    dash = word["text"] in "–—-·" and (after["text"][0].isdigit() or n > 0)  # a range, or no value
    return near and first and not dash
