"""Charge current over cell temperature: a table of ranges with as many currents, or rows of a range and a current.

Gives: by_temperature().
Takes: a Look.
Limits: ranges in words ("below 0 °C") and of two ends; blocked is 0 A and ends the table.
"""

from __future__ import annotations

import re
from itertools import pairwise

from bankwright.sheets.answer import Answer
from bankwright.sheets.concepts import ideas, phrase
from bankwright.sheets.measures import measures
from bankwright.sheets.view import Look, Seen

__all__ = ["by_temperature"]


def by_temperature(look: Look) -> Answer | None:
    """Charge current over cell temperature, as steps upward."""
    for spans, amounts, seen in _temperature_tables(look):
        steps = [
            [f"{low} degC", amount]
            for (low, _), amount in zip(spans, amounts, strict=True)
            if low is not None and amount != "0 A"
        ]
        if len(steps) >= 2:
            return seen.said(steps)
    return None


Span = tuple[str | None, str | None]


def _temperature_tables(look: Look) -> list[tuple[list[Span], list[str], Seen]]:
    """Runs of temperature ranges with as many currents after them; or pairs of a range and a current."""
    cells = [
        (text, seen)
        for seen in look.rows
        for text in (seen.row.label, *seen.row.values)
        if text and seen.direction != "discharge"
    ]
    parts = [(piece, seen) for text, seen in cells for piece in _pieces(text)]
    marked = [(_span(piece, look), _amount(piece, look), seen) for piece, seen in parts]
    tables = []
    for start in range(len(marked)):
        if marked[start][0] is None or (start and marked[start - 1][0] is not None):
            continue
        n = start
        while n < len(marked) and marked[n][0] is not None:
            n += 1
        count = n - start
        n += n < len(marked) and marked[n][1] is None and marked[n][2].direction == "charge"  # its label
        amounts = [a for _, a, _ in marked[n : n + count] if a is not None]
        if count >= 3 and len(amounts) == count:
            tables.append(([s for s, _, _ in marked[start : start + count] if s], amounts, marked[n][2]))
    pairs = [(a[0], b[1], a[2]) for a, b in pairwise(marked) if a[0] and b[1] and a[2].row is b[2].row]
    if len(pairs) >= 2 and not tables:
        tables.append(([p[0] for p in pairs], [p[1] for p in pairs], pairs[0][2]))
    return tables


def _pieces(text: str) -> list[str]:
    """A label that ran into the first range is cut before it; a range and a blocked after it are two."""
    found = phrase("beside_temperature").search(text)
    head = phrase("blocked_after").match(text)
    if head:
        return [head[1], head[2]]
    if found and found.start() > 20:
        return [text[: found.start()], text[found.start() :]]
    return [text]


def _span(text: str, look: Look) -> Span | None:
    found = measures(text, look.marks)
    if len(found) != 1 or found[0].dimension != "temperature" or len(text) > 40:
        return None
    m = found[0]
    if m.ranges:
        return m.low, m.high
    words = text[: m.start].strip().lower()
    if re.search(r"below|under|unter|<|moins|menos|sotto|onder|less", words):
        return None, m.high
    return (m.low, None) if re.search(r"above|over|über|ueber|>|plus|más|sopra|boven|ab\b|dès", words) else None


def _amount(text: str, look: Look) -> str | None:
    found = measures(text, look.marks)
    if len(found) == 1 and found[0].dimension == "current" and len(text) < 25 and not found[0].ranges:
        return found[0].text()
    blocked = "blocks" in ideas(text) or re.fullmatch(
        r"\s*(?:0|—|–|-|no charg\w*|none|not allowed)\s*", text, re.IGNORECASE
    )
    return "0 A" if blocked and len(text) < 25 else None
