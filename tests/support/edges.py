"""A limit of a check with what is told of a figure, and the test that pins it from both sides.

Gives: Edge, holds(). Limit, unit and source are asserted; each side lies 0.1 % off it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from bankwright.forms.finding import Finding

__all__ = ["Edge", "holds"]


@dataclass(frozen=True)
class Edge:
    """A limit, which side of it is wrong, and what is told of a figure; `at_it` where the limit itself is outside."""

    code: str
    what: str
    side: str  # "least" or "most"
    limit: float
    unit: str
    source: str
    told: Callable[[float], Finding]
    outside: str
    inside: str = "pass"
    at_it: str = ""
    room: float = 0.0  # what 0.1 % is taken of, where the limit itself is a small part of a large figure

    def __str__(self) -> str:
        """For the name of the test."""
        return f"{self.code} {self.what} {self.side}"


def holds(edge: Edge) -> None:
    """Asserts both sides of a limit, the limit itself, unit and source."""
    out = (1.0 if edge.side == "most" else -1.0) * 1e-3 * abs(edge.room or edge.limit)
    inside, outside = edge.told(edge.limit - out), edge.told(edge.limit + out)
    assert (inside.verdict, outside.verdict) == (edge.inside, edge.outside)
    if edge.room == 0.0:
        assert edge.told(edge.limit).verdict == (edge.at_it or edge.inside)
    shown = [found for found in (inside, outside) if found.figure is not None]
    assert shown
    assert all(found.source.document.startswith(edge.source) for found in shown), inside.source
    assert all(found.figure is not None and found.figure.quantity == edge.unit for found in shown), inside.figure
