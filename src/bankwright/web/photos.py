"""Photos from a phone: what they are, where they were taken taken out of them, how much of them is kept.

Gives: kind_of(), without_place(), kept(), PhotoRefused. JPEG, PNG and WebP are written anew without their notes (EXIF,
XMP, comments); only which way is up stays. In HEIC and AVIF, whose inner addresses would shift, the notes are blanked
where they stand. A file that does not hold together is refused, never kept with its place in it.
Limits: the picture itself is not looked at. At most MOST bytes are kept for a bank, and SPARE stay free on the disk.
Sources: ISO/IEC 10918-1, B.1 (JPEG markers); JEITA CP-3451, 4.5 to 4.6 (Exif in APP1, tags 0x0112, 0x8825); PNG, third
edition, 5.3; RFC 9649 (WebP chunks); TIFF 6.0, section 2 [all from memory].
"""

from __future__ import annotations

import os
import re
import shutil
import struct
from pathlib import Path

from bankwright.forms.disk import write_whole

__all__ = ["MOST", "SPARE", "PhotoRefused", "kept", "kind_of", "without_place"]

MOST = 1 << 30  # bytes of photos beside one bank file
SPARE = 256 << 20  # bytes that stay free on the disk
_BRANDS = (b"ftypheic", b"ftypheix", b"ftypmif1", b"ftypavif")
_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_KEPT = {b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"sBIT", b"pHYs", b"bKGD"}
_WEBP_NOTES = {b"EXIF": 0x08, b"XMP ": 0x04}  # chunk -> its flag in the head
_END, _SCAN = 0xD9, 0xDA
_NOTES = {*range(0xE1, 0xEE), 0xEF, 0xFE}  # application data but JFIF and the kind of colour; comments
_MARKER = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")  # the first one that is no part of the coded picture
_XMP = re.compile(rb"<x:xmpmeta.*?</x:xmpmeta>", re.DOTALL)
_TIFF = re.compile(rb"(?:II\x2a\x00|MM\x00\x2a)")
_ORIENTATION, _PLACE = 0x0112, 0x8825
_SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8}  # bytes of a value by its type


class PhotoRefused(ValueError):
    """The photo is not kept; the message says why."""


def kind_of(content: bytes) -> str | None:
    """The ending of its name by its first bytes; None for what is no photo known here."""
    if content.startswith(b"\xff\xd8\xff"):
        return "jpg"
    if content.startswith(_PNG):
        return "png"
    if content.startswith(b"RIFF") and content[8:12] == b"WEBP":
        return "webp"
    return "heic" if content[4:12] in _BRANDS else None


def without_place(content: bytes, kind: str) -> bytes:
    """The photo without what tells where and when it was taken; PhotoRefused when it does not hold together."""
    clean = {"jpg": _jpeg, "png": _png, "webp": _webp, "heic": _blanked}[kind]
    try:
        return clean(content)
    except (struct.error, IndexError, ValueError) as error:
        raise PhotoRefused("it does not hold together, so its place cannot be taken out of it") from error


def kept(folder: Path, name: str, content: bytes) -> Path:
    """Write it whole or not at all; PhotoRefused when there is enough, or the folder leads elsewhere."""
    if folder.is_symlink():
        raise PhotoRefused(f"{folder.name} is a link that leads elsewhere; put a folder in its place")
    folder.mkdir(exist_ok=True)
    held = sum(entry.stat(follow_symlinks=False).st_size for entry in os.scandir(folder))
    if held + len(content) > MOST:
        raise PhotoRefused(f"there are {held >> 20} MB of photos already; move some away to make room")
    if shutil.disk_usage(folder).free - len(content) < SPARE:
        raise PhotoRefused(f"less than {SPARE >> 20} MB would stay free on the disk")
    return write_whole(folder / name, content)


def _jpeg(content: bytes) -> bytes:
    """Keep what the picture needs: tables, frames, colour profile; of the notes only which way is up.

    What hangs behind the end of the picture may be a second one with notes of its own, and goes.
    """
    out, at, up = [content[:2]], 2, None
    while at < len(content) and content[at + 1] != _END:
        if content[at : at + 2] == b"\xff\xff":  # filling
            at += 1
            continue
        marker = content[at + 1]
        if content[at] != 0xFF or marker < 0xC0:
            raise ValueError("no marker")
        end = at + 2 + struct.unpack_from(">H", content, at + 2)[0]
        if marker == _SCAN:
            found = _MARKER.search(content, end)
            end = found.start() if found else len(content)
        part = content[at:end]
        if end > len(content) or len(part) < 4:
            raise ValueError("cut off")
        if marker == 0xE1 and part[4:10] == b"Exif\x00\x00":
            up = _orientation(part[10:])
        if marker not in _NOTES or part[4:16] == b"ICC_PROFILE\x00":
            out.append(part)
        at = end
    if up is not None and up != 1:
        out.insert(1, _only_up(up))
    return b"".join(out) + b"\xff\xd9"


def _only_up(up: int) -> bytes:
    tiff = b"MM\x00\x2a\x00\x00\x00\x08" + struct.pack(">HHHIHHI", 1, _ORIENTATION, 3, 1, up, 0, 0)
    body = b"Exif\x00\x00" + tiff
    return b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body


def _entries(tiff: bytes, at: int, order: str) -> list[tuple[int, int, int, int]]:
    """Entries of one directory: tag, type, count, where the entry stands."""
    (count,) = struct.unpack_from(order + "H", tiff, at)
    found = []
    for number in range(count):
        where = at + 2 + 12 * number
        tag, kind, many = struct.unpack_from(order + "HHI", tiff, where)
        found.append((tag, kind, many, where))
    return found


def _first(tiff: bytes) -> tuple[str, int]:
    order = "<" if tiff[:2] == b"II" else ">"
    (first,) = struct.unpack_from(order + "I", tiff, 4)
    return order, first


def _orientation(tiff: bytes) -> int | None:
    try:
        order, first = _first(tiff)
        for tag, _, _, where in _entries(tiff, first, order):
            if tag == _ORIENTATION:
                (value,) = struct.unpack_from(order + "H", tiff, where + 8)
                return int(value) if 1 <= value <= 8 else None
    except (struct.error, IndexError):
        pass
    return None


def _png(content: bytes) -> bytes:
    """Keep the chunks that the picture needs, up to the end or to where the file is cut off."""
    out, at = [_PNG], len(_PNG)
    while at + 12 <= len(content):
        (size,) = struct.unpack_from(">I", content, at)
        kind, end = content[at + 4 : at + 8], at + 12 + size
        if kind in _PNG_KEPT and end <= len(content):
            out.append(content[at:end])
        if kind == b"IEND":
            break
        at = end
    return b"".join(out)


def _webp(content: bytes) -> bytes:
    parts, at = [], 12
    while at + 8 <= len(content):
        kind, (size,) = content[at : at + 4], struct.unpack_from("<I", content, at + 4)
        end = at + 8 + size + (size & 1)
        if at + 8 + size > len(content):
            raise ValueError("cut off")
        part = bytearray(content[at:end])
        if kind == b"VP8X":
            part[8] &= ~sum(_WEBP_NOTES.values()) & 0xFF
        if kind not in _WEBP_NOTES:
            parts.append(bytes(part))
        at = end
    body = b"WEBP" + b"".join(parts)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def _blanked(content: bytes) -> bytes:
    """Blank XMP and every directory of places where it stands: no address inside the file shifts."""
    made = bytearray(content)
    for found in _XMP.finditer(content):
        made[found.start() : found.end()] = b" " * (found.end() - found.start())
    for found in _TIFF.finditer(content):
        _blank_places(made, found.start())
    return bytes(made)


def _blank_places(made: bytearray, start: int) -> None:
    """Blank the directory of places of notes that begin at `start`; bytes that only look like notes stay."""
    tiff = bytes(made[start : start + (1 << 20)])
    try:
        order, first = _first(tiff)
        rows = _entries(tiff, first, order)
    except (struct.error, IndexError):
        return
    if not rows or any(kind not in _SIZES for _, kind, _, _ in rows):
        return
    for tag, _, _, where in rows:
        if tag != _PLACE:
            continue
        (at,) = struct.unpack_from(order + "I", tiff, where + 8)
        for _, kind, many, entry in _entries(tiff, at, order):
            size = _SIZES.get(kind, 1) * many
            if size > 4:
                (value,) = struct.unpack_from(order + "I", tiff, entry + 8)
                value, size = min(value, len(tiff)), min(size, max(len(tiff) - value, 0))
                made[start + value : start + value + size] = bytes(size)
            made[start + entry + 8 : start + entry + 12] = bytes(4)
