"""Tables that stand under the names of models by their place alone: as many columns as models, but over something else.

Gives: crossed().
Takes: the rows of a sheet, and the names of its models.
Limits: rising temperatures over shares, and times over rows that bear the names of models, and no others.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from bankwright.sheets.measures import Marks, Measure, measures
from bankwright.sheets.row import Row

__all__ = ["crossed"]

FEWEST = 3  # columns


def crossed(rows: Sequence[Row], known: Sequence[str], marks: Marks) -> Iterator[Row]:
    """The rows, those of such a table without the heads that are not theirs."""
    over = False  # within a table whose rows are the models
    for n, row in enumerate(rows):
        after = rows[n + 1] if n + 1 < len(rows) else None
        over = (over and row.label in known) or (after is not None and after.label in known and _times(row, marks))
        shares = _warm(row, marks) and after is not None and _all(after, "share", marks)
        below = n > 0 and _warm(rows[n - 1], marks) and _all(row, "share", marks)
        yield replace(row, heads=()) if known and (over or shares or below) else row


def _all(row: Row, dimension: str, marks: Marks) -> tuple[Measure, ...]:
    """Its values, if each is one of a dimension; else none."""
    found = [measures(value, marks) for value in row.values]
    whole = len(found) >= FEWEST and all(len(f) == 1 and f[0].dimension == dimension for f in found)
    return tuple(f[0] for f in found) if whole else ()


def _times(row: Row, marks: Marks) -> bool:
    return len({m.text() for m in _all(row, "time", marks)}) >= FEWEST


def _warm(row: Row, marks: Marks) -> bool:
    """Whether its values are temperatures that rise from one to the next."""
    warm = [m.number() for m in _all(row, "temperature", marks)]
    return len(warm) >= FEWEST and all(a < b for a, b in pairwise(warm))
