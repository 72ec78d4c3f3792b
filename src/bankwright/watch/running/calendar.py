"""What published ageing in store says of a warmth and a state of charge.

Gives: Store, yearly_loss(), HOW. Loss in the first year of cells that only lie there: from one table, temperature by
the logarithm over 1/T, state of charge by a straight line, both only inside the table.
Limits: one kind of small cell; use comes on top. Below 25 degC only cells at 50 % were stored: what the cold spares is
taken to be the same share at any charge, and below 0 degC nothing more. A changing temperature counts by the mean of
the squared losses, as loss by the root of time adds up.
Sources: handbook table lfp/calendar (Naumann, CC BY 4.0); growth by the root of time: same paper's model [copy of its
coefficients seen, not used]; sums of squares [derived from it].
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from bankwright.circuit.network import Array, frozen
from bankwright.handbook.tables import load

__all__ = ["HOW", "Store", "yearly_loss"]

HOW = "cells of one published make, stored"
KELVIN = 273.15
TABLE = "lfp/calendar"


@dataclass(frozen=True, slots=True)
class Store:
    """Loss of capacity in the first year, as shares: between two states of charge."""

    low: float
    high: float

    @property
    def middle(self) -> float:
        """Between the two."""
        return (self.low + self.high) / 2


@cache
def _by_charge() -> tuple[Array, tuple[tuple[Array, Array], ...]]:
    """States of charge, and temperature and loss of each. [-], ([degC], [-])"""
    table = load(TABLE)
    rows = [tuple(table.value(row, name) or 0.0 for name in ("soc", "temperature", "year")) for row in table.rows]
    charges = sorted({row[0] for row in rows})
    lines = tuple(
        (frozen([r[1] for r in rows if r[0] == soc]), frozen([r[2] for r in rows if r[0] == soc])) for soc in charges
    )
    return frozen(charges), lines


def _along(line: tuple[Array, Array], degc: Array) -> Array:
    """Loss at temperatures; beyond the ends of a line its end. [-]"""
    warm, loss = line
    return np.asarray(np.exp(np.interp(-1 / (degc + KELVIN), -1 / (warm + KELVIN), np.log(loss))))


def _one(degc: Array, soc: float) -> Array:
    """Loss in a year at temperatures and one state of charge. [-]"""
    charges, lines = _by_charge()
    longest = min(lines, key=lambda line: float(line[0][0]))  # the one that reaches into the cold
    told = []
    for line in lines:
        coldest = line[0][:1]
        spared = _along(longest, np.minimum(degc, coldest)) / _along(longest, coldest)
        told.append(_along(line, degc) * spared)
    right = int(np.clip(np.searchsorted(charges, soc), 1, len(charges) - 1))
    part = (soc - charges[right - 1]) / (charges[right] - charges[right - 1])
    return np.asarray(told[right - 1] * (1 - part) + told[right] * part)


def yearly_loss(degc: Array, soc: tuple[float, float]) -> Store | None:
    """Loss of the first year at hours like these, between two states of charge; None with no hour, or above 60 degC.

    Parameters
    ----------
    degc : (hour,) temperature of the cells. soc : lowest and highest mean state of charge, 0 to 1.
    """
    told = degc[np.isfinite(degc)]
    if not len(told) or told.max() > _by_charge()[1][0][0][-1]:
        return None
    ends = sorted(float(np.sqrt(np.mean(_one(told, each) ** 2))) for each in (max(soc[0], 0.0), min(soc[1], 1.0)))
    return Store(ends[0], ends[1])
