"""A column of whole numbers as few bytes.

Gives: packed(), unpacked(), unpacked_all(). A column is taken as it is or as differences, whichever is shorter; split
into planes of bytes; and deflated, once with matches and once without, whichever is shorter. The deflated bytes carry
their own checksum (Adler-32), so that a damaged column is noticed by itself.
Limits: blocks of columns are in block.py.
Sources: deflate and its checksum: RFC 1950 and RFC 1951 [from memory].
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Sequence

import numpy as np

__all__ = ["packed", "unpacked", "unpacked_all"]

_HEAD = struct.Struct("<BBqq")  # way, bytes a number, base, first
_AS_IT_IS, _DIFFERENCES = 0, 1
_WIDTHS = {1: "<u1", 2: "<u2", 4: "<u4", 8: "<u8"}


def packed(column: np.ndarray) -> bytes:
    """Pack int64 (n,) into bytes."""
    numbers = column.astype(np.int64)
    if not len(numbers):
        return zlib.compress(_HEAD.pack(_AS_IT_IS, 1, 0, 0))
    low = int(numbers.min())
    above = (numbers - low).astype(np.uint64)
    tries = [_deflated(_HEAD.pack(_AS_IT_IS, _width(above), low, 0), above)]
    step = np.diff(numbers)
    if len(step):
        base = int(np.median(step))
        folded = _folded(step - base)
        tries.append(_deflated(_HEAD.pack(_DIFFERENCES, _width(folded), base, int(numbers[0])), folded))
    return min(tries, key=len)


def _width(numbers: np.ndarray) -> int:
    most = int(numbers.max())
    return next(width for width in _WIDTHS if most < 1 << (8 * width))


def _deflated(head: bytes, numbers: np.ndarray) -> bytes:
    width = head[1]
    planes = np.frombuffer(numbers.astype(_WIDTHS[width]).tobytes(), np.uint8).reshape(-1, width).T
    data = head + planes.tobytes()
    tries = []
    for way in (zlib.Z_DEFAULT_STRATEGY, zlib.Z_HUFFMAN_ONLY):
        maker = zlib.compressobj(9, zlib.DEFLATED, 15, 9, way)
        tries.append(maker.compress(data) + maker.flush())
    return min(tries, key=len)


def _folded(numbers: np.ndarray) -> np.ndarray:
    """0, -1, 1, -2 ... as 0, 1, 2, 3 ..."""
    return ((numbers << 1) ^ (numbers >> 63)).astype(np.uint64)


def _unfolded(numbers: np.ndarray) -> np.ndarray:
    whole = numbers.astype(np.uint64)
    return (whole >> np.uint64(1)).astype(np.int64) ^ -(whole & np.uint64(1)).astype(np.int64)


def unpacked(data: bytes, count: int) -> np.ndarray:
    """Give back int64 (count,); ValueError when the bytes are damaged."""
    return np.asarray(_of_one_kind([_raw(data)], count)[0])


def unpacked_all(columns: Sequence[bytes], counts: Sequence[int]) -> list[np.ndarray]:
    """Give back many columns; those that were packed alike are done in one go. ValueError when any is damaged."""
    kinds: dict[tuple[bytes, int], list[int]] = {}
    raws = [_raw(data) for data in columns]
    for place, (raw, count) in enumerate(zip(raws, counts, strict=True)):
        kinds.setdefault((raw[:2], count), []).append(place)
    answer: list[np.ndarray] = [np.empty(0, np.int64)] * len(raws)
    for (_, count), places in kinds.items():
        for place, found in zip(places, _of_one_kind([raws[k] for k in places], count), strict=True):
            answer[place] = found
    return answer


def _raw(data: bytes) -> bytes:
    try:
        return zlib.decompress(data)
    except zlib.error as error:
        raise ValueError(f"a damaged column ({error})") from error


def _of_one_kind(raws: Sequence[bytes], count: int) -> np.ndarray:
    """Columns of one way and width and count, (column, count)."""
    try:
        way, width, base, first = _HEAD.unpack_from(raws[0])
    except struct.error as error:
        raise ValueError(f"a damaged column ({error})") from error
    expected = max(count - (way == _DIFFERENCES), 0)
    if width not in _WIDTHS or any(len(raw) - _HEAD.size != expected * width for raw in raws):
        raise ValueError("a damaged column (its length is wrong)")
    many = len(raws)
    table = np.frombuffer(b"".join(raws), np.uint8).reshape(many, -1)
    planes = table[:, _HEAD.size :].reshape(many, width, expected).transpose(0, 2, 1)
    numbers = np.frombuffer(planes.tobytes(), _WIDTHS[width]).reshape(many, expected)
    heads = np.array([_HEAD.unpack_from(raw)[2:] for raw in raws], np.int64) if many > 1 else np.array([[base, first]])
    if way == _AS_IT_IS:
        whole: np.ndarray = numbers.astype(np.int64) + heads[:, :1]
        return whole
    found = np.empty((many, count), np.int64)
    found[:, 0] = heads[:, 1]
    np.cumsum(_unfolded(numbers) + heads[:, :1], axis=1, out=found[:, 1:])
    found[:, 1:] += heads[:, 1:]
    return found
