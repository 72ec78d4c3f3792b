"""A unit in a cell of its own goes to the bare numbers of its row.

Gives: with_unit_cell().
Takes: a row.
Limits: one unit a row.
"""

from __future__ import annotations

import re
from dataclasses import replace

from bankwright.sheets.columns import is_unit
from bankwright.sheets.row import Row

__all__ = ["with_unit_cell"]


def with_unit_cell(row: Row) -> Row:
    """A cell that is a unit goes to the bare numbers of its row."""
    units = [n for n, value in enumerate(row.values) if is_unit(value)]
    if len(row.values) < 2 or len(units) != 1:
        return row
    unit = row.values[units[0]]
    kept = [n for n in range(len(row.values)) if n != units[0]]
    values = tuple(f"{row.values[n]} {unit}" if re.search(r"\d\s*$", row.values[n]) else row.values[n] for n in kept)
    heads = tuple(row.heads[n] for n in kept) if len(row.heads) == len(row.values) else ()
    own = tuple(row.own_notes[n] for n in kept) if row.own_notes else ()
    return replace(row, values=values, heads=heads, own_notes=own)
