"""How fast a device opens, and how much heat it lets through, on its own curve.

Gives: clearing(), let_through_at(), together(), melting_at(). Under 0.1 s the published let-through counts, never
I^2 times
the time of a curve; below the first point of its curve a device does not open at all.
Limits: a curve is for the value it is printed for; what is not given raises NeedsValue.
Sources: physics/device; the device's own sheet.
"""

from __future__ import annotations

import math

from bankwright.bank.model import Device
from bankwright.forms.checks import NeedsValue
from bankwright.physics.device import clearing_time
from bankwright.plan.asks import asking

__all__ = ["clearing", "let_through_at", "melting_at", "together"]

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


def let_through_at(device: Device, current: float) -> float:
    """Heat let through while a current is cleared, infinite where it never is. [A2s]"""
    kind = device.kind
    time = clearing(device, current) if kind.curve or kind.instant is not None else None
    if time is not None and time >= SHORT:
        return current**2 * time
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
