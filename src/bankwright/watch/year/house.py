"""An invented house: what it draws from the bank and what the sun gives back, day by day.

Gives: power_of_days(). Things that start and stop by themselves, a kettle, an oven, an evening; sun with clouds. Every
day the sun gives back what the house took and what is lost on the way, so that the bank ends the day as full as it was.
Limits: invented throughout; nothing is taken from a measured house.
"""

from __future__ import annotations

import numpy as np

from bankwright.circuit.network import Array

__all__ = ["power_of_days"]

BASE, EVENING = 150.0, 250.0  # W
HOURS = 24.0
CYCLES = ((1500.0, 3500.0, 0.35, 110.0), (3600.0, 9000.0, 0.3, 900.0))  # s from start to start, part on, W
KETTLES, KETTLE = 7, (1200.0, 2200.0)  # a day; W
MEALS = ((12.2, 0.5, 1800.0), (18.5, 0.9, 2200.0))  # h, h long, W: an oven that switches itself
LOST = 0.03  # of what was taken, that the sun gives beside it


def power_of_days(days: int, step: float, scale: float, draw: np.random.Generator) -> Array:
    """Power out of the bank (day, step of the day), W, + discharges; `scale` 1 suits some 25 kWh."""
    count = int(86400 / step)
    hour = np.arange(count) * step / 3600
    power = np.full((days, count), BASE)
    power[:, (hour > 17.5) & (hour < 23.0)] += EVENING
    for number in range(days):
        _own(power[number], hour, draw)
    bright = _sun(days, hour, draw)
    taken = power.sum(axis=1) * (1 + LOST)
    power -= bright * (taken / bright.sum(axis=1))[:, None]
    power += 15.0 * draw.standard_normal(power.shape)
    return np.asarray(power * scale)


def _own(power: Array, hour: Array, draw: np.random.Generator) -> None:
    """One day's own starts and stops, added in place."""
    step = (hour[1] - hour[0]) * 3600
    for least, most, part, watts in CYCLES:
        begin = draw.uniform(0, most)
        while begin < 86400:
            length = draw.uniform(least, most)
            power[int(begin / step) : int((begin + part * length) / step)] += watts * draw.uniform(0.9, 1.1)
            begin += length
    for begin in draw.uniform(6.5, 22.0, KETTLES) * 3600:
        power[int(begin / step) : int((begin + draw.uniform(120, 260)) / step)] += draw.uniform(*KETTLE)
    for start, long, watts in MEALS:
        begin = start + draw.normal(0, 0.4)
        inside = (hour > begin) & (hour < begin + long)
        power[inside & (np.sin(2 * np.pi * hour * 3600 / draw.uniform(80, 160)) > 0)] += watts


def _sun(days: int, hour: Array, draw: np.random.Generator) -> Array:
    """Brightness (day, step) behind clouds that come and go; its size is nobody's matter."""
    long = 12.0 - 3.5 * np.cos(2 * np.pi * (np.arange(days)[:, None] + 10) / 365.0)  # h of daylight
    height = np.clip(1 - ((hour[None, :] - 12.5) / (long / 2)) ** 2, 0.0, None)
    blocks = draw.uniform(0.25, 1.0, (days, 145))
    clouds = np.array([np.interp(hour * 6, np.arange(145), row) for row in blocks])
    return np.asarray(height * clouds)
