"""What a voltage sensor is like, from its own readings: its step, and its noise beside the step.

Gives: sensor_noise(), too_coarse(), COARSE, DITHER. The step is the smallest difference between two values that were
read; the noise is told from second differences of quiet cycles, through what rounding to the step does to it.
Limits: white noise; below a tenth of a step it cannot be told and is given as 0.
Source: variance of a rounded normal value, averaged over where it lies between two steps [derived: numeric integral].
"""

from __future__ import annotations

from functools import cache

import numpy as np

from bankwright.circuit.network import Array, frozen
from bankwright.physics.normal import below
from bankwright.watch.joints.cycles import Cycles

__all__ = ["COARSE", "DITHER", "FULL_DITHER", "sensor_noise", "too_coarse"]

COARSE = 0.02  # V of step above which differences of voltages say nothing [measured: docs/watch-joints.md]
DITHER, FULL_DITHER = 0.2, 0.3  # of a step: noise below the first leaves a bias, above the second it does not
QUIET = 0.2  # A by which the mean current may change over the three cycles that are compared
FEWEST = 200


def sensor_noise(cycles: Cycles) -> Array:
    """Noise and step of each module's voltage (2, modules) [V]; NaN where not enough cycles were quiet."""
    count = cycles.current.shape[1]
    found = np.full((2, count), np.nan)
    if len(cycles.time) < FEWEST + 2:
        return frozen(found)
    mean = cycles.current.mean(axis=1)
    calm = np.abs(mean[2:] - mean[:-2]) < QUIET
    calm &= np.abs(mean[1:-1] - mean[:-2]) < QUIET
    calm &= cycles.time[2:] - cycles.time[:-2] < 3 * cycles.period
    if calm.sum() < FEWEST:
        return frozen(found)
    bend = (cycles.voltage[2:] - 2 * cycles.voltage[1:-1] + cycles.voltage[:-2])[calm]
    spread = np.sqrt(np.mean(np.minimum(np.abs(bend), 6 * np.std(bend, axis=0)) ** 2, axis=0) / 6)
    for k in range(count):
        found[:, k] = _noise(float(spread[k]), float(cycles.step[k])), cycles.step[k]
    return frozen(found)


def _noise(spread: float, step: float) -> float:
    if not np.isfinite(step):
        return float("nan")
    ratios, spreads = _rounding()
    return float(np.interp(spread / step, spreads, ratios) * step) if spread < spreads[-1] * step else spread


@cache
def _rounding() -> tuple[Array, Array]:
    """Noise in steps, and the spread of rounded readings that it brings, averaged over the place between two steps."""
    ratios = np.concatenate([[0.0], np.linspace(0.02, 1.5, 75)])
    place = (np.arange(100) + 0.5) / 100 - 0.5
    levels = np.arange(-8, 9)
    spreads = [0.0]
    for ratio in ratios[1:]:
        edges = (levels[:, None] + 0.5 - place) / ratio
        chance = np.diff(np.concatenate([np.zeros((1, len(place))), below(edges)]), axis=0)
        first = (levels[:, None] * chance).sum(axis=0)
        spreads.append(float(np.sqrt(((levels[:, None] ** 2 * chance).sum(axis=0) - first**2).mean())))
    return frozen(ratios), frozen(spreads)


def too_coarse(sensor: Array) -> np.ndarray:
    """Which modules' voltages are too coarse (modules,) of noise and step (2, modules); not known counts as not."""
    noise, step = sensor
    with np.errstate(invalid="ignore"):
        return np.asarray((step > COARSE + 1e-9) | (noise < DITHER * step))
