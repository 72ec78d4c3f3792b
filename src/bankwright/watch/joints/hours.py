"""What is kept of an hour: sums of products of all channels, and they add up.

Gives: Day, reduced(), packed(), unpacked(), HOUR, DAY. Of each hour the Gram matrix of the blocks' channels (currents,
voltages, slowed mean currents, weighted by kept cycles), its weight, and the plain means; of each day what the voltage
sensors are like. Nothing else is needed later: another set of nominal resistances, another baseline, longer windows are
sums of these.
Limits: an hour in which a module carries nothing while the others carry is left out: it is off, or has tripped.
"""

from __future__ import annotations

import json
import struct
from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array
from bankwright.watch.joints.blocks import BLOCK, LAGS, blocks_of
from bankwright.watch.joints.cycles import Cycles
from bankwright.watch.joints.sensors import sensor_noise

__all__ = ["DAY", "FORM", "HOUR", "Day", "packed", "reduced", "unpacked"]

HOUR, DAY = 3600, 86400  # s
FORM = 2  # of the kept bytes
OFF_RATIO, OFF_AMPERES = 0.05, 0.3  # of the others' rms current below which a module counts as off; and the least of it
_LENGTH = struct.Struct("<I")


@dataclass(frozen=True, eq=False)
class Day:
    """Hours that were kept, in the order of time: number since 1970, Gram (hour, channel, channel), weight, means."""

    modules: tuple[str, ...]
    hour: np.ndarray  # (hour,)
    gram: Array  # (hour, channel, channel)
    weight: Array  # (hour,) cycles
    blocks: Array  # (hour,) blocks they were averaged to
    mean: Array  # (hour, 3 modules): current, voltage, temperature (NaN where none was heard)
    sensor: Array  # (2, modules): noise and step of the voltage [V]; NaN where not enough was quiet
    period: float  # s from poll to poll

    def __len__(self) -> int:
        """How many hours."""
        return len(self.hour)


def reduced(names: tuple[str, ...], cycles: Cycles, warm: Array, day: int) -> Day:
    """Reduce the cycles of a day (with an hour each side) to its hours; `warm` (24, modules) mean temperatures."""
    sensor = sensor_noise(cycles)
    blocks = blocks_of(cycles, sensor)
    count = len(names)
    found, grams, weights, counts, means = [], [], [], [], []
    number = blocks.slot * int(BLOCK) // HOUR
    cycle_hour = (cycles.time // HOUR).astype(np.int64)
    for hour in range(day * 24, day * 24 + 24):
        low, high = np.searchsorted(number, [hour, hour + 1])
        channel, weight = blocks.channel[low:high], blocks.weight[low:high]
        if high - low < 2 or _is_off(channel[:, :count], weight):
            continue
        begin, end = np.searchsorted(cycle_hour, [hour, hour + 1])
        plain = [cycles.current[begin:end].mean(axis=0), cycles.voltage[begin:end].mean(axis=0), warm[hour % 24]]
        found.append(hour)
        grams.append(blocks.gram(low, high))
        weights.append(weight.sum())
        counts.append(float(high - low))
        means.append(np.concatenate(plain))
    width = 2 * count + len(LAGS)
    return Day(
        names,
        np.array(found, np.int64),
        np.array(grams).reshape(-1, width, width),
        np.array(weights),
        np.array(counts),
        np.array(means).reshape(-1, 3 * count),
        sensor,
        cycles.period,
    )


def _is_off(current: Array, weight: Array) -> bool:
    """Whether one module carried nothing of what the others carried."""
    rms = np.sqrt((current**2 * weight[:, None]).sum(axis=0) / weight.sum())
    usual = float(np.median(rms))
    return bool(usual > OFF_AMPERES and rms.min() < OFF_RATIO * usual)


def packed(day: Day) -> bytes:
    """As bytes: a head in JSON, then arrays; of each Gram its upper half."""
    head = {"modules": day.modules, "hours": len(day), "period": day.period if np.isfinite(day.period) else None}
    text = json.dumps(head).encode()
    rows, columns = np.triu_indices(day.gram.shape[1])
    parts = (day.hour.astype("<i8"), day.gram[:, rows, columns], day.weight, day.blocks, day.mean, day.sensor)
    return b"".join([_LENGTH.pack(len(text)), text, *(np.ascontiguousarray(part).tobytes() for part in parts)])


def unpacked(blob: bytes) -> Day:
    """Read the bytes back; ValueError when they are not whole."""
    try:
        (length,) = _LENGTH.unpack_from(blob)
        head = json.loads(blob[4 : 4 + length])
        names, hours = tuple(head["modules"]), int(head["hours"])
    except (struct.error, ValueError, KeyError, TypeError) as error:
        raise ValueError("no day of joints") from error
    count = len(names)
    width = 2 * count + len(LAGS)
    rows, columns = np.triu_indices(width)
    sizes = (hours, hours * len(rows), hours, hours, hours * 3 * count, 2 * count)
    if len(blob) != 4 + length + 8 * sum(sizes):
        raise ValueError("a day of joints cut short")
    at, parts = 4 + length, []
    for number, size in enumerate(sizes):
        parts.append(np.frombuffer(blob, "<i8" if number == 0 else "<f8", size, at))
        at += 8 * size
    gram = np.zeros((hours, width, width))
    gram[:, rows, columns] = gram[:, columns, rows] = parts[1].reshape(hours, -1)
    mean, sensor = parts[4].reshape(hours, -1), parts[5].reshape(2, count)
    period = float("nan") if head["period"] is None else float(head["period"])
    return Day(names, parts[0], gram, parts[2], parts[3], mean, sensor, period)
