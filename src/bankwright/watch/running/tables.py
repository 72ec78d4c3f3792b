"""Sums of what was read on a grid of hours or minutes: lowest, mean, highest at each place.

Gives: Table, Believed, HOUR, MINUTE, hourly(), minutely(). What was not heard is NaN, and so is what is beyond belief.
Hours of a thing (a module, the room) are read once for all sections, everything that is read of it together.
Limits: all of a question have one grid of hours (hours.py).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np

from bankwright.circuit.network import Array
from bankwright.logbook.telemetry.frames import thing_of
from bankwright.logbook.telemetry.rollup import RollUp
from bankwright.watch.section import Asked

__all__ = ["HOUR", "MINUTE", "Believed", "Table", "hourly", "minutely"]

HOUR, MINUTE = 3600.0, 60.0
QUANTITIES = ("voltage", "current", "temperature_degc", "cell_voltage")
Believed: TypeAlias = tuple[Array, Array]  # (place,) lowest and highest


@dataclass(frozen=True, eq=False, slots=True)
class Table:
    """One quantity over slots of time at several places, (slot, place); NaN where nothing was heard."""

    time: Array  # (slot,) s since 1970 at which each begins
    low: Array
    mean: Array
    high: Array
    wrong: Array  # 1 where a value beyond belief was heard, else 0


@dataclass(slots=True)
class _Things:
    """Hours of each signal of the things that were read, (3, hour): lowest, mean, highest."""

    found: dict[tuple[str, str], Array] = field(default_factory=dict)
    read: set[str] = field(default_factory=set)


def hourly(asked: Asked, believed: Mapping[str, Believed], at: Sequence[str], time: Array) -> tuple[Table, ...]:
    """Hours of some quantities at the same places; what lies outside of `believed` is none."""
    things = asked.once(_Things, _Things)
    missing = {thing_of(name) for name in at} - things.read
    for thing in sorted(missing):
        own = [(s.quantity, s.at) for s in asked.telemetry.signals() if thing_of(s.at) == thing]
        signals = list(dict.fromkeys(signal for signal in own if signal[0] in QUANTITIES))
        values = _laid(asked.telemetry.rollups(signals, [*_runs(time, HOUR)], every="hour"), time, HOUR)
        things.found.update((signal, values[:, :, k]) for k, signal in enumerate(signals))
        things.read.add(thing)
    nothing = np.full((3, len(time)), np.nan)
    return tuple(
        _believed(time, [things.found.get((quantity, name), nothing) for name in at], ends)
        for quantity, ends in believed.items()
    )


def minutely(asked: Asked, believed: Mapping[str, Believed], at: Sequence[str], time: Array) -> tuple[Table, ...]:
    """The same by the minute, read now."""
    signals = [(quantity, name) for quantity in believed for name in at]
    values = _laid(asked.telemetry.rollups(signals, [*_runs(time, MINUTE)], every="minute"), time, MINUTE)
    return tuple(
        _believed(time, list(np.moveaxis(values[:, :, k * len(at) : (k + 1) * len(at)], 2, 0)), ends)
        for k, ends in enumerate(believed.values())
    )


def _laid(found: RollUp, time: Array, step: float) -> Array:
    """On the grid, (3, slot, signal)."""
    values = np.full((3, len(time), found.mean.value.shape[1]), np.nan)
    if len(found.mean.time):
        slot = np.searchsorted(time, found.mean.time + step / 2, "right") - 1
        inside = (slot >= 0) & (found.mean.time < time[np.maximum(slot, 0)] + step)
        for part, told in enumerate((found.low, found.mean, found.high)):
            values[part, slot[inside]] = told.value[inside]
    return values


def _believed(time: Array, columns: Sequence[Array], ends: Believed) -> Table:
    """Columns (3, slot) side by side, without what is beyond belief."""
    low, mean, high = np.stack(columns, axis=2) if len(columns) else np.full((3, len(time), 0), np.nan)
    with np.errstate(invalid="ignore"):
        wrong = (low < ends[0]) | (high > ends[1])
    for part in (low, mean, high):
        part[wrong] = np.nan
    return Table(time, low, mean, high, wrong.astype(float))


def _runs(time: Array, step: float) -> Iterator[tuple[float, float]]:
    """Stretches without a break."""
    if len(time):
        ends = np.flatnonzero(np.diff(time) > 1.5 * step)
        for first, last in zip([0, *(ends + 1)], [*ends, len(time) - 1], strict=True):
            yield float(time[first]), float(time[last]) + step
