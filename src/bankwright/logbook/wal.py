"""The end of the write-ahead log: what was written but cannot be read any more.

Gives: Tail, tail_of(), has_log(), wal_path(). The engine keeps whole commits up to the first frame whose checksum
is wrong. Frames behind that point which carry the salts of the log's own header were written since it last began
anew. A commit mark among them, other than on the very last, means that rows were cut off there: a killed writer
leaves at most one unfinished commit, whose mark is the last thing it writes.
Limits: contents are not judged here (check_repair reads lines out of the bytes). Only the log itself is opened:
closing a plain handle of the file or of its index would drop the engine's locks on them.
Sources: SQLite file format, sections 4.1 and 4.2, write-ahead log header, frames and checksums [from memory].
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

__all__ = ["Tail", "has_log", "tail_of", "wal_path"]

_HEADER, _FRAME = 32, 24
_MAGIC = {b"\x37\x7f\x06\x82": "<u4", b"\x37\x7f\x06\x83": ">u4"}  # order of the words in checksums
_MASK = 0xFFFFFFFF


@dataclass(frozen=True, slots=True)
class Tail:
    """Frames behind the last commit that the engine can read."""

    frames: int = 0
    commits: int = 0  # commit marks that a killed writer by itself cannot have left unreadable
    odd_bytes: int = 0  # of a frame that is not whole
    header_damaged: bool = False

    @property
    def is_damage(self) -> bool:
        """True when a commit was cut off, not only an unfinished one left behind."""
        return self.commits > 0 or self.header_damaged


def wal_path(path: Path) -> Path:
    """Where the engine keeps the write-ahead log of a file."""
    return path.with_name(path.name + "-wal")


def has_log(path: Path) -> bool:
    """True when a log stands beside the file: another program has it open, or the last one did not close it."""
    try:
        return wal_path(path).stat().st_size > 0
    except OSError:
        return False


def tail_of(path: Path) -> Tail:
    """Count what stands in a file's log behind its readable frames; nobody may be writing meanwhile."""
    try:
        data = wal_path(path).read_bytes()
    except OSError:
        return Tail()
    if len(data) < _HEADER + _FRAME:  # a writer killed before its first frame
        return Tail(odd_bytes=len(data))
    page = struct.unpack_from(">I", data, 8)[0]
    order = _MAGIC.get(data[:4])
    if order is None or not 512 <= page <= 65536 or page & (page - 1) or not _is_head(data, order):
        return Tail(odd_bytes=len(data), header_damaged=True)
    size = _FRAME + page
    heads = [data[at : at + _FRAME] for at in range(_HEADER, len(data) - size + 1, size)]
    ours = [head[8:16] == data[16:24] for head in heads]
    marks = [head[4:8] != bytes(4) for head in heads]
    return _counted(ours, marks, _readable(data, size, order, ours, marks), (len(data) - _HEADER) % size)


def _counted(ours: list[bool], marks: list[bool], readable: int, odd: int) -> Tail:
    behind = [number for number in range(readable, len(ours)) if ours[number]]
    if not behind:
        return Tail(odd_bytes=odd)
    has_hole = behind[-1] - readable != len(behind) - 1  # frames are written one after the other: a hole is damage
    counted = behind if has_hole else behind[:-1]
    return Tail(len(behind), sum(marks[number] for number in counted), odd)


def _is_head(data: bytes, order: str) -> bool:
    words = np.frombuffer(data[:24], order).astype(np.uint32)
    return _sums(words[None, :], [(0, 0)])[0] == struct.unpack_from(">II", data, 24)


def _readable(data: bytes, size: int, order: str, ours: list[bool], marks: list[bool]) -> int:
    """Frames up to the last commit mark before the first frame that is not ours or whose checksum is wrong."""
    count = len(ours)
    table = np.frombuffer(data[_HEADER : _HEADER + count * size], np.uint8).reshape(count, size)
    body = np.concatenate([table[:, :8], table[:, _FRAME:]], axis=1)
    words = np.ascontiguousarray(body).view(order).astype(np.uint32)
    told = [struct.unpack_from(">II", data, _HEADER + n * size + 16) for n in range(count)]
    before = [struct.unpack_from(">II", data, 24), *told[:-1]]
    readable = 0
    for number, sums in enumerate(_sums(words, before)):
        if not ours[number] or sums != told[number]:
            break
        readable = number + 1 if marks[number] else readable
    return readable


def _sums(words: np.ndarray, before: list[tuple[int, ...]]) -> list[tuple[int, int]]:
    """Checksums of rows of words, each going on from its own start.

    One pair (x, y) takes (s, t) to (s + x + t, t + y + s + x + t): a matrix [[1, 1], [1, 2]] and (x, x + y). Its powers
    are Fibonacci numbers, so a row of n pairs is two sums of products, modulo 2**32.
    """
    pairs = words.shape[1] // 2
    power = _powers(pairs)
    first, second = words[:, ::2], words[:, 1::2]
    both = first + second
    a, b, d = (power[pairs - 1 :: -1, k] for k in range(3))
    left = (first * a + both * b).sum(axis=1, dtype=np.uint32)
    right = (first * b + both * d).sum(axis=1, dtype=np.uint32)
    p, q, r = (int(value) for value in power[pairs])
    found = []
    for row, (s, t) in enumerate(before):
        found.append(((p * s + q * t + int(left[row])) & _MASK, (q * s + r * t + int(right[row])) & _MASK))
    return found


@lru_cache(maxsize=4)
def _powers(pairs: int) -> np.ndarray:
    """Entries (0, 0), (0, 1), (1, 1) of the matrix to the powers 0 to `pairs`, modulo 2**32."""
    rows, (a, b, d) = [(1, 0, 1)], (1, 0, 1)
    for _ in range(pairs):
        a, b, d = (a + b) & _MASK, (b + d) & _MASK, (b + 2 * d) & _MASK
        rows.append((a, b, d))
    return np.array(rows, dtype=np.uint32)
