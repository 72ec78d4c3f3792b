"""What a figure of a data sheet usually is, and what it can be at all: two pairs of ends.

Gives: Usual, typed_wrong(), alike(). Outside the usual ends a figure is a caution, outside the possible ones a fail:
there a unit, a comma or a line was typed wrong. An end of None is open.
Limits: the ends are common practice, no source, where their room does not name one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bankwright.forms.finding import by_name
from bankwright.forms.wording import Say, say

__all__ = ["TYPED", "Usual", "alike", "typed_wrong"]

TYPED = "One of the two is typed wrong, or its unit is: read {what} again in the data sheet."


@dataclass(frozen=True, slots=True)
class Usual:
    """Ends of a figure, in its own unit: least and most that can be, low and high that are usual."""

    least: float | None
    low: float | None
    high: float | None
    most: float | None

    def times(self, factor: float) -> Usual:
        """The same ends of a figure `factor` times as large."""
        scaled = [None if end is None else end * factor for end in (self.least, self.low, self.high, self.most)]
        return Usual(*scaled)

    @property
    def possible(self) -> tuple[float | None, float | None]:
        """Ends outside of which a figure fails."""
        return self.least, self.most

    @property
    def steps(self) -> tuple[float | None, float | None]:
        """Ends outside of which a figure is a caution."""
        return self.low, self.high


def alike(named: Iterable[tuple[str, str]]) -> dict[str, tuple[str, ...]]:
    """Names of things by what they share (path of their kind), each row in the order in which people count.

    Takes pairs of name and path; what stands first in a row does not depend on the order of the file.
    """
    rows: dict[str, dict[str, None]] = {}
    for name, path in named:
        rows.setdefault(path, {})[name] = None
    sorted_rows = [(path, tuple(sorted(names, key=by_name))) for path, names in rows.items()]
    return dict(sorted(sorted_rows, key=lambda row: by_name(row[1][0])))


def typed_wrong(what: str) -> Say:
    """What to do where two figures of a file cannot both be right."""
    return say(TYPED, what=what)
