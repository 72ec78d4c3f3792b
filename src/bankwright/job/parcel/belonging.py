"""What belongs to a bank: its file, included files, the map of its bus with its DBC, shopping file, photos, logbook.

Gives: Piece, Belonging, belonging().
Takes: the path of a bank file.
Limits: photos are those that its logbook refers to; a bank file that cannot be read still has its other files. Files
outside its folder are named and left out: a parcel holds no way out of its folder; so are files with passwords or keys.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bankwright.forms.faults import QuestionError
from bankwright.logbook.connect import logbook_path
from bankwright.logbook.logbook import open_logbook

__all__ = ["Belonging", "Piece", "belonging"]


@dataclass(frozen=True, slots=True)
class Piece:
    """One file: its name in the parcel, what it is, its size in bytes."""

    name: str
    what: str
    size: int


@dataclass(frozen=True, slots=True)
class Belonging:
    """Files of a bank, the bank file first, and what was left out with the reason."""

    pieces: tuple[Piece, ...]
    left_out: tuple[str, ...]

    @property
    def size(self) -> int:
        """Bytes of all."""
        return sum(piece.size for piece in self.pieces)


def belonging(bank_file: Path) -> Belonging:
    """Look for everything that belongs to a bank; OSError when the bank file itself cannot be read."""
    folder = bank_file.absolute().parent
    pieces, left = [Piece(bank_file.name, "bank file", bank_file.stat().st_size)], list[str]()
    for name, what in (*_named(bank_file, left), *_beside(bank_file), *_photos(bank_file, left)):
        path = folder / name
        if not _within(path, folder):
            left.append(f"{name}: it stands outside the folder of the bank file")
        elif not path.is_file():
            left.append(f"{name}: it is not there")
        elif all(piece.name != name for piece in pieces):
            pieces.append(Piece(name, what, path.stat().st_size))
    return Belonging(tuple(pieces), tuple(left))


def _within(path: Path, folder: Path) -> bool:
    return path.resolve().is_relative_to(folder.resolve()) and not path.is_symlink()


def _table(path: Path) -> Mapping[str, Any]:
    """A file as its tables; empty where it cannot be read."""
    try:
        return tomllib.loads(path.read_text("utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, OSError, ValueError):
        return {}


def _named(bank_file: Path, left: list[str]) -> Iterator[tuple[str, str]]:
    """Files that the bank file names: included kinds, the map of its data bus and what that map names."""
    data = _table(bank_file)
    included = data.get("include", ())
    for name in included if isinstance(included, list) else ():
        yield str(name), "included kinds"
    bus = data.get("bus", {})
    if isinstance(bus, dict) and isinstance(bus.get("map"), str):
        yield bus["map"], "map" if bus.get("wire") in ("can", "mqtt") else "register map"
        named = Path(bus["map"])
        inside = _within(bank_file.absolute().parent / named, bank_file.absolute().parent)
        dbc = _table(bank_file.absolute().parent / named).get("dbc") if inside else None
        if isinstance(dbc, str):
            yield (named.parent / dbc).as_posix(), "DBC file"
    broker = bus.get("mqtt", {}) if isinstance(bus, dict) else {}
    for key in ("password_file", "key"):
        if isinstance(broker, dict) and isinstance(broker.get(key), str):
            left.append(f"{broker[key]}: it holds a password or a key, and goes nowhere")


def _beside(bank_file: Path) -> Iterator[tuple[str, str]]:
    """Files that stand beside it under its name, where there are any."""
    shopping, book = bank_file.with_name(f"{bank_file.stem}.shopping.toml"), logbook_path(bank_file)
    for path, what in ((shopping, "shopping file"), (book, "logbook")):
        if path.exists():
            yield path.name, what


def _photos(bank_file: Path, left: list[str]) -> Iterator[tuple[str, str]]:
    if not logbook_path(bank_file).exists():
        return
    try:
        with open_logbook(bank_file, write=False) as book:
            names = [str(entry.body.get("path", "")) for entry in book.entries(kind="photo")]
    except (QuestionError, OSError) as error:
        left.append(f"photos: the logbook cannot be read ({error})")
        return
    for name in dict.fromkeys(names):
        if name:
            yield name, "photo"
