"""Spread of cells by zone of the voltage: how far apart they usually were, at most, and when a zone was last visited.

Gives: ZONES, ZoneSpread, spreads_of(). From minutes of a fortnight, else from hours; a cell whose reading is none of
late is left out.
Limits: usual is the middle value of a zone's minutes; a spread under current is not told from one at rest.
Sources: the zones are those of the alarms: mean of the cells under 3.15 V, over 3.40 V [common practice, no source].
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from bankwright.bank.model import Module
from bankwright.circuit.network import Array
from bankwright.watch.alarms.limits import limits_of
from bankwright.watch.alarms.rules import KNEE_HIGH, KNEE_LOW
from bankwright.watch.cells.minutes import cell_places, minutes_of
from bankwright.watch.cells.senses import doubtful
from bankwright.watch.section import Asked

__all__ = ["ZONES", "ZoneSpread", "spreads_of"]

# a zone's name, and between which means of the cells it lies [V]
ZONES = (("near empty", (0.0, KNEE_LOW)), ("flat", (KNEE_LOW, KNEE_HIGH)), ("near full", (KNEE_HIGH, 9.9)))
FINE = 14 * 86400.0  # s up to which minutes are read
DOUBTS = 2 * 86400.0  # s in which a reading must be none to be left out
FAR = 10 * 366 * 86400.0


@dataclass(frozen=True, slots=True)
class ZoneSpread:
    """Of one module in one zone, V; None where it was not visited since. `last`: when it was, s since 1970."""

    module: str
    zone: int
    usual: float | None
    widest: float | None
    limit: float
    last: float | None


def spreads_of(asked: Asked) -> tuple[ZoneSpread, ...]:
    """Of every module whose cells are read, in every zone."""
    return tuple(one for module in asked.bank.modules for one in _of(asked, module))


def _of(asked: Asked, module: Module) -> Iterator[ZoneSpread]:
    places = cell_places(asked.telemetry, module.name)
    if not places:
        return
    time, cells = _cells(asked, places, asked.since)
    keep = _believed(asked, module.name, len(places))
    own = limits_of(asked.bank, module)
    mean = np.nanmean(np.where(keep, cells, np.nan), axis=1) if len(time) else np.empty(0)
    for number, (_, (low, high)) in enumerate(ZONES):
        limit = own.spread.value if number == 1 else own.spread_ends.value
        here = np.isfinite(mean) & (mean >= low) & (mean < high)
        if not here.any():
            yield ZoneSpread(module.name, number, None, None, limit, _before(asked, places, (low, high)))
            continue
        spread = np.ptp(cells[here][:, keep], axis=1)
        usual, most = float(np.nanmedian(spread)), float(np.nanmax(spread))
        yield ZoneSpread(module.name, number, usual, most, limit, float(time[here][-1]))


def _cells(asked: Asked, places: tuple[str, ...], since: float) -> tuple[Array, Array]:
    """Time and means of all cells that were read together."""
    every = "minute" if asked.until - since <= FINE else "hour"
    found = asked.telemetry.rollup("cell_voltage", places, since, asked.until + 60, every=every)  # type: ignore[arg-type]
    whole = np.isfinite(found.mean.value).all(axis=1) if len(found.mean.time) else np.zeros(0, bool)
    return found.mean.time[whole], found.mean.value[whole]


def _believed(asked: Asked, module: str, count: int) -> np.ndarray:
    late = minutes_of(asked.telemetry, module, asked.until - DOUBTS, asked.until + 60)
    bad = set() if late is None else {cell - 1 for one in doubtful(late) for cell in one.cells}
    return np.array([cell not in bad for cell in range(count)])


def _before(asked: Asked, places: tuple[str, ...], zone: tuple[float, float]) -> float | None:
    """When a zone was last visited before what is shown, by the hour."""
    time, cells = _cells(asked, places, asked.until - FAR)
    if not len(time):
        return None
    mean = cells.mean(axis=1)
    here = time[(mean >= zone[0]) & (mean < zone[1])]
    return float(here[-1]) if len(here) else None
