"""One sealed block: the rows of one frame, one start of the machine, and at most one hour.

Gives: Rows, Said, packed_block(), sealed_crc(), times_of(), one_signal(), rows_of(), said_of(), belongs().
Each column stands by itself, so that one signal is read
without the others, and damage to one does not cost the others. The block says in its own head which signals it holds
and which start of the machine it belongs to, so that it can be read when every table is gone.
Limits: when to seal is seal.py; a column is packed in streams.py.
"""

from __future__ import annotations

import json
import struct
import zlib
from dataclasses import dataclass
from typing import Any

import numpy as np

from bankwright.logbook.telemetry.frames import Frame, frame_of_text, frame_text
from bankwright.logbook.telemetry.packing import MISSING, key_crc
from bankwright.logbook.telemetry.streams import packed, unpacked

__all__ = ["Rows", "Said", "belongs", "one_signal", "packed_block", "rows_of", "said_of", "sealed_crc", "times_of"]

_MAGIC = b"BWT1"
_HEAD = struct.Struct("<4sIH")  # mark, rows, streams
_TIMES = 5  # streams before the signals: what it says, numbers, own clock, wall clock less own clock, known


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of one frame in the order they came."""

    number: np.ndarray  # (row,) int64, 0 for rows of a file
    mono_ms: np.ndarray  # (row,) int64
    wall_ms: np.ndarray  # (row,) int64, as told
    known: np.ndarray  # (row,) int8: 1 clock known to be right, 0 not, -1 nobody can tell
    steps: np.ndarray  # (row, signal) int32, MISSING where missing
    quality: np.ndarray  # (row, signal) uint8

    def __len__(self) -> int:
        """How many rows."""
        return len(self.mono_ms)

    def taken(self, which: np.ndarray) -> Rows:
        """Rows by a mask or by positions."""
        return Rows(*(getattr(self, name)[which] for name in self.__dataclass_fields__))


@dataclass(frozen=True, slots=True)
class Said:
    """What a block says of itself."""

    frame: Frame
    boot_no: int
    boot: str
    shift_ms: int  # wall time less own clock, as it was known when it was sealed


def packed_block(frame: Frame, rows: Rows, boot_no: int, boot: str, shift_ms: int) -> bytes:
    """Make the bytes of a block."""
    told = {"frame": frame.number, "signals": frame_text(frame.signals), "boot_no": boot_no, "boot": boot,
            "shift_ms": shift_ms}  # fmt: skip
    streams = [
        zlib.compress(json.dumps(told).encode(), 9),
        packed(rows.number),
        packed(rows.mono_ms),
        packed(rows.wall_ms - rows.mono_ms),
        packed(rows.known),
        *(_signal(rows.steps[:, k]) for k in range(len(frame.signals))),
    ]
    if rows.quality.any():
        streams += [packed(rows.quality[:, k]) for k in range(len(frame.signals))]
    lengths = struct.pack(f"<{len(streams)}I", *map(len, streams))
    return _HEAD.pack(_MAGIC, len(rows), len(streams)) + lengths + b"".join(streams)


def _signal(steps: np.ndarray) -> bytes:
    """Values with gaps filled by the value before, and where the gaps are."""
    missing = steps == MISSING
    if not missing.any():
        return struct.pack("<I", 0) + packed(steps)
    if missing.all():
        return struct.pack("<I", 1) + zlib.compress(b"")
    where = zlib.compress(np.packbits(missing).tobytes(), 9)
    last = np.maximum.accumulate(np.where(missing, -1, np.arange(len(steps))))
    first = int(np.argmin(missing))
    filled = steps[np.where(last < 0, first, last)]
    return struct.pack("<I", len(where)) + where + packed(filled)


def _steps(data: bytes, count: int) -> np.ndarray:
    try:
        (gaps,) = struct.unpack_from("<I", data)
        if gaps == 1:
            if zlib.decompress(data[4:]):
                raise ValueError("a damaged column (it is and is not empty)")
            return np.full(count, MISSING, np.int32)
        steps = unpacked(data[4 + gaps :], count).astype(np.int32)
        if gaps:
            bits = np.frombuffer(zlib.decompress(data[4 : 4 + gaps]), np.uint8)
            steps[np.unpackbits(bits, count=count).astype(bool)] = MISSING
    except (struct.error, zlib.error, IndexError) as error:
        raise ValueError(f"a damaged column ({error})") from error
    return steps


def _directory(block: bytes) -> tuple[int, list[bytes]]:
    """Count of rows, and the streams; ValueError when the head is damaged."""
    try:
        mark, count, streams = _HEAD.unpack_from(block)
        lengths = struct.unpack_from(f"<{streams}I", block, _HEAD.size)
    except struct.error as error:
        raise ValueError("a block cut short") from error
    if mark != _MAGIC or streams < _TIMES:
        raise ValueError("no block")
    at = _HEAD.size + 4 * streams
    found = []
    for length in lengths:
        found.append(block[at : at + length])
        at += length
    return count, found


def said_of(block: bytes) -> Said:
    """Read what a block says of itself; ValueError when that is damaged."""
    _, streams = _directory(block)
    try:
        told: dict[str, Any] = json.loads(zlib.decompress(streams[0]))
        frame = frame_of_text(int(told["frame"]), told["signals"])
        return Said(frame, int(told["boot_no"]), str(told["boot"]), int(told["shift_ms"]))
    except (zlib.error, KeyError, TypeError) as error:
        raise ValueError(f"the head of a block is damaged ({error})") from error


def sealed_crc(key: tuple[int, ...], block: bytes) -> int:
    """Checksum of a stored block with its key: frame, start, first and last own clock, rows, are they numbered."""
    return zlib.crc32(block, key_crc(*key))


def belongs(block: bytes, frame: Frame, boot: str) -> bool:
    """Whether a block says of itself that it is of this frame and start; a damaged index may lead to another."""
    try:
        said = said_of(block)
    except ValueError:
        return False
    return said.frame.signals == frame.signals and said.boot == boot


def times_of(block: bytes) -> np.ndarray:
    """Own clock of each row, (row,) ms; ValueError when it is damaged."""
    count, streams = _directory(block)
    return unpacked(streams[2], count)


def one_signal(block: bytes, position: int, width: int) -> tuple[np.ndarray, np.ndarray]:
    """Steps and quality of one signal of `width`, (row,) each; ValueError when they are damaged."""
    count, streams = _directory(block)
    if len(streams) not in (_TIMES + width, _TIMES + 2 * width):
        raise ValueError("a block of another frame")
    steps = _steps(streams[_TIMES + position], count)
    if len(streams) == _TIMES + width:
        return steps, np.zeros(count, np.uint8)
    return steps, unpacked(streams[_TIMES + width + position], count).astype(np.uint8)


def rows_of(block: bytes, width: int) -> Rows:
    """Everything in a block; ValueError when any of it is damaged."""
    count, streams = _directory(block)
    number, mono, shift, known = (unpacked(stream, count) for stream in streams[1:_TIMES])
    signals = [one_signal(block, k, width) for k in range(width)]
    steps = np.stack([s for s, _ in signals], axis=1)
    quality = np.stack([q for _, q in signals], axis=1)
    return Rows(number, mono, mono + shift, known.astype(np.int8), steps, quality)
