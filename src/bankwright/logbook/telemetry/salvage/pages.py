"""Rows of telemetry found in the bare pages of a file, where the engine cannot reach them.

Gives: Loose, loose_rows(). Every page that looks like a leaf of a table is read cell by cell; a row counts only if it
agrees with the checksum it carries, so that chance finds nothing. Pages of a write-ahead log are read the same way.
Limits: a row that continues on other pages is followed in the file itself, not in a log. Rows that were deleted may be
found too: the caller must know which are still to be had elsewhere.
Sources: SQLite file format, sections 1.6 (B-tree pages), 1.7 (overflow pages),
2.1 (record format) and 4 (write-ahead log) [from memory].
"""

from __future__ import annotations

import mmap
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from bankwright.logbook.telemetry.block import sealed_crc
from bankwright.logbook.telemetry.happenings import happening_crc

__all__ = ["Loose", "loose_rows"]

_LEAF = 13
_WAL_HEAD, _FRAME_HEAD = 32, 24
_WAL_MARKS = (b"\x37\x7f\x06\x82", b"\x37\x7f\x06\x83")
_INTEGER_SIZES = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8}

Row = tuple[Any, ...]


@dataclass
class Loose:
    """Rows by their numbers, each proved by its own checksum; what is known already is passed over.

    Hot rows go by number and checksum, since a number that was cut off once may have been given again; whose they are,
    and so whether the checksum is right, is for the caller to find.
    """

    known_hot: set[tuple[int, int]] = field(default_factory=set)
    known_sealed: set[int] = field(default_factory=set)
    frame: dict[tuple[int, str], None] = field(default_factory=dict)
    hot: dict[tuple[int, int], Row] = field(default_factory=dict)
    sealed: dict[int, Row] = field(default_factory=dict)
    happening: dict[int, Row] = field(default_factory=dict)


def loose_rows(path: Path, found: Loose) -> None:
    """Add every row that stands whole in a file or in a write-ahead log, whatever the engine thinks of it."""
    if not path.exists() or path.stat().st_size < 512:
        return
    with path.open("rb") as file, mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ) as data:
        if data[:4] in _WAL_MARKS:
            size = int.from_bytes(data[8:12], "big")
            for at in range(_WAL_HEAD + _FRAME_HEAD, len(data) - size + 1, size + _FRAME_HEAD):
                _read_page(data[at : at + size], None, found)
            return
        size = _page_size(data[:18])
        for at in range(0, len(data) - size + 1, size):
            _read_page(data[at : at + size], lambda number: _page(data, number, size), found, 100 if at == 0 else 0)


def _page_size(head: bytes) -> int:
    """What the head of the file says; where it is damaged, what the engine takes for a new file."""
    size = int.from_bytes(head[16:18], "big")
    if not head.startswith(b"SQLite format 3\0") or size & (size - 1):
        return 4096
    return 65536 if size == 1 else size


def _page(data: mmap.mmap, number: int, size: int) -> bytes:
    return data[(number - 1) * size : number * size] if number > 0 else b""


def _read_page(page: bytes, follow: Callable[[int], bytes] | None, found: Loose, skip: int = 0) -> None:
    if page[skip] != _LEAF:
        return
    cells = int.from_bytes(page[skip + 3 : skip + 5], "big")
    for k in range(min(cells, (len(page) - skip - 8) // 2)):
        at = int.from_bytes(page[skip + 8 + 2 * k : skip + 10 + 2 * k], "big")
        try:
            number, record = _cell(page, at, follow)
            _sort_in(number, tuple(_values(record)), found)
        except (IndexError, ValueError, UnicodeDecodeError):
            continue


def _varint(data: bytes, at: int) -> tuple[int, int]:
    """A number of up to nine bytes, and where it ends."""
    value = 0
    for k in range(8):
        byte = data[at + k]
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at + k + 1
    value = value << 8 | data[at + 8]
    return value - (1 << 64) if value >= 1 << 63 else value, at + 9


def _cell(page: bytes, at: int, follow: Callable[[int], bytes] | None) -> tuple[int, bytes]:
    """Row number and whole record of a cell, its overflow pages followed."""
    length, at = _varint(page, at)
    number, at = _varint(page, at)
    usable = len(page)
    most = usable - 35
    if length <= most:
        return number, page[at : at + length]
    if follow is None or length > 1 << 28:
        raise ValueError("it continues elsewhere")
    least = (usable - 12) * 32 // 255 - 23
    here = least + (length - least) % (usable - 4)
    here = here if here <= most else least
    parts, left = [page[at : at + here]], length - here
    next_page = int.from_bytes(page[at + here : at + here + 4], "big")
    while left > 0:
        more = follow(next_page)
        if len(more) < usable:
            raise ValueError("its next page is not there")
        parts.append(more[4 : 4 + min(left, usable - 4)])
        left -= usable - 4
        next_page = int.from_bytes(more[:4], "big")
    return number, b"".join(parts)


def _values(record: bytes) -> Iterator[Any]:
    """Columns of a record; ValueError where it holds what no row of ours holds."""
    head, at = _varint(record, 0)
    kinds = []
    while at < head:
        kind, at = _varint(record, at)
        kinds.append(kind)
    if at != head or len(kinds) > 9:
        raise ValueError("no row of ours")
    for kind in kinds:
        if kind in (0, 8, 9):
            yield {0: None, 8: 0, 9: 1}[kind]
            continue
        size = _INTEGER_SIZES.get(kind, (kind - 12) // 2)
        if size < 0 or at + size > len(record):
            raise ValueError("cut short")
        part = record[at : at + size]
        at += size
        if kind < 12:
            yield int.from_bytes(part, "big", signed=True)
        else:
            yield part.decode() if kind % 2 else part


def _sort_in(number: int, row: Row, found: Loose) -> None:
    """Keep a row if it is one of ours and its checksum is right."""
    if len(row) == 3 and isinstance(row[1], str) and row[2] == zlib.crc32(row[1].encode()):
        found.frame[number, row[1]] = None
    elif len(row) == 9 and isinstance(row[6], bytes):
        if (number, row[8]) not in found.known_hot and all(isinstance(value, int) for value in (*row[1:5], row[8])):
            found.hot.setdefault((number, row[8]), (number, *row[1:]))
    elif len(row) == 9 and isinstance(row[7], bytes):
        if number not in found.known_sealed and row[8] == sealed_crc(row[1:7], row[7]):
            found.sealed.setdefault(number, (number, *row[1:]))
    elif len(row) == 9 and isinstance(row[7], str) and row[8] == happening_crc(row[1:8]):
        found.happening.setdefault(number, (number, *row[1:]))
