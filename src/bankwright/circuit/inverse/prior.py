"""What is known before anything is read: the tolerances of the bank, as limits of every unknown.

Gives: Prior, prior_of(). An element lies flat between its limits, a module's emf near a common level, a load's current
near what was read or told. Several elements may share one cause: a batch of modules, one reel of cable.
Limits: an element without a tolerance is taken as it stands; `released` gives it room.
Source: tolerances are limits, flat in between: JCGM 100:2008, 4.3.7 [from memory].
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from bankwright.bank.asks import asking
from bankwright.circuit.inverse.point import Unknowns
from bankwright.circuit.network import (
    Array,
    Network,
)
from bankwright.forms.checks import NeedsValue

__all__ = ["REACH", "Prior", "prior_of"]

REACH = 50e-3  # ohm that a loose joint may have more than its sheet says; common practice, no source
LEVEL = 8.0  # V about the start that the common level of the emfs may lie; wider than any charge moves 16 cells
APART = 0.3  # V that one emf may lie off the common level; common practice, no source


@dataclass(frozen=True, eq=False)
class Prior:
    """Middle and half width of every unknown (unknowns,), causes that move several, and bounds that hold for ever."""

    unknowns: Unknowns
    middle: Array
    half: Array
    low: Array
    high: Array
    shared: tuple[Array, ...] = ()  # each (unknowns,): how far one flat cause moves every unknown

    def causes(self) -> Array:
        """Columns (unknowns, causes): each an independent flat cause, -1 to 1."""
        own = np.flatnonzero(self.half > 0.0)
        columns = np.zeros((len(self.half), len(own)))
        columns[own, np.arange(len(own))] = self.half[own]
        return np.column_stack([columns, *self.shared]) if self.shared else columns

    def released(self, names: Iterable[str], reach: float = REACH) -> Prior:
        """The same with elements that may be anything from nothing to `reach` ohm above their limit."""
        half, low, high = (values.copy() for values in (self.half, self.low, self.high))
        for name in names:
            place = self.unknowns.place[name]
            half[place], low[place], high[place] = reach, 0.0, high[place] + reach
        return replace(self, half=half, low=low, high=high)

    def fixed(self, places: np.ndarray, values: Array) -> Prior:
        """The same with some unknowns held at values."""
        middle, half = self.middle.copy(), self.half.copy()
        middle[places], half[places] = values, 0.0
        return replace(self, middle=middle, half=half)


def _refuse_unknown(network: Network) -> None:
    for element in network.elements:
        if element.resistance is None:
            raise NeedsValue(asking(element.needs or element.name, element.how or f"It gives {element.name}."))


def prior_of(
    unknowns: Unknowns,
    emf: Array,
    load_half: float | Mapping[str, float] = 0.0,
    *,
    apart: float = APART,
    batch: tuple[Iterable[str], float] | None = None,
) -> Prior:
    """Limits from the network's tolerances.

    emf (modules,) the level to start from [V]; load_half how far a load's current may lie off what the state says
    [A], by unknown (`I1 in <state>`) or for all; apart of one emf [V]; batch elements with the part of their
    resistance that they may have in common, on top of their own tolerance. NeedsValue for an element without a value.
    """
    network = unknowns.network
    _refuse_unknown(network)
    low, high = network.resistances("low"), network.resistances("high")
    start = unknowns.start((low + high) / 2, emf)
    half = np.zeros_like(start)
    half[: len(low)] = (high - low) / 2
    first = unknowns.emf_start
    half[first : first + len(emf)] = apart
    for name in unknowns.names[unknowns.loads_start(0) :]:
        place = unknowns.place[name]
        half[place] = load_half.get(name, 0.0) if isinstance(load_half, Mapping) else load_half
    level = np.zeros_like(start)
    level[first : first + len(emf)] = LEVEL
    shared = [level]
    if batch is not None:
        column = np.zeros_like(start)
        for name in batch[0]:
            place = unknowns.place[name]
            column[place] = batch[1] * start[place]
        shared.append(column)
    bounds = np.full_like(start, -np.inf), np.full_like(start, np.inf)
    bounds[0][: len(low)], bounds[1][: len(low)] = low, high
    if batch is not None:
        bounds[0][column > 0], bounds[1][column > 0] = 0.0, np.inf
    return Prior(unknowns, start, half, *bounds, tuple(shared))
