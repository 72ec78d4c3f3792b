"""From what was heard to cycles: one row a poll with every module's current and voltage, checked before anything else.

Gives: Cycles, Series, cycles_of(), checked(). A cycle begins with the module that is read first after the pause; each
module's reading inside it belongs to it. Out of range, sentinels, frozen values and single spikes are taken out; one
missing reading between two is a straight line, more of them cost the cycle.
Limits: modules are taken as read back to back (docs/bus.md); a bank whose polls are spread over their period is heard
less well, not wrongly.
Sources: figures of the checks: common practice, no source; the rules themselves were measured on pretend telemetry
(docs/watch-joints.md).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array
from bankwright.physics.middle import middle

__all__ = ["CELL_RANGE", "Cycles", "Series", "checked", "cycles_of"]

CELL_RANGE = (1.5, 4.2)  # V of a cell, beyond which a module's voltage is no reading
MOST_AMPERES = 1000.0
STRAY = 1.5  # V that one module may stand off the middle of all: they share one bus
FROZEN = 30  # cycles with the same current and voltage, while the others move by MOVED amperes
MOVED = 2.0
SPIKE = 8.0  # of the usual change from cycle to cycle
SAMPLE = 5000  # rows that are enough to tell what is usual
LEAST_STEP = 1e-4  # V, below which two values are one
SPIKE_AMPERES, SPIKE_VOLTS = 1.0, 0.03  # the least that is called a spike


@dataclass(frozen=True, eq=False)
class Series:
    """What one module said: own times, current, voltage, (reading,) each; NaN where one of them was missing."""

    time: Array  # s since 1970, rising
    current: Array
    voltage: Array


@dataclass(frozen=True, eq=False)
class Cycles:
    """One row a poll: time (cycle,), current and voltage (cycle, module); rows with a gap are gone."""

    time: Array
    current: Array
    voltage: Array
    period: float  # s from one poll to the next, the middle of all; NaN where there is none
    step: Array  # (module,) V, the smallest difference between two voltages that were read; NaN: not known
    late: Array  # (module,) s after the beginning of a cycle at which each module is read


def cycles_of(series: Sequence[Series], cells: int) -> Cycles:
    """Lay the modules' readings side by side; `cells` in series of a module set the range of its voltage."""
    count = len(series)
    if count < 2 or min(len(each.time) for each in series) < 3:
        return checked(np.empty(0), np.empty((0, count)), np.empty((0, count)), cells, float("nan"))
    first, period = _first(series)
    start = series[first].time
    late = np.zeros(count)
    shape = (len(start), count)
    current, voltage = np.full(shape, np.nan), np.full(shape, np.nan)
    for k, each in enumerate(series):
        place = np.searchsorted(start, each.time + 1e-6, side="right") - 1
        good = (place >= 0) & (each.time - start[np.maximum(place, 0)] < 1.5 * period)
        current[place[good], k], voltage[place[good], k] = each.current[good], each.voltage[good]
        late[k] = float(np.median(each.time[good] - start[place[good]])) if good.any() else 0.0
    return checked(start, current, voltage, cells, period, late=late)


def _first(series: Sequence[Series]) -> tuple[int, float]:
    """Which module opens a cycle: the one behind the longest pause; and the time from poll to poll."""
    base = series[int(np.argmax([len(each.time) for each in series]))].time
    period = float(np.median(np.diff(base)))
    phases = []
    for each in series:
        place = np.maximum(np.searchsorted(base, each.time + 1e-6, side="right") - 1, 0)
        late = each.time - base[place]
        phases.append(float(np.median(late[(late >= 0) & (late < 1.5 * period)])) if len(late) else 0.0)
    order = np.argsort(phases, kind="stable")
    sorted_phases = np.array(phases)[order]
    pauses = np.diff(np.concatenate([sorted_phases[-1:] - period, sorted_phases]))
    return int(order[int(np.argmax(np.round(pauses, 3)))]), period


def checked(
    time: Array, current: Array, voltage: Array, cells: int, period: float, *, late: Array | None = None
) -> Cycles:
    """Take out what is no reading, mend single gaps, drop the other rows; `late`: Cycles.late, else all at once."""
    late = np.zeros(current.shape[1]) if late is None else late
    if not len(time):
        return Cycles(time, current, voltage, period, np.full(current.shape[1], np.nan), late)
    current, voltage = current.copy(), voltage.copy()
    low, high = CELL_RANGE[0] * cells, CELL_RANGE[1] * cells
    good = (voltage >= low) & (voltage <= high) & (np.abs(current) <= MOST_AMPERES)  # false where either is NaN
    _taken_out(current, voltage, ~good)
    _taken_out(current, voltage, np.abs(voltage - middle(voltage)[:, None]) > STRAY)
    _taken_out(current, voltage, _frozen(current, voltage))
    strays = _spikes(voltage - middle(voltage)[:, None], SPIKE_VOLTS)
    strays |= _spikes(current - middle(current)[:, None], SPIKE_AMPERES)
    _taken_out(current, voltage, strays)
    steps = _steps(voltage)
    close = np.diff(time) < 1.5 * period
    _mended(current, close)
    _mended(voltage, close)
    whole = np.isfinite(current).all(axis=1) & np.isfinite(voltage).all(axis=1)
    return Cycles(time[whole], current[whole], voltage[whole], period, steps, late)


def _taken_out(current: Array, voltage: Array, bad: np.ndarray) -> None:
    if bad.any():
        current[bad] = voltage[bad] = np.nan


def _steps(voltage: Array) -> Array:
    """The smallest difference between two values of each column."""
    found = np.full(voltage.shape[1], np.nan)
    every = max(len(voltage) // SAMPLE, 1)
    for k in range(voltage.shape[1]):
        column = voltage[::every, k]
        gaps = np.diff(np.unique(column[np.isfinite(column)]))
        gaps = gaps[gaps > LEAST_STEP]
        if len(gaps):
            found[k] = gaps.min()
    return found


def _frozen(current: Array, voltage: Array) -> np.ndarray:
    """Where a module says the same for long while the others move."""
    bad = np.zeros(current.shape, bool)
    if len(current) <= FROZEN:
        return bad
    same = (np.diff(current, axis=0) == 0) & (np.diff(voltage, axis=0) == 0)
    for k in range(current.shape[1]):
        edges = np.flatnonzero(np.diff(np.concatenate([[False], same[:, k], [False]]).astype(np.int8)))
        begins, ends = edges[::2], edges[1::2]
        long = ends - begins >= FROZEN
        for begin, end in zip(begins[long], ends[long], strict=True):
            others = middle(np.delete(current[begin : end + 1], k, axis=1))[:, None]
            if np.isfinite(others).any() and np.nanmax(others) - np.nanmin(others) > MOVED:
                bad[begin : end + 1, k] = True
    return bad


def _spikes(value: Array, least: float) -> np.ndarray:
    """Single readings that leave the line between the one before and the one after."""
    bad = np.zeros(value.shape, bool)
    if len(value) < 3:
        return bad
    before, here, after = value[:-2], value[1:-1], value[2:]
    out = np.maximum(here - np.maximum(before, after), np.minimum(before, after) - here)
    every = max(len(value) // SAMPLE, 1)
    change = np.abs(np.diff(value, axis=0)[::every])
    usual = np.nanmedian(np.where(np.isfinite(change).any(axis=0), change, 0.0), axis=0)
    bad[1:-1] = out > np.maximum(SPIKE * usual, least)
    return bad


def _mended(value: Array, close: np.ndarray) -> None:
    """Put a straight line where one reading is missing between two that are close in time; in place."""
    if len(value) < 3:
        return
    hole = np.isnan(value[1:-1]) & (close[:-1] & close[1:])[:, None]
    rows, columns = np.nonzero(hole)
    value[rows + 1, columns] = (value[rows, columns] + value[rows + 2, columns]) / 2
