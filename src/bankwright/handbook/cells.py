"""What the handbook says of an LFP cell in general: voltages, and the two relaxation branches of a module.

Gives: cell_voltage(), relaxation(), Relaxation. For a bank whose data sheets are silent; a stated value goes before.
Limits: branches are an order of magnitude for a module at 25 degC; scaled by cells and capacity.
Sources: handbook tables published/ranges (voltages) and lfp/module-default (branches).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Literal

from bankwright.forms.origin import Cited
from bankwright.handbook.tables import load, look_up

__all__ = ["Relaxation", "cell_voltage", "relaxation"]

CELLS, CAPACITY_AH = 16, 100.0  # the module that the row of lfp/module-default is for


@cache
def cell_voltage(what: Literal["full", "nominal", "low working", "empty"]) -> Cited:
    """Voltage of one cell with its source. [V]"""
    return look_up("published/ranges", f"cell {what}", "voltage")


@dataclass(frozen=True, slots=True)
class Relaxation:
    """Two branches of a module: resistance [ohm] and time constant [s] of the quick one and the slow one."""

    quick: float
    quick_time: float
    slow: float
    slow_time: float


@cache
def relaxation(cells: int = CELLS, capacity_ah: float = CAPACITY_AH) -> Relaxation:
    """Branches of a module with so many cells in series and such a capacity."""
    table = load("lfp/module-default")
    row = table.rows[0]
    columns = ("first_branch", "first_time", "second_branch", "second_time")
    quick, quick_time, slow, slow_time = (table.value(row, column) or 0.0 for column in columns)
    scale = cells / CELLS * CAPACITY_AH / capacity_ah
    return Relaxation(quick * scale, quick_time, slow * scale, slow_time)
