"""A parcel looked into, and taken into a new folder; it may come from anybody.

Gives: Contents, ParcelRefused, looked_into(), taken_from().
Takes: the path of a parcel, and of a folder that is not there yet.
Limits: a parcel is refused as a whole for one name that leaves its folder, one link, one file that its list does not
name, a size, a number or a ratio beyond bounds, a wrong digest. Nothing is overwritten; what was begun and refused is
gone again. The files are data: nothing of them is run.
"""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import stat
import tempfile
import zipfile
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bankwright.job.parcel.belonging import Piece
from bankwright.job.parcel.pack import CHUNK, FORMAT, LIST

__all__ = ["Contents", "ParcelRefused", "looked_into", "taken_from"]

MOST_FILES = 5_000
MOST_BYTES = 8 << 30  # unpacked, all files
MOST_LIST = 4 << 20
MOST_RATIO = 400  # unpacked over packed, of a file over 1 MB; text and sealed telemetry stay far below
_SUFFIXES = {".toml", ".logbook", ".jpg", ".jpeg", ".png", ".webp", ".heic"}
_PART = re.compile(r"[^\x00-\x1f\x7f<>:\"|?*\\/]{1,120}")
_DEVICES = re.compile(r"(?:con|prn|aux|nul|com\d|lpt\d)(?:\..*)?", re.IGNORECASE)


class ParcelRefused(Exception):
    """A parcel that is not taken; the message says what stands against it."""


@dataclass(frozen=True, slots=True)
class Contents:
    """What a parcel says it holds: the bank file's name, its files, what was left out when it was made."""

    bank: str
    pieces: tuple[Piece, ...]
    digests: tuple[str, ...]
    left_out: tuple[str, ...]

    @property
    def size(self) -> int:
        """Bytes of all, unpacked."""
        return sum(piece.size for piece in self.pieces)


def looked_into(parcel: Path) -> Contents:
    """Look into a parcel without taking anything out; ParcelRefused with the reason."""
    with _opened(parcel) as archive:
        return _contents(archive)


def taken_from(parcel: Path, folder: Path) -> Path:
    """Take a parcel into a new folder: the bank file there. ParcelRefused: nothing of it is left."""
    if folder.exists():
        raise ParcelRefused(f"{folder} exists; nothing was written. Name a folder that is not there yet")
    if not folder.absolute().parent.is_dir():
        raise ParcelRefused(f"there is no folder {folder.absolute().parent}")
    try:
        aside = Path(tempfile.mkdtemp(dir=folder.absolute().parent, prefix=".parcel-"))
    except OSError as error:
        raise ParcelRefused(f"{folder} cannot be made: {error.strerror}") from error
    try:
        with _opened(parcel) as archive:
            contents = _contents(archive)
            for piece, digest in zip(contents.pieces, contents.digests, strict=True):
                _taken(archive, piece, digest, aside)
        aside.chmod(0o755)
        aside.rename(folder)
    except OSError as error:
        raise ParcelRefused(f"it cannot be written: {error.strerror or error}; nothing is left of it") from error
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    return folder / contents.bank


def _opened(parcel: Path) -> zipfile.ZipFile:
    try:
        return zipfile.ZipFile(parcel)
    except OSError as error:
        raise ParcelRefused(f"{parcel} cannot be read: {error.strerror or error}") from error
    except (zipfile.BadZipFile, ValueError, NotImplementedError) as error:
        raise ParcelRefused(f"{parcel.name} is no parcel, or it is damaged ({error})") from error


def _contents(archive: zipfile.ZipFile) -> Contents:
    infos = archive.infolist()
    if len(infos) > MOST_FILES:
        raise ParcelRefused(f"it holds {len(infos)} files; a bank has at most {MOST_FILES}")
    _names_stay(info.filename for info in infos)
    for info in infos:
        _plain(info)
    told = _list(archive)
    pieces, digests = _told(told)
    there, named = {i.filename: i.file_size for i in infos if i.filename != LIST}, {p.name: p.size for p in pieces}
    if there != named:
        odd = sorted(there.keys() ^ named.keys()) or sorted(n for n in there if there[n] != named[n])
        raise ParcelRefused(f"its list and what it holds differ: {odd[0]!r}")
    bank = told.get("bank")
    if not isinstance(bank, str) or "/" in bank or not bank.endswith(".toml") or bank not in named:
        raise ParcelRefused("it names no bank file that it holds")
    left = told.get("left_out", [])
    left_out = tuple(str(each)[:300] for each in left[:100]) if isinstance(left, list) else ()
    return Contents(bank, pieces, digests, left_out)


def _names_stay(names: Iterable[str]) -> None:
    """No name leaves the folder, means something else elsewhere, or is there twice."""
    seen: set[str] = set()
    for name in names:
        parts = name.split("/")
        fine = all(_PART.fullmatch(part) and part == part.strip() and not part.endswith(".") for part in parts)
        fine = fine and not any(_DEVICES.fullmatch(part) or part.startswith(".") for part in parts)
        if not fine or len(parts) > 4 or len(name) > 240:
            raise ParcelRefused(f"a name in it leaves its folder or is none that may stand there: {name[:80]!r}")
        if name.casefold() in seen:
            raise ParcelRefused(f"a name is in it twice: {name[:80]!r}")
        seen.add(name.casefold())
    folders = {"/".join(name.split("/")[:n]) for name in seen for n in range(1, name.count("/") + 1)}
    if folders & seen:
        raise ParcelRefused("a name in it is a file and a folder")


def _plain(info: zipfile.ZipInfo) -> None:
    """An ordinary file, not locked, of a known kind, not blown up."""
    kind = stat.S_IFMT(info.external_attr >> 16)
    if info.is_dir() or kind not in (0, stat.S_IFREG):
        raise ParcelRefused(f"it holds a link or a folder of its own: {info.filename[:80]!r}")
    if info.flag_bits & 0x1:
        raise ParcelRefused("it is locked with a password")
    if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise ParcelRefused(f"it is packed in a way that is not known here: {info.filename[:80]!r}")
    if info.filename != LIST and Path(info.filename).suffix.lower() not in _SUFFIXES:
        raise ParcelRefused(f"it holds a file that no bank has: {info.filename[:80]!r}")
    if info.file_size > (1 << 20) and info.file_size > MOST_RATIO * max(info.compress_size, 1):
        raise ParcelRefused(f"a file in it would swell beyond measure: {info.filename[:80]!r}")


def _list(archive: zipfile.ZipFile) -> dict[str, Any]:
    try:
        with archive.open(LIST) as file:
            content = file.read(MOST_LIST + 1)
        told = json.loads(content) if len(content) <= MOST_LIST else None
    except (KeyError, ValueError, RecursionError, OSError, zipfile.BadZipFile, zlib.error, EOFError) as error:
        raise ParcelRefused(f"it has no list of its files that can be read ({LIST})") from error
    if not isinstance(told, dict) or told.get("format") != FORMAT:
        raise ParcelRefused(f"its list is not of the form {FORMAT}")
    return told


def _told(told: dict[str, Any]) -> tuple[tuple[Piece, ...], tuple[str, ...]]:
    rows = told.get("files")
    pieces, digests = [], []
    for row in rows if isinstance(rows, list) else ():
        match row:
            case {"name": str(name), "what": str(what), "size": int(size), "sha256": str(digest)} if size >= 0:
                pieces.append(Piece(name, what[:40], size))
                digests.append(digest)
            case _:
                raise ParcelRefused("its list has a row that is none")
    if sum(piece.size for piece in pieces) > MOST_BYTES:
        raise ParcelRefused(f"it would take more than {MOST_BYTES >> 30} GB")
    return tuple(pieces), tuple(digests)


def _taken(archive: zipfile.ZipFile, piece: Piece, digest: str, folder: Path) -> None:
    """One file written where nothing stands, counted and digested as it comes."""
    target = folder / piece.name
    if not target.resolve().is_relative_to(folder.resolve()):
        raise ParcelRefused(f"a name in it leaves its folder: {piece.name[:80]!r}")
    target.parent.mkdir(parents=True, exist_ok=True)
    got, size = hashlib.sha256(), 0
    try:
        with archive.open(piece.name) as source, target.open("xb") as out:
            while chunk := source.read(CHUNK):
                size += len(chunk)
                if size > piece.size:
                    raise ParcelRefused(f"{piece.name[:80]!r} is larger than its list says")
                got.update(chunk)
                out.write(chunk)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
        raise ParcelRefused(f"{piece.name[:80]!r} is damaged ({error})") from error
    if size != piece.size or got.hexdigest() != digest:
        raise ParcelRefused(f"{piece.name[:80]!r} is not what its list says; it was changed or is damaged")
