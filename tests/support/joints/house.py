"""A day of an invented house on the bank: what it asks, in W, half a second each.

Gives: day_power(), STEP, STEPS. Appliances by name, sun with passing clouds; nothing is taken from any measured house.
"""

from __future__ import annotations

import numpy as np

STEP = 0.5  # s
STEPS = int(86400 / STEP)
Draw = np.random.Generator


def _on(power: np.ndarray, hour: float, seconds: float, watts: float) -> None:
    begin = int(hour * 3600 / STEP)
    power[max(begin, 0) : max(begin, 0) + max(int(seconds / STEP), 1)] += watts


def _cycling(power: np.ndarray, draw: Draw, on: tuple[float, float], off: tuple[float, float], watts: float) -> None:
    """A thing that starts and stops by itself all day."""
    hour = draw.uniform(0, off[1] / 3600)
    while hour < 24:
        length = draw.uniform(*on)
        _on(power, hour, length, watts * draw.uniform(0.9, 1.1))
        hour += (length + draw.uniform(*off)) / 3600


def _cooking(power: np.ndarray, draw: Draw) -> None:
    for start in (12.2, 18.4):
        if draw.random() < 0.8:
            hour, end, watts = start + draw.normal(0, 0.6), 0.0, draw.uniform(1500, 2600)
            end = hour + draw.uniform(0.3, 0.9)
            while hour < min(end, 23.5):
                length = draw.uniform(15, 60)
                _on(power, hour, length, watts)
                hour += (length + draw.uniform(15, 70)) / 3600


def _washing(power: np.ndarray, draw: Draw) -> None:
    start = draw.uniform(8, 18)
    _on(power, start, draw.uniform(700, 1400), 2000)
    for k in range(90):
        _on(power, start + 0.4 + k / 90, draw.uniform(5, 25), draw.uniform(150, 400))


def _sun(draw: Draw, season: float) -> np.ndarray:
    hours = np.arange(STEPS) * STEP / 3600
    clear = np.clip(1 - ((hours - 12.5) / (6 + 2 * season)) ** 2, 0, None) ** 1.3 * (4200 + 1800 * season)
    cloudy = draw.choice([0.15, 0.5, 0.9], p=[0.35, 0.4, 0.25])
    sky, at = np.ones(STEPS // 20), 0
    while at < len(sky):
        length = int(draw.exponential(30)) + 2
        sky[at : at + length] = draw.uniform(0.15, 0.7) if draw.random() < cloudy else draw.uniform(0.75, 1.0)
        at += length
    edges = np.convolve(sky, np.ones(3) / 3, "same")
    return np.asarray(clear * np.repeat(edges, 20))


def day_power(draw: Draw, scale: float, season: float, busy: float = 1.0) -> np.ndarray:
    """What is asked of the bank over a day (STEPS,), + discharges; `season` -1 to 1 (summer), `busy` 0: base alone."""
    power = np.full(STEPS, 180.0)
    hours = np.arange(STEPS) * STEP / 3600
    power[(hours > 17) & (hours < 23.2)] += draw.uniform(150, 350)
    _cycling(power, draw, (600, 1080), (1400, 3200), 110.0)  # fridge
    if busy > 0:
        _cycling(power, draw, (480, 1800), (2500 + 2500 * max(season, -0.5), 6000 + 3000 * season), 1200.0)  # heat pump
        for _ in range(draw.poisson(6 * busy)):
            _on(power, float(np.clip(draw.choice([7, 12.5, 16, 19, 21]) + draw.normal(0, 0.8), 0, 23.9)),
                draw.uniform(90, 260), draw.uniform(1200, 2300))  # fmt: skip
        _cooking(power, draw)
        if draw.random() < 0.5:
            _washing(power, draw)
    slow = np.repeat(np.convolve(draw.standard_normal(STEPS // 4), np.ones(20) / 20**0.5, "same"), 4)
    power += 25 * slow + 12 * np.repeat(draw.standard_normal(STEPS // 2), 2)
    return (power - _sun(draw, season)) * scale
