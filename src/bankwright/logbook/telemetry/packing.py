"""Values as whole numbers of steps, and the bytes of one hot row.

Gives: MISSING, MOST, in_steps(), in_units(), cells_bytes(), cells_of(), owner_crc(), row_crc(), is_whole(),
key_crc().
A missing value is MISSING, never nought. Quality 0 is good and takes no room.
Limits: whole hours are packed in block.py.
"""

from __future__ import annotations

import struct
import zlib
from typing import Any

import numpy as np

from bankwright.forms.faults import Fault
from bankwright.logbook.errors import EntryRefused
from bankwright.logbook.telemetry.frames import Frame, Signal, frame_text

__all__ = [
    "MISSING",
    "MOST",
    "cells_bytes",
    "cells_of",
    "in_steps",
    "in_units",
    "is_whole",
    "key_crc",
    "owner_crc",
    "row_crc",
]

MISSING = -(2**31)
MOST = 2**27 - 1  # steps; means are kept in sixteenths of a step and must fit too
_HEAD = struct.Struct("<qqqqqb")


def in_steps(value: np.ndarray, signal: Signal) -> np.ndarray:
    """Round values in the unit inside to steps, int32, same shape; NaN becomes MISSING.

    Refused: an infinite value, or one too large to be kept.
    """
    missing = np.isnan(value)
    steps = np.round(np.where(missing, 0.0, value) / signal.step)
    wrong = ~(np.abs(steps) <= MOST)
    if wrong.any():
        worst = value[wrong].flat[0]
        most = MOST * signal.step
        raise EntryRefused(
            Fault(
                signal.at,
                "value-too-large",
                f"{signal.quantity} {worst:g} cannot be kept; at most {most:g} either way",
                hint="Mark it as missing, with the quality that says why",
            )
        )
    return np.where(missing, MISSING, steps).astype(np.int32)


def in_units(steps: np.ndarray, step: float) -> np.ndarray:
    """Steps back to the unit inside, float64, NaN where missing. `step` of 0.001 divides by 1000: 3.312, exactly so."""
    inverse = round(1 / step) if step < 1 else 0
    exact = inverse and abs(inverse * step - 1) < 1e-12
    value = steps / inverse if exact else steps * step
    return np.where(steps == MISSING, np.nan, value)


def cells_bytes(steps: np.ndarray) -> bytes:
    """Bytes of one row of steps."""
    return steps.astype("<i4").tobytes()


def cells_of(rows: list[bytes], width: int) -> np.ndarray:
    """Rows of steps back, (row, signal) int32."""
    return np.frombuffer(b"".join(rows), "<i4").reshape(len(rows), width)


def owner_crc(frame: Frame, boot: str) -> int:
    """Checksum of whose row it is: the signals themselves and the name of the start, not the numbers they go by."""
    return zlib.crc32(boot.encode(), zlib.crc32(frame_text(frame.signals).encode()))


def key_crc(*key: object) -> int:
    """Checksum of what a row says beside its bytes."""
    return zlib.crc32(repr(key).encode())


def is_whole(row: tuple[Any, ...], frame: Frame, owner: int) -> bool:
    """Whether a hot row as the engine gives it agrees with its checksum, also where its page is damaged."""
    try:
        return len(row[6]) == 4 * len(frame.signals) and bool(row[8] == row_crc(owner, row[:6], row[6], row[7]))
    except (TypeError, struct.error):
        return False


def row_crc(owner: int, key: tuple[int, int, int, int, int, int | None], cells: bytes, quality: bytes | None) -> int:
    """Checksum of a hot row: its owner; number, frame, start, both clocks, whether known; values, quality."""
    *numbers, known = key
    head = _HEAD.pack(*numbers, -1 if known is None else known)
    return zlib.crc32(quality or b"", zlib.crc32(cells, zlib.crc32(head, owner)))
