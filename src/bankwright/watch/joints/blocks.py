"""From cycles to blocks of 10 s that hold only what changes within the hour.

Gives: Blocks, blocks_of(), BLOCK, REACH, LAGS. Cycles near a jump of the mean current are left out, since modules are
read one after the other; what is kept is averaged by block, and of every channel the running mean over an hour each
side is taken off, so that charge, temperature and offsets of sensors fall out. Beside currents and voltages stand three
slowed copies of the mean current: what the cells' own relaxation follows.
Limits: polls of more than 10 s give one block each and are not gated.
Sources: block, reach, gate and lags were chosen on pretend telemetry [derived: docs/watch-joints.md].
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate

import numpy as np

from bankwright.circuit.network import Array
from bankwright.watch.joints.cycles import Cycles
from bankwright.watch.joints.moment import PAIRED, products, slopes, without_stairs

__all__ = ["BLOCK", "LAGS", "REACH", "Blocks", "blocks_of"]

BLOCK = 10.0  # s
REACH = 3600.0  # s each side of the running mean
GATE_AMPERES, GATE_CYCLES = 0.35, 2  # a jump of the mean current, and how far about it cycles are left out
GATED_BELOW = 10.0  # s of period
LAGS = (10.0, 60.0, 400.0)  # s


@dataclass(frozen=True, eq=False)
class Blocks:
    """Channels (block, 2 modules + lags): currents, voltages, slowed mean currents, each less its running mean."""

    slot: np.ndarray  # (block,) number of the block since 1970
    weight: Array  # (block,) cycles that were kept
    channel: Array
    cycles: Array | None  # (cycle, 2 modules) of these blocks in order, as the channels; None: one cycle a block

    def gram(self, low: int, high: int) -> Array:
        """Weighted products of all channels over some blocks (channel, channel).

        One half is the mirror of the other: what a product of matrices gives there differs in its last bits from
        processor to processor.
        """
        channel, weight = self.channel[low:high], self.weight[low:high]
        if self.cycles is None:
            found = np.asarray((channel * weight[:, None]).T @ channel)
        else:
            ends = np.concatenate([[0], np.cumsum(self.weight)]).astype(int)
            found = products(channel, weight, self.cycles[ends[low] : ends[high]])
        return np.triu(found) + np.triu(found, 1).T


def blocks_of(cycles: Cycles, sensor: Array) -> Blocks:
    """Gate, average, take the running mean off; `sensor` noise and step of the voltages (2, module) [V]."""
    modules = cycles.current.shape[1]
    if not len(cycles.time):
        return Blocks(np.empty(0, np.int64), np.empty(0), np.empty((0, 2 * modules + len(LAGS))), None)
    mean = cycles.current.mean(axis=1)
    slot = np.floor(cycles.time / BLOCK).astype(np.int64)
    slow = _slowed(slot, mean)
    quiet = _quiet(cycles, mean)
    number = np.flatnonzero(quiet)
    slot, values = slot[quiet], np.concatenate([cycles.current[quiet], cycles.voltage[quiet]], axis=1)
    if not len(slot):
        return Blocks(slot, np.empty(0), np.empty((0, 2 * modules + len(LAGS))), None)
    begins = np.flatnonzero(np.r_[True, np.diff(slot) != 0])
    weight = np.diff(np.r_[begins, len(slot)]).astype(float)
    slots = slot[begins]
    if cycles.period <= PAIRED:
        late = np.tile(cycles.late - cycles.late.mean(), 2)
        turned = late * slopes(cycles, number[begins], number[np.r_[begins[1:], len(number)] - 1])
        values -= np.repeat(turned, weight.astype(int), axis=0)
    means = np.add.reduceat(values, begins, axis=0) / weight[:, None]
    lagged = slow[:, slots - slow_start(cycles)].T
    channel = np.concatenate([means, lagged], axis=1)
    level = _running(slots, weight, channel)
    swing = (channel - level)[:, :modules].mean(axis=1)
    volts = slice(modules, 2 * modules)
    stairs = without_stairs(channel[:, volts], level[:, volts], swing, weight, sensor) - channel[:, volts]
    channel[:, volts] += stairs
    if cycles.period > PAIRED:
        return Blocks(slots, weight, channel - level, None)
    off = level[:, : 2 * modules].copy()
    off[:, volts] -= stairs
    return Blocks(slots, weight, channel - level, values - np.repeat(off, weight.astype(int), axis=0))


def slow_start(cycles: Cycles) -> int:
    """Number of the first block."""
    return int(np.floor(cycles.time[0] / BLOCK))


def _slowed(slot: np.ndarray, mean: Array) -> Array:
    """The mean current behind first-order lags, (lag, block) without gaps; a gap keeps the last value."""
    first, last = int(slot[0]), int(slot[-1])
    total = np.bincount(slot - first, mean, last - first + 1)
    count = np.bincount(slot - first, minlength=last - first + 1)
    here = np.maximum.accumulate(np.where(count > 0, np.arange(len(count)), 0))
    filled = (total / np.maximum(count, 1))[here]
    found, values = [], filled.tolist()
    for lag in LAGS:
        take = 1 - float(np.exp(-BLOCK / lag))
        found.append(list(accumulate(values, lambda level, value, take=take: level + take * (value - level))))  # type: ignore[misc]
    return np.array(found)


def _quiet(cycles: Cycles, mean: Array) -> np.ndarray:
    """Cycles away from jumps of the mean current."""
    quiet = np.ones(len(mean), bool)
    if cycles.period > GATED_BELOW or len(mean) < 2:
        return quiet
    jump = np.flatnonzero(np.abs(np.diff(mean)) > GATE_AMPERES)
    for step in range(-GATE_CYCLES + 1, GATE_CYCLES + 1):
        quiet[np.clip(jump + step, 0, len(mean) - 1)] = False
    return quiet


def _running(slots: np.ndarray, weight: Array, channel: Array) -> Array:
    """Weighted mean over REACH each side of every block."""
    steps = int(REACH / BLOCK)
    low = np.searchsorted(slots, slots - steps, side="left")
    high = np.searchsorted(slots, slots + steps, side="right")
    level = channel[0]
    total = np.concatenate([np.zeros((1, channel.shape[1])), np.cumsum((channel - level) * weight[:, None], axis=0)])
    mass = np.concatenate([[0.0], np.cumsum(weight)])
    return np.asarray(level + (total[high] - total[low]) / (mass[high] - mass[low])[:, None])
