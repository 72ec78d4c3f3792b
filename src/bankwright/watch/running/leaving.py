"""Modules that left the bank while the others carried on, and those that came near their trip.

Gives: Left, left(), Near, nearest(), deficits(), Stale, stale(). A module has left when it carries nothing for two
minutes while the others carry, after it carried itself, or for half an hour in any case; what it carried just before
stands beside its trip.
Limits: by the minute. One that is not heard is silent, not gone. A peak that no other module shared is a reading to
doubt, and is said to be one.
Sources: own choice of times and sizes; trips: data sheets, 10 % early where no tolerance is stated (circuit/trips).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array
from bankwright.physics.middle import middle
from bankwright.watch.running.hours import Hours

__all__ = ["Left", "Near", "Stale", "deficits", "left", "nearest", "stale"]

IDLE, CARRIES = 0.004, 0.05  # C: a module at nothing, and others that carry; below, relaxing modules cross zero
LASTS, LONG = 120.0, 1800.0  # s, after it carried itself, and in any case
BEFORE, APART = 3, 660.0  # readings looked back; s between two readings of one stretch
STALE = 2  # hours in a row
SHARED = 0.3  # of a peak, that another module must have shared


@dataclass(frozen=True, slots=True)
class Left:
    """A module left: when, when it was back (None: not seen), its current before and the whole bank's. [s, A]"""

    module: str
    time: float
    back: float | None
    current: float
    bank: float


@dataclass(frozen=True, slots=True)
class Near:
    """The largest current of a module on one side, and whether another shared it. [A]"""

    current: float
    time: float
    is_shared: bool
    hours: int  # in which it came within a tenth of the limit


@dataclass(frozen=True, slots=True)
class Stale:
    """A module said one current and one voltage for so many hours while the others moved. [s, A, V]"""

    module: str
    time: float
    hours: int
    current: float
    volts: float
    others: float  # A by which the others moved meanwhile


def stale(hours: Hours, capacity_ah: Array) -> Iterator[Stale]:
    """Hours in a row in which current and voltage of a module never moved by a step and those of the others did."""
    still = (hours.amps.low == hours.amps.high) & (hours.volts.low == hours.volts.high)
    for m, name in enumerate(hours.names):
        same = still[:, m] & (np.abs(hours.amps.mean[:, m]) > 0)
        for first, last in _runs(same, hours.time, 1.5 * hours.step):
            part = slice(first, last + 1)
            if (
                last - first + 1 < STALE
                or np.ptp(hours.amps.mean[part, m]) > 0
                or np.ptp(hours.volts.mean[part, m]) > 0
            ):
                continue
            rate = middle(np.delete(hours.amps.mean[part] / capacity_ah, m, axis=1)) if len(hours.names) > 1 else None
            if rate is None or not np.isfinite(rate).any() or np.nanmax(rate) - np.nanmin(rate) < IDLE * 5:
                continue
            moved = float(np.nanmax(rate) - np.nanmin(rate)) * float(capacity_ah[m])
            yield Stale(name, float(hours.time[first]), last - first + 1, float(hours.amps.mean[first, m]),
                        float(hours.volts.mean[first, m]), moved)  # fmt: skip


def deficits(hours: Hours, capacity_ah: Array, most: int) -> Array:
    """Hours worth a closer look for modules that left: the module is at nothing at some time, the others carry."""
    rate = hours.amps.mean / capacity_ah
    idle = IDLE * capacity_ah
    with np.errstate(invalid="ignore", divide="ignore"):  # others at exactly nothing carry nothing
        zero = (hours.amps.low <= idle) & (hours.amps.high >= -idle)
        others = np.abs(middle(rate))
        lacking = np.where(zero & (others[:, None] > CARRIES), 1 - np.abs(rate) / others[:, None], 0.0)
        least = np.maximum(np.maximum(hours.amps.low, -hours.amps.high), 0.0) / capacity_ah
        lacking = np.where(zero & (middle(least)[:, None] > 2 * IDLE), 1.0, lacking)
    score = np.nanmax(np.nan_to_num(lacking), axis=1, initial=0.0)
    chosen = np.flatnonzero(score > 0.05)
    best = chosen[np.argsort(-score[chosen], kind="stable")[:most]]
    beside = np.unique(np.concatenate([best - 1, best, best + 1])) if len(best) else best
    return np.asarray(hours.time[beside[(beside >= 0) & (beside < len(hours.time))]])


def left(minutes: Hours, capacity_ah: Array) -> Iterator[Left]:
    """Every time a module was at nothing for three minutes while the others carried, after it had carried itself."""
    amps = minutes.amps.mean
    rate = amps / capacity_ah
    for m, name in enumerate(minutes.names):
        heard = np.isfinite(rate[:, m])
        time, own, whole = minutes.time[heard], amps[heard, m], np.nansum(amps[heard], axis=1)
        others = np.abs(middle(np.delete(rate[heard], m, axis=1))) if amps.shape[1] > 1 else np.full(len(own), np.nan)
        with np.errstate(invalid="ignore"):
            gone = (np.abs(rate[heard, m]) < IDLE) & (others > CARRIES)
            works = np.abs(rate[heard, m]) > SHARED * others
        seen = -np.inf
        for first, last in _runs(gone, time, APART):
            if time[first] < seen:
                continue
            before = slice(max(first - BEFORE, 0), first)
            near = time[before] > time[first] - BEFORE * APART
            worked = bool((works & (others > CARRIES))[before][near].any())
            if time[last] - time[first] < (LASTS if worked else LONG):
                continue
            back = next((float(time[k]) for k in range(last + 1, len(gone)) if works[k] and others[k] > IDLE), None)
            seen = np.inf if back is None else back
            most = before.start + int(np.argmax(np.abs(own[before]))) if first else first
            yield Left(name, float(time[first]), back, float(own[most]), float(whole[most]))


def _runs(true: Array, time: Array, apart: float) -> Iterator[tuple[int, int]]:
    """First and last place of each stretch that is true without a hole."""
    places = np.flatnonzero(true)
    if len(places):
        breaks = np.flatnonzero((np.diff(places) > 1) | (np.diff(time[places]) > apart))
        starts, ends = [0, *(breaks + 1)], [*breaks, len(places) - 1]
        yield from ((int(places[a]), int(places[b])) for a, b in zip(starts, ends, strict=True))


def nearest(hours: Hours, m: int, limit: float, way: int) -> Near | None:
    """The largest current on one side (1: out, -1: in); hours within a tenth of `limit`. None where none was heard."""
    peaks = way * (hours.amps.high if way > 0 else hours.amps.low)
    own = peaks[:, m]
    if not np.isfinite(own).any() or np.nanmax(own) <= 0:
        return None
    others = np.delete(peaks, m, axis=1)
    shared = np.ones(len(own), dtype=bool)
    if others.shape[1]:
        with np.errstate(invalid="ignore"):
            shared = np.nanmax(np.nan_to_num(others, nan=0.0), axis=1) >= SHARED * own
    real = np.where(shared, own, np.nan)
    if not np.isfinite(real).any():
        at = int(np.nanargmax(own))
        return Near(float(own[at]), float(hours.time[at]), False, 0)
    at = int(np.nanargmax(real))
    with np.errstate(invalid="ignore"):
        close = int((real >= 0.9 * limit).sum())
    return Near(float(real[at]), float(hours.time[at]), True, close)
