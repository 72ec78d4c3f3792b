"""The end of the write-ahead log: what was written but cannot be read any more.

Gives: Tail, tail_of(). Frames are counted by their headers alone: those that carry the salts of the log's own
header were written since it last began anew. The engine keeps whole commits up to the first damage; a commit mark
behind that point means that rows were cut off there, which a killed writer by itself cannot cause.
Limits: contents are not judged here (check_repair reads lines out of the bytes).
Sources: SQLite file format, sections 4.1 and 4.2, write-ahead log header and frames [from memory].
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from pathlib import Path

__all__ = ["Tail", "tail_of", "wal_path"]

_HEADER, _FRAME = 32, 24
_MAGIC = (0x377F0682, 0x377F0683)


@dataclass(frozen=True, slots=True)
class Tail:
    """Frames behind the last commit that the engine can read."""

    frames: int
    commits: int  # commit marks among them
    odd_bytes: int  # of a frame that is not whole
    header_damaged: bool = False

    @property
    def is_damage(self) -> bool:
        """True when a commit was cut off, not only an unfinished one left behind."""
        return self.commits > 0 or self.header_damaged


def wal_path(path: Path) -> Path:
    """Where the engine keeps the write-ahead log of a file."""
    return path.with_name(path.name + "-wal")


def tail_of(wal: Path, readable_frames: int) -> Tail:
    """Count what stands in the log behind its readable frames."""
    try:
        data = wal.read_bytes()
    except FileNotFoundError:
        return Tail(0, 0, 0)
    if not data:
        return Tail(0, 0, 0)
    if len(data) < _HEADER or struct.unpack_from(">I", data)[0] not in _MAGIC:
        return Tail(0, 0, len(data), header_damaged=readable_frames == 0)
    page, salts = struct.unpack_from(">I", data, 8)[0], data[16:24]
    size = _FRAME + page
    if page < 512 or page > 65536 or page & (page - 1):
        return Tail(0, 0, len(data), header_damaged=readable_frames == 0)
    frames = commits = 0
    offset = _HEADER + readable_frames * size
    while offset + _FRAME <= len(data) and data[offset + 8 : offset + 16] == salts:
        if offset + size > len(data):
            return Tail(frames, commits, len(data) - offset)
        frames += 1
        commits += struct.unpack_from(">I", data, offset + 4)[0] != 0
        offset += size
    return Tail(frames, commits, 0)
