"""Faults on a page and as JSON: the line they stand in, what was found, what would be right.

Gives: ShownFault, shown_faults().
Limits: one shape for everything that goes wrong with a question; a bad design is a finding.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.forms.faults import Fault
from bankwright.web.desk import State

__all__ = ["ShownFault", "shown_faults"]


@dataclass(frozen=True, slots=True)
class ShownFault:
    """A fault with its line, parted at the place."""

    path: str
    code: str
    found: str
    right: str
    number: int | None = None
    line: bool = False
    before: str = ""
    marked: str = ""
    after: str = ""


def shown_faults(state: State) -> tuple[ShownFault, ...]:
    """The faults of the file with their lines."""
    lines = state.text.splitlines()
    return tuple(_shown(fault, lines) for fault in state.faults)


def _shown(fault: Fault, lines: list[str]) -> ShownFault:
    right = ". ".join(part.rstrip(".") for part in (fault.expected, fault.hint) if part)
    right = right if not right or right[-1] in ".?!" else f"{right}."
    place = fault.place
    if place is None or not 1 <= place.line <= len(lines):
        return ShownFault(fault.path, fault.code, fault.found.rstrip("."), right)
    text = lines[place.line - 1]
    start = min(max(place.column - 1, 0), len(text))
    end = len(text.split(" #")[0].rstrip())
    end = end if end > start else len(text)
    parts = (text[:start][-60:], text[start:end][:90], text[end:][:60])
    return ShownFault(fault.path, fault.code, fault.found.rstrip("."), right, place.line, True, *parts)
