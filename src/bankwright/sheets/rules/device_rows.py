"""Several models in rows whose headings are not known: what such a row gives is asked, with what the other rows give.

Gives: asked_in_rows().
Takes: the key of a value, its rule, and a Look at a sheet of which no models were told apart.
Limits: models are known by names that are alike; a value counts for every key that is measured in its unit.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from bankwright.sheets.answer import Answer, Ask, Said
from bankwright.sheets.columns import looks_like_models
from bankwright.sheets.measures import measures
from bankwright.sheets.view import Look, Seen

__all__ = ["asked_in_rows"]

_WHY = "several models stand in rows, and which value is of which column is not known"
_VALUES = {
    "rating": ("current", "A", "current"),
    "volts": ("voltage", "V", "voltage"),
    "interrupts": ("current", "kA", "interrupt"),
    "instant": ("current", "A", "magnetic"),
    "resistance": ("resistance", "", "resistance"),
    "mass": ("mass", "", "mass"),
    "terminals.torque": ("torque", "", "torque"),
}  # dimension, unit where others have it too, and an idea that the sheet must speak of
_KEYS = {*_VALUES, "terminals.stud", "poles"}
_THREAD = re.compile(r"(?<!\S)M(?:4|5|6|8|10|12|16)(?!\S)")


def asked_in_rows(key: str, rule: Callable[[Look], Answer | None]) -> Callable[[Look], Answer | None]:
    """The rule; what it says of one row of several models is a question, and so is what only such rows give."""

    def asked(look: Look) -> Answer | None:
        answer = rule(look)
        rows = [] if look.model or key not in _KEYS else _rows(look)
        lines = {s.row.line for s in rows}
        told = answer.choices if isinstance(answer, Ask) else (answer,) if answer else ()
        if not rows or any(said.spot.line not in lines for said in told):
            return answer
        choices = {str(said.value): said for seen in rows for said in _choices(key, seen, look)}
        if isinstance(answer, Said) and len(choices) < 2:
            return answer
        return Ask(_WHY, tuple(choices.values())) if choices else answer

    return asked


def _rows(look: Look) -> list[Seen]:
    """The first part of each line that begins with the name of a model and holds values of three kinds."""
    named = [s for s in look.rows if s.row.values and re.search(r"\d", s.row.label) and len(_kinds(s, look)) >= 3]
    labels = {s.row.label for s in named}
    alike = {a for a in labels for b in labels if a != b and looks_like_models((a, b))}
    return [s for s in named if s.row.label in alike and s.row.line.startswith(s.row.label)]


def _kinds(seen: Seen, look: Look) -> set[str]:
    return {m.dimension for m in measures(seen.row.line, look.marks)} - {"count"}


def _cells(seen: Seen, look: Look) -> list[str]:
    """The cells of its whole line but its name: a line may make several rows."""
    parts = dict.fromkeys(s.row for s in look.rows if s.row.line == seen.row.line)
    return [cell for row in parts for cell in (row.label, *row.values) if cell and cell != seen.row.label]


def _choices(key: str, seen: Seen, look: Look) -> list[Said]:
    spoken = {idea for s in look.rows for idea in s.own}
    cells = _cells(seen, look)
    if key == "terminals.stud":
        return [seen.said(m[0]) for cell in cells for m in _THREAD.finditer(cell)]
    if key == "poles":
        return [seen.said(cell) for cell in cells if re.fullmatch("[1-4]", cell)] if "poles" in spoken else []
    dimension, unit, about = _VALUES[key]
    found = [m for cell in cells for m in measures(cell, look.marks) if m.dimension == dimension and not m.ranges]
    return [seen.said(m.text()) for m in found if unit in ("", m.unit)] if about in spoken else []
