"""Lowest, mean and highest of every minute and every hour.

Gives: Sums, sums_of(), hour_bytes(), hour_sums(), minute_bytes(), minute_sums(), sums_crc().
Only good values count (quality 0);
`count` says how many they were. Minutes and hours are those of the right time, as it was known when they were summed.
Limits: the table's keys and the questions are in seal.py and rollup.py.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import accumulate

import numpy as np

from bankwright.logbook.telemetry.block import Rows
from bankwright.logbook.telemetry.packing import MISSING
from bankwright.logbook.telemetry.streams import packed, unpacked_all

__all__ = [
    "HOUR",
    "MINUTE",
    "PARTS",
    "Sums",
    "hour_bytes",
    "hour_sums",
    "minute_bytes",
    "minute_sums",
    "sums_crc",
    "sums_of",
]

MINUTE, HOUR = 60_000, 3_600_000  # ms
PARTS = 16  # of a step, in which means are kept
_HEAD = struct.Struct("<H5I")
_KEY = struct.Struct("<4q")


@dataclass(frozen=True, slots=True)
class Sums:
    """What a stretch of rows comes to, by minute or hour."""

    start_ms: np.ndarray  # (bucket,) own clock at which each begins
    low: np.ndarray  # (bucket, signal) int64 steps, MISSING where nothing counts
    mean: np.ndarray  # (bucket, signal) int64 sixteenths of a step
    high: np.ndarray  # (bucket, signal)
    count: np.ndarray  # (bucket, signal)


def sums_of(rows: Rows, shift_ms: int, every_ms: int) -> Sums:
    """Sum rows up; `shift_ms` is time less own clock."""
    bucket = (rows.mono_ms + shift_ms) // every_ms
    order = np.argsort(bucket, kind="stable")
    bucket = bucket[order]
    steps, good = rows.steps[order].astype(np.int64), (rows.steps != MISSING)[order] & (rows.quality[order] == 0)
    begins = np.flatnonzero(np.r_[True, np.diff(bucket) != 0])
    count = np.add.reduceat(good.astype(np.int64), begins, axis=0)
    none = count == 0
    low = np.minimum.reduceat(np.where(good, steps, 1 << 40), begins, axis=0)
    high = np.maximum.reduceat(np.where(good, steps, -1 << 40), begins, axis=0)
    total = np.add.reduceat(np.where(good, steps, 0), begins, axis=0)
    mean = np.round(total * PARTS / np.maximum(count, 1)).astype(np.int64)
    low, mean, high = (np.where(none, MISSING, field) for field in (low, mean, high))
    return Sums(bucket[begins] * every_ms - shift_ms, low, mean, high, count)


def sums_crc(key: tuple[int, ...], data: bytes) -> int:
    """Checksum of stored sums with their frame, start, beginning and block."""
    try:
        return zlib.crc32(data, zlib.crc32(_KEY.pack(*key)))
    except struct.error:  # a damaged key
        return -1


def hour_bytes(sums: Sums, bucket: int) -> bytes:
    """One hour as 16 bytes a signal: lowest, mean, highest, count."""
    fields = (sums.low[bucket], sums.mean[bucket], sums.high[bucket], sums.count[bucket])
    return np.stack(fields, axis=1).astype("<i4").tobytes()


def hour_sums(starts: list[int], rows: list[bytes], width: int) -> Sums:
    """Hours of frames of `width` signals back."""
    table = np.frombuffer(b"".join(rows), "<i4").reshape(len(rows), width, 4).astype(np.int64)
    low, mean, high, count = (table[:, :, k] for k in range(4))
    return Sums(np.array(starts, np.int64), low, mean, high, count)


def minute_bytes(sums: Sums) -> bytes:
    """All minutes of one block."""
    none = sums.count == 0
    low = np.where(none, 0, sums.low)
    above_low = (np.where(none, 0, sums.mean - PARTS * sums.low), np.where(none, 0, sums.high - sums.low))
    fields = (sums.start_ms, *(np.ascontiguousarray(f.T).reshape(-1) for f in (low, *above_low, sums.count)))
    streams = [packed(field) for field in fields]
    return _HEAD.pack(len(sums.start_ms), *map(len, streams)) + b"".join(streams)


def minute_sums(rows: Sequence[bytes], width: int, is_asked: Callable[[np.ndarray], np.ndarray]) -> Sums:
    """Minutes of frames of `width` signals back, one stretch after the other; ValueError when they are damaged.

    `is_asked` tells of beginnings whether they are asked for; where none of a stretch is, nothing else is unpacked.
    """
    heads = [_directory(row) for row in rows]
    start = unpacked_all([row[e[0] : e[1]] for row, (_, e) in zip(rows, heads, strict=True)], [n for n, _ in heads])
    inside = [is_asked(each) for each in start]
    kept = [k for k, each in enumerate(inside) if each.any()]
    if not kept:
        none = np.empty((0, width), np.int64)
        return Sums(np.empty(0, np.int64), none, none, none, none)
    fields = []
    for stream in range(1, 5):
        data = [rows[k][heads[k][1][stream] : heads[k][1][stream + 1]] for k in kept]
        found = unpacked_all(data, [heads[k][0] * width for k in kept])
        fields.append(np.concatenate([one.reshape(width, -1).T for one in found]))
    low, mean, high, count = fields
    none = count == 0
    mean, high = mean + PARTS * low, high + low
    low, mean, high = (np.where(none, MISSING, field) for field in (low, mean, high))
    which = np.concatenate([inside[k] for k in kept])
    return Sums(np.concatenate([start[k] for k in kept])[which], low[which], mean[which], high[which], count[which])


def _directory(row: bytes) -> tuple[int, list[int]]:
    """How many minutes, and where each stream begins and ends."""
    try:
        buckets, *lengths = _HEAD.unpack_from(row)
    except struct.error as error:
        raise ValueError("minutes cut short") from error
    return buckets, [*accumulate(lengths, initial=_HEAD.size)]
