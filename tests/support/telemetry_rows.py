"""Columns for tests of telemetry: made-up readings of modules, and the stretch that holds all. Values are invented.

Gives: columns(), poll(), START, ALL.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

import numpy as np

from bankwright.forms.readings import Columns

__all__ = ["ALL", "START", "columns", "poll"]

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC).timestamp()  # StepClock's wall clock at monotonic 100 s
ALL = (0.0, 4e9)


def columns(
    quantity: str, at: Sequence[str], time: Sequence[float], value: object, quality: object | None = None
) -> Columns:
    table = np.array(value, float).reshape(len(time), len(at))
    marks = np.zeros(table.shape, np.uint8) if quality is None else np.array(quality).reshape(table.shape)
    return Columns(quantity, tuple(at), np.array(time, float), table, marks)


def poll(time: float, modules: int = 2, cells: int = 4, seed: int = 0) -> list[Columns]:
    """What a poll of a few modules at one moment gives: voltage, current, cells."""
    draw = np.random.default_rng([seed, round(time * 1000)])
    names = [f"M{k}" for k in range(1, modules + 1)]
    each = [f"{name}.c{k}" for name in names for k in range(1, cells + 1)]
    return [
        columns("voltage", names, [time], np.round(52.6 + draw.normal(0, 0.01, modules), 3)),
        columns("current", names, [time], np.round(12 + draw.normal(0, 0.05, modules), 2)),
        columns("cell_voltage", each, [time], np.round(3.3 + draw.normal(0, 6e-4, len(each)), 3)),
    ]
