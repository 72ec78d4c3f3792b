"""Readings of one cycle brought to one moment, and kept from making products with themselves.

Gives: slopes(), products(), without_stairs(), PAIRED. Modules are read one after the other, so that what the bank does
meanwhile looks like differences between them, ordered as they are read. What goes on evenly (relaxation, charge) is
taken off by each module's own slope, as the cycles outside a block tell it, and its known moment. What flickers (loads,
noise of sensors) makes products of a current with a voltage of the same cycle that do not average out: so a current is
multiplied with voltages of the other cycles of its block only; at the same noise nothing is lost. The stair of a
voltage that is told in steps is taken off by its mean error at the voltage that all modules together say it has.
Limits: for polls of up to 5 s; what hums in step with the polls is not seen.
Sources: instrumental variables [stated law]; mean error of a rounded normal value, first term of its Fourier series,
(step/pi) exp(-2 pi^2 s^2/step^2) sin(2 pi v/step) [derived]; both measured on pretend telemetry (docs/watch-joints.md).
"""

from __future__ import annotations

import numpy as np

from bankwright.circuit.network import Array
from bankwright.watch.joints.cycles import Cycles

__all__ = ["PAIRED", "products", "slopes", "without_stairs"]

PAIRED = 5.0  # s of period, up to which a block has two cycles
STEADY = 0.1  # A of the mean current: a step beside a block is no slope of it
NEXT = 1.5  # periods within which the next cycle follows
STAIRS = 0.6  # noise in steps, above which a stair's mean error is below 0.1 % of a step


def slopes(cycles: Cycles, first: np.ndarray, last: np.ndarray) -> Array:
    """Slope of every current and voltage over each block (block, 2 modules) [1/s], by the cycles just outside it.

    `first`, `last`: numbers of each block's own first and last cycle. 0 where a neighbour
    is missing, or lies beyond a step.
    """
    before, after = np.maximum(first - 1, 0), np.minimum(last + 1, len(cycles.time) - 1)
    span = cycles.time[after] - cycles.time[before]
    mean = cycles.current.mean(axis=1)
    calm = (np.abs(mean[before] - mean[first]) < STEADY) & (np.abs(mean[after] - mean[last]) < STEADY)
    near = calm & (span > 0) & (span < (last - first + 2 * NEXT) * cycles.period) & (before < first) & (after > last)
    both = np.concatenate([cycles.current[after] - cycles.current[before],
                           cycles.voltage[after] - cycles.voltage[before]], axis=1)  # fmt: skip
    return np.asarray(np.where(near, 1 / np.where(near, span, 1.0), 0.0)[:, None] * both)


def products(channel: Array, weight: Array, cycles: Array) -> Array:
    """Products of blocks' channels (block, channel), those of currents and voltages by pairs of different cycles.

    `cycles` (cycle, 2 modules) of these blocks in order, `weight` how many each block has. A cycle is never multiplied
    by itself, but for voltages by voltages, which tell the noise.
    """
    found = (channel * weight[:, None]).T @ channel
    wide, count = cycles.shape[1], cycles.shape[1] // 2
    many = weight > 1
    each = np.where(many, 1 / np.maximum(weight - 1, 1), 0.0)
    total = channel[:, :wide] * weight[:, None]
    parted = (total * each[:, None]).T @ total - (cycles * np.repeat(each, weight.astype(int))[:, None]).T @ cycles
    found[:count, :wide], found[count:wide, :count] = parted[:count], parted[count:, :count]
    return np.asarray(found)


def without_stairs(voltage: Array, level: Array, swing: Array, weight: Array, sensor: Array) -> Array:
    """Voltages of blocks (block, module) less the mean error of their stairs.

    `level` their running mean (block, module), `swing` (block,) how far the mean current lies from its own running mean
    [A], `sensor` noise and step of each module (2, module) [V].
    """
    noise, step = sensor
    ratio = np.where(np.isfinite(noise) & np.isfinite(step), noise / np.maximum(step, 1e-9), np.inf)
    if not (ratio < STAIRS).any() or not len(voltage):
        return voltage
    bus = voltage.mean(axis=1, keepdims=True)
    apart = (voltage - level) - (bus - level.mean(axis=1, keepdims=True))
    follows = (weight * swing) @ apart / max(float((weight * swing) @ swing), 1e-12)
    likely = bus + (level - level.mean(axis=1, keepdims=True)) + swing[:, None] * follows
    size = np.where(ratio < STAIRS, step / np.pi * np.exp(-2 * (np.pi * ratio) ** 2), 0.0)
    return np.asarray(voltage + size * np.sin(2 * np.pi * likely / np.where(size > 0, step, 1.0)))
