"""The end of the write-ahead log: what was written but cannot be read any more.

Gives: Tail, tail_of(), has_log(), wal_path(). Frames are counted by their headers alone: those that carry the salts
of the log's own header were written since it last began anew. The engine keeps whole commits up to the first
damage; a commit mark behind that point means that rows were cut off there, which a killed writer by itself cannot
cause.
Limits: contents are not judged here (check_repair reads lines out of the bytes).
Sources: SQLite file format, sections 4.1 and 4.2, write-ahead log header and frames [from memory].
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from pathlib import Path

__all__ = ["Tail", "has_log", "tail_of", "wal_path"]

_HEADER, _FRAME = 32, 24
_MAGIC = (0x377F0682, 0x377F0683)


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


def tail_of(path: Path) -> Tail | None:
    """Count what stands in a file's log behind its readable frames; None when no connection keeps an index of it.

    The index is what the engine made of the log when it was first opened: number of readable frames at byte 16,
    salts at byte 32. A log that was begun anew has other salts there than in its own, old header.
    """
    try:
        index = path.with_name(path.name + "-shm").read_bytes()[:48]
        data = wal_path(path).read_bytes()
    except OSError:
        return None
    if len(index) < 48:
        return None
    readable, salts = struct.unpack_from("=I", index, 16)[0], index[32:40]
    if len(data) < _HEADER + _FRAME:  # a writer killed before its first frame
        return Tail(odd_bytes=len(data))
    if not _is_header(data):
        return Tail(odd_bytes=len(data), header_damaged=True)
    if data[16:24] != salts:
        return Tail(odd_bytes=len(data), header_damaged=salts == bytes(8))
    return _counted(data, readable)


def _is_header(data: bytes) -> bool:
    if len(data) < _HEADER or struct.unpack_from(">I", data)[0] not in _MAGIC:
        return False
    page = struct.unpack_from(">I", data, 8)[0]
    return bool(512 <= page <= 65536 and page & (page - 1) == 0)


def _counted(data: bytes, readable: int) -> Tail:
    size, salts = _FRAME + int(struct.unpack_from(">I", data, 8)[0]), data[16:24]
    offset = start = _HEADER + readable * size
    marks: list[bool] = []
    while offset + size <= len(data) and data[offset + 8 : offset + 16] == salts:
        marks.append(data[offset + 4 : offset + 8] != bytes(4))
        offset += size
    odd = len(data) - offset if data[offset + 8 : offset + 16] == salts else 0
    commits = sum(marks[:-1])
    if marks and marks[-1] and not commits and not _whole_until_last(data, start, len(marks), size):
        commits = 1
    return Tail(len(marks), commits, odd)


def _whole_until_last(data: bytes, start: int, frames: int, size: int) -> bool:
    """True when all frames but the last are whole: the writer was killed between its last two writes."""
    order = "<" if data[:4] == struct.pack(">I", _MAGIC[0]) else ">"
    before = start - size + 16 if start > _HEADER else _HEADER - 8
    sums = struct.unpack_from(">II", data, before)
    for offset in range(start, start + (frames - 1) * size, size):
        sums = _checksum(data[offset : offset + 8] + data[offset + _FRAME : offset + size], sums, order)
        if sums != struct.unpack_from(">II", data, offset + 16):
            return False
    return True


def _checksum(data: bytes, sums: tuple[int, ...], order: str) -> tuple[int, int]:
    first, second = sums
    words = struct.unpack(f"{order}{len(data) // 4}I", data)
    for even, odd in zip(words[::2], words[1::2], strict=True):
        first = (first + even + second) & 0xFFFFFFFF
        second = (second + odd + first) & 0xFFFFFFFF
    return first, second
