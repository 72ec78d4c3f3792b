"""How fast a device opens, and how much heat it lets through, on its own curve.

Gives: clearing(), let_through_at(), both of many currents at once, together(), melting_at(). Under 0.1 s the published
let-through counts, never I^2 times the time of a curve;
below the first point of its curve a device does not open at all.
Limits: a curve is for the value it is printed for; what is not given raises NeedsValue.
Sources: physics/device; the device's own sheet.
"""

from __future__ import annotations

import math

import numpy as np

from bankwright.bank.asks import asking
from bankwright.bank.model import Device
from bankwright.circuit.network import Array
from bankwright.forms.checks import NeedsValue
from bankwright.physics.device import clearing_time, steady_let_through

__all__ = ["clearing", "clearing_many", "let_through_at", "let_through_many", "melting_at", "together"]

SHORT = 0.1  # s, under which a curve says nothing of the heat
INSTANT = 0.05  # s, a magnetic release above its high end; common practice, no source


def _points(points: tuple[tuple[float, float], ...]) -> tuple[list[float], list[float]]:
    ordered = sorted(points)
    return [current for current, _ in ordered], [time for _, time in ordered]


def clearing(device: Device, current: float) -> float:
    """Total clearing time at a current, infinite where it does not open; beyond the curve's end its last time. [s]"""
    kind = device.kind
    if kind.instant is not None and current >= kind.instant.high:
        return INSTANT
    if not kind.curve:
        raise NeedsValue(asking(f"{kind.path}.curve"))
    currents, times = _points(kind.curve)
    if current > currents[-1]:
        return times[-1]
    return float(clearing_time(current, currents, times))


def clearing_many(device: Device, currents: Array) -> Array:
    """Clearing times of many currents at once, as clearing(). [s]"""
    kind = device.kind
    at_once = np.zeros(len(currents), bool) if kind.instant is None else currents >= kind.instant.high
    if at_once.all():
        return np.full(len(currents), INSTANT)
    if not kind.curve:
        raise NeedsValue(asking(f"{kind.path}.curve"))
    points, times = _points(kind.curve)
    found = np.asarray(clearing_time(np.minimum(currents, points[-1]), points, times))
    return np.where(at_once, INSTANT, found)


def let_through_many(device: Device, currents: Array) -> Array:
    """Heat let through of many currents at once, as let_through_at(). [A2s]"""
    times = clearing_many(device, currents)
    if (times < SHORT).any() and device.kind.let_through is None:
        raise NeedsValue(asking(f"{device.kind.path}.let_through"))
    return np.where(times >= SHORT, currents**2 * times, device.kind.let_through or 0.0)


def let_through_at(device: Device, current: float) -> float:
    """Heat let through while a current is cleared, infinite where it never is. [A2s]"""
    kind = device.kind
    time = clearing(device, current) if kind.curve or kind.instant is not None else None
    if time is not None and time >= SHORT:
        return float(steady_let_through(current, time))
    if kind.let_through is None:
        raise NeedsValue(asking(f"{kind.path}.let_through"))
    if time is None and current < 0.5 * (kind.interrupts or math.inf):
        raise NeedsValue(asking(f"{kind.path}.curve"))
    return kind.let_through


def melting_at(device: Device, current: float) -> float:
    """Shortest time in which a current may open a device. [s]"""
    kind = device.kind
    if not kind.melting:
        raise NeedsValue(asking(f"{kind.path}.melting"))
    currents, times = _points(kind.melting)
    if current > currents[-1]:
        return 0.0
    return float(clearing_time(current, currents, times))


def together(guards: tuple[Device, ...], current: float) -> float:
    """Heat let through by devices in parallel that share a current evenly. [A2s]"""
    count = len(guards)
    return count**2 * max(let_through_at(device, current / count) for device in guards)
