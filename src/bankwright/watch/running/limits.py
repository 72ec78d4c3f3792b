"""Limits of one module and the time its readings stood outside them.

Gives: Wall, walls_of(), Outside, outside(). The maker's limits and the bank file's own, each with its key; time outside
is counted by the minute: surely (every reading of the minute), by its mean, and at most (any reading of it).
Limits: what no module can have said is left out before (hours.py); a minute outside that stands alone is not sure.
Between two polls nothing is known. A limit of the charge holds while current flows in, one of the discharge while it
flows out.
Sources: data sheets, as the bank file has them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from bankwright.bank.model import Bank, Module
from bankwright.circuit.network import Array
from bankwright.watch.running.tables import Table

__all__ = ["Outside", "Wall", "outside", "touches", "walls_of"]

While = Literal["always", "charging", "discharging"]
Quantity = Literal["voltage", "current", "temperature_degc", "cell_voltage"]
SELDOM = 660.0  # s between two readings that still stand for the time between
FLOWS = 1.0  # A from which a module charges or discharges


@dataclass(frozen=True, slots=True)
class Wall:
    """A limit in SI, its key, what it is of, on which side it ends, and while what."""

    key: str
    words: str
    quantity: Quantity
    value: float
    is_upper: bool
    during: While = "always"


@dataclass(frozen=True, slots=True)
class Outside:
    """Seconds outside: surely, by the mean of each minute, at most; and the furthest value."""

    surely: float
    by_mean: float
    at_most: float
    furthest: float
    is_alone: bool = False  # only by some of several places that are read, never by most of them


def walls_of(bank: Bank, module: Module) -> tuple[Wall, ...]:
    """All limits that are given for a module."""
    kind, own = module.kind, bank.watch
    charge, discharge, path = kind.charge, kind.discharge, kind.path
    full = None if charge.cell_trip is None else charge.cell_trip.low
    empty = None if discharge.cell_trip is None else discharge.cell_trip.high
    found = (
        _wall(f"{path}.charge.highest_voltage", "voltage above the maker's", "voltage", charge.highest_voltage, True),
        _wall(f"{path}.charge.cell_trip", "a cell above the maker's trip", "cell_voltage", full, True),
        _wall(f"{path}.discharge.cell_trip", "a cell below the maker's trip", "cell_voltage", empty, False),
        _wall("watch.cell_high", "a cell above the file's limit", "cell_voltage", own.cell_high, True),
        _wall("watch.cell_low", "a cell below the file's limit", "cell_voltage", own.cell_low, False),
        _wall(f"{path}.charge.continuous", "charged with more than continuous", "current", charge.continuous, False,
              during="charging"),
        _wall(f"{path}.discharge.continuous", "discharged with more than continuous", "current", discharge.continuous,
              True, during="discharging"),
        _wall(f"{path}.charge.lowest", "charged too cold", "temperature_degc", charge.lowest_degc, False,
              during="charging"),
        _wall(f"{path}.charge.highest", "charged too warm", "temperature_degc", charge.highest_degc, True,
              during="charging"),
        _wall(f"{path}.discharge.lowest", "too cold", "temperature_degc", discharge.lowest_degc, False),
        _wall(f"{path}.discharge.highest", "too warm", "temperature_degc", discharge.highest_degc, True),
        _wall("watch.temperature_high", "above the file's limit", "temperature_degc", own.temperature_high_degc, True),
        _wall("watch.temperature_low", "below the file's limit", "temperature_degc", own.temperature_low_degc, False),
    )  # fmt: skip
    return tuple(wall for wall in found if wall is not None)


def _wall(
    key: str, words: str, quantity: Quantity, value: float | None, is_upper: bool, *, during: While = "always"
) -> Wall | None:
    if value is None:
        return None
    return Wall(
        key, words, quantity, -value if (quantity, during) == ("current", "charging") else value, is_upper, during
    )


def touches(wall: Wall, found: Table) -> Array:
    """Slots in which any reading may have stood outside. (slot,) bool"""
    return np.asarray(_over(wall, found.high if wall.is_upper else found.low).any(axis=1))


def _over(wall: Wall, values: Array) -> Array:
    with np.errstate(invalid="ignore"):
        return np.asarray(values > wall.value if wall.is_upper else values < wall.value)


def outside(wall: Wall, found: Table, amps: Table) -> Outside:
    """Time outside by the minute; `amps` (minute, 1) of the module on the same minutes."""
    flows = [_flows(wall, part[:, 0]) for part in (amps.low, amps.mean, amps.high)]
    surely, maybe = flows[0] & flows[1] & flows[2], flows[0] | flows[1] | flows[2]
    near, far = (found.low, found.high) if wall.is_upper else (found.high, found.low)
    sure = _lasting(_over(wall, near).any(axis=1) & surely, np.asarray(np.isfinite(found.mean).any(axis=1)))
    by_mean, at_most = ((_over(wall, part).any(axis=1) & gate) for part, gate in ((found.mean, flows[1]), (far, maybe)))
    held = np.where((sure if sure.any() else at_most)[:, None], far, np.nan)
    worst = np.nan if not np.isfinite(held).any() else float(np.nanmax(held) if wall.is_upper else np.nanmin(held))
    most = _over(wall, near)[sure]
    alone = bool(len(most)) and most.shape[1] > 1 and not (most.mean(axis=1) > 0.5).any()
    counts = [float(part.sum()) * _every(found) for part in (sure, by_mean | sure, at_most | sure)]
    return Outside(counts[0], counts[1], counts[2], worst, alone)


def _lasting(true: np.ndarray, heard: np.ndarray) -> np.ndarray:
    """Without those that stand alone: one reading beyond a limit may be garbage, two in a row seldom are."""
    told, beside = true[heard], np.zeros(int(heard.sum()), dtype=bool)
    beside[1:] |= told[:-1]
    beside[:-1] |= told[1:]
    answer = np.zeros(len(true), dtype=bool)
    answer[heard] = told & beside
    return answer


def _every(found: Table) -> float:
    """Time that a minute stands for: longer than itself where it is read less often. [s]"""
    times = found.time[np.isfinite(found.mean).any(axis=1)]
    return float(np.clip(np.median(np.diff(times)), 60.0, SELDOM)) if len(times) > 1 else 60.0


def _flows(wall: Wall, amps: Array) -> np.ndarray:
    if wall.during == "always":
        return np.ones(len(amps), dtype=bool)
    with np.errstate(invalid="ignore"):
        return np.asarray(amps < -FLOWS if wall.during == "charging" else amps > FLOWS)
