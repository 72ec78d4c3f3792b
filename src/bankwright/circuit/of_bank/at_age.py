"""Resistance of a module at the age of a load step: the figure that a reading at that age is compared with.

Gives: resistance_at(), READ_FROM, READ_UNTIL. `ohmic` holds below 1 s, `surge` at its own time, `dc` at its own; in
between a straight line over the logarithm of time. The value of `dc` is held until READ_UNTIL; beyond it the charge
has begun to drift and no figure of a data sheet is due.
Limits: an age between two points needs both; without `surge` the line runs from `ohmic` to `dc`.
Sources: straight in log t between the points [common practice, no source]; 30 to 120 s to read in [common practice, no
source; own runs with two relaxation branches show a share moving by 1.4 points between them].
"""

from __future__ import annotations

import math

from bankwright.bank.asks import asking
from bankwright.bank.model import Module
from bankwright.circuit.of_bank.cell_part import HOW_TO_GET, Question, module_resistance
from bankwright.forms.checks import NeedsValue
from bankwright.forms.toleranced import Toleranced

__all__ = ["OHMIC_UNTIL", "READ_FROM", "READ_UNTIL", "resistance_at"]

OHMIC_UNTIL = 1.0  # s; common practice, no source
READ_FROM, READ_UNTIL = 30.0, 120.0  # s; common practice, no source


def resistance_at(module: Module, age: float, cells_degc: float | None = None) -> Toleranced:
    """Post to post at an age [s] of the step and a temperature of the cells [degC; None: the sheet's 25]. [ohm]

    NeedsValue names the resistance that the data sheet does not give, or says that the step is too old.
    """
    kind = module.kind
    if age > max(READ_UNTIL, kind.resistance.after):
        how = f"{age:g} s after the step no figure of the data sheet is due: read again within {READ_UNTIL:g} s."
        raise NeedsValue(asking(f"readings.{module.name}.age", how))
    points: list[tuple[float, Question]] = [(OHMIC_UNTIL, "ohmic"), (kind.resistance.after, "dc")]
    if kind.resistance.surge is not None and kind.resistance.surge_after is not None:
        points.insert(1, (kind.resistance.surge_after, "surge"))
    points = sorted((time, question) for time, question in points)
    before = [point for point in points if point[0] <= age] or points[:1]
    after = [point for point in points if point[0] >= age] or points[-1:]
    first, last = _value(module, before[-1][1], cells_degc), _value(module, after[0][1], cells_degc)
    if before[-1][0] == after[0][0] or age <= before[-1][0]:
        return first
    part = math.log(age / before[-1][0]) / math.log(after[0][0] / before[-1][0])
    ends = ((1 - part) * getattr(first, end) + part * getattr(last, end) for end in ("nominal", "low", "high"))
    return Toleranced(*ends)


def _value(module: Module, question: Question, cells_degc: float | None) -> Toleranced:
    found = module_resistance(module, question, cells_degc)
    if found is None:
        raise NeedsValue(asking(f"{module.kind.path}.resistance.{question}", HOW_TO_GET[question]))
    return found
