"""What stands over the rows of a page: sections by their place across, headings over columns, names of models.

Gives: Heads, TITLE, spread(), with_unit().
Takes: cells of a row and of the headings above it.
Limits: a value under several headings has none of its own, but where these are the names of models.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

from bankwright.sheets.columns import is_unit, looks_like_models, models_in
from bankwright.sheets.headings import columns_under
from bankwright.sheets.notes import without_marks
from bankwright.sheets.row import Cell

__all__ = ["TITLE", "Heads", "spread", "with_unit"]

INDENT = 12.0  # points: a heading stands so far to the right of its labels at most
TITLE = 12.0  # points: letters of a title are larger than those of headings
IN_LINE = 5.0  # points: a cell that belongs to the column of a heading
Line = tuple[Cell, ...]


@dataclass
class Heads:
    """What stands over the rows now: sections by their place across, headings over columns."""

    sections: list[tuple[float, str]] = field(default_factory=list)
    heads: Line = ()
    begun: bool = True  # false on the first page until a row has a value: what stands before is a title
    fresh: bool = False  # no row stands under the headings yet
    carried: bool = False  # the headings stand on the page before
    title: float = TITLE  # letters above this size are those of a title

    def section_at(self, x: float) -> str:
        """The section that stands over a place across the page."""
        known = [(at, text) for at, text in self.sections if at <= x + INDENT]
        return max(known, default=(0.0, ""))[1]


def with_unit(values: tuple[Cell, ...], heads: Heads) -> tuple[Cell, ...]:
    """Values beside a unit over whose column no heading stands: it goes to the bare numbers."""
    units = [cell for cell in values if is_unit(cell.text)]
    if not heads.heads or len(units) != 1 or len(values) < 2:
        return values
    if any(h.x0 < units[0].x1 and units[0].x0 < h.x1 for h in heads.heads):
        return values
    return tuple(
        replace(cell, text=f"{cell.text} {units[0].text}") if re.search(r"\d\s*$", cell.text) else cell
        for cell in values
        if cell is not units[0]
    )


def spread(values: tuple[Cell, ...], heads: Heads) -> tuple[tuple[Cell, ...], tuple[str, ...]]:
    """Values with the heads over them; a cell under the names of several models, but not of all, stands for each."""
    over = _heads_over(values, heads)
    models = tuple(h for h in heads.heads if h.text in models_in([c.text for c in heads.heads]))
    if not 1 < len(values) < len(models) or len(over) != len(values):
        return values, over
    made = [(cell, models[n].text) for cell in values for n in columns_under(cell, models)]
    names = [name for _, name in made]
    if len(names) != len(models) or len(set(names)) != len(models):
        return values, over
    return tuple(cell for cell, _ in made), tuple(without_marks(name)[0] for name in names)


def _heads_over(values: tuple[Cell, ...], heads: Heads) -> tuple[str, ...]:
    """The heading over each value; one value under the names of several models holds for all of them."""
    if not heads.heads:
        return ()
    if len(values) == 1 and looks_like_models([h.text for h in heads.heads[-2:]]):
        return ("",)
    models = models_in([h.text for h in heads.heads])
    if models and len(values) > len(heads.heads) - (heads.heads[0].text not in models):
        return ()  # another table
    if heads.carried and len(values) > 1 and not all(_in_line(cell, heads.heads) for cell in values):
        return ()
    if models and 1 < len(values) < len(models) and not all(_in_line(cell, heads.heads) for cell in values):
        return ()
    return tuple(_head_over(cell, heads) for cell in values)


def _in_line(cell: Cell, heads: Line) -> bool:
    """Whether a cell stands under one or several headings as its column does: at an edge or at the middle."""
    places = [(a.x0, b.x1) for n, a in enumerate(heads) for b in heads[n:]]
    return any(
        min(abs(cell.x0 - x0), abs(cell.x1 - x1), abs(cell.x0 + cell.x1 - x0 - x1) / 2) < IN_LINE for x0, x1 in places
    )


def _head_over(cell: Cell, heads: Heads) -> str:
    """The heading whose column holds the middle of a cell; empty where a cell spans several."""
    covered = [h for h in heads.heads if h.x0 < cell.x1 and cell.x0 < h.x1]
    if len(covered) == 1:
        return without_marks(covered[0].text)[0]
    if covered:
        return ""
    middle = (cell.x0 + cell.x1) / 2
    near = min(heads.heads, key=lambda h: abs((h.x0 + h.x1) / 2 - middle))
    return without_marks(near.text)[0] if abs((near.x0 + near.x1) / 2 - middle) < max(25.0, near.x1 - near.x0) else ""
