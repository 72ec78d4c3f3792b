"""Lines under a drawing that say which of its figures rest on values that nobody gave, each with its range.

Gives: assumed_lines(), painted_assumed(), HIGH.
Limits: only what a solution says of itself; a plain table of amperes says nothing.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from bankwright.draw.pen.letters import room
from bankwright.draw.pen.svg import Markup, words

__all__ = ["HIGH", "assumed_lines", "painted_assumed"]

HIGH = 18.0  # px a line
SIZE = 13


def assumed_lines(solution: object, units: str, width: float) -> tuple[str, ...]:
    """The lines, folded to a width [px]; empty where nothing is assumed."""
    letters = max(int(width / room("n", SIZE)), 12)
    said = [each.text.text(units) + "." for each in getattr(solution, "assumed", ())]
    return tuple(line for text in said for line in textwrap.wrap(text, letters, subsequent_indent="   "))


def painted_assumed(lines: Sequence[str], x: float, y: float) -> list[Markup]:
    """Paint them from a first base line on."""
    return [words(x, y + HIGH * k, line, "d soft") for k, line in enumerate(lines)]
