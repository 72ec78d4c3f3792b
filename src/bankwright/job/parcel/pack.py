"""A bank and all that belongs to it made into one file.

Gives: FORMAT, LIST, packed().
Takes: a bank file and where the parcel goes.
Limits: the logbook goes as a whole copy made by its own engine, so that a listener may go on writing meanwhile; the
parcel appears whole or not at all; a file of that name is never overwritten.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
import zipfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from bankwright.forms.faults import Fault, QuestionError
from bankwright.job.parcel.belonging import Belonging, belonging
from bankwright.logbook.export import backup

__all__ = ["FORMAT", "LIST", "packed"]

FORMAT = "bankwright.parcel/1"
LIST = "parcel.json"
CHUNK = 1 << 20
_PRESSED = {".jpg", ".jpeg", ".png", ".webp", ".heic"}  # pressed already


def packed(bank_file: Path, target: Path, told: Callable[[int], None] = lambda _done: None) -> Belonging:
    """Write the parcel; `told` hears the bytes done. QuestionError where it exists or cannot be written."""
    if target.exists():
        raise QuestionError((Fault("PARCEL", "exists", f"{target} exists; nothing was written", "Name another file"),))
    unfinished = target.with_name(target.name + ".part")
    try:
        found = belonging(bank_file)
        with tempfile.TemporaryDirectory(dir=target.absolute().parent, prefix=".parcel-") as aside:
            _written(bank_file, found, unfinished, Path(aside), told)
        os.replace(unfinished, target)
    except OSError as error:
        found_words = f"{target} cannot be written: {error.strerror or error}"
        raise QuestionError((Fault("PARCEL", "not-written", found_words),)) from error
    finally:
        with suppress(OSError):
            unfinished.unlink()
    return found


def _written(bank_file: Path, found: Belonging, unfinished: Path, aside: Path, told: Callable[[int], None]) -> None:
    rows, done = [], 0
    with zipfile.ZipFile(unfinished, "w", zipfile.ZIP_DEFLATED, allowZip64=True) as parcel:
        for piece in found.pieces:
            source = bank_file.absolute().parent / piece.name
            if piece.what == "logbook":
                source = aside / "logbook"
                backup(bank_file.absolute().parent / piece.name, source)
            size, digest = _added(parcel, source, piece.name)
            rows.append({"name": piece.name, "what": piece.what, "size": size, "sha256": digest})
            done += size
            told(done)
        told_list = {"format": FORMAT, "bank": bank_file.name, "files": rows, "left_out": list(found.left_out)}
        parcel.writestr(LIST, json.dumps(told_list, indent=1, ensure_ascii=False))


def _added(parcel: zipfile.ZipFile, source: Path, name: str) -> tuple[int, str]:
    """One file into the parcel: its size and digest as they went in."""
    digest, size = hashlib.sha256(), 0
    about = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
    about.compress_type = zipfile.ZIP_STORED if source.suffix.lower() in _PRESSED else zipfile.ZIP_DEFLATED
    with source.open("rb") as file, parcel.open(about, "w", force_zip64=True) as out:
        while chunk := file.read(CHUNK):
            digest.update(chunk)
            size += len(chunk)
            out.write(chunk)
    return size, digest.hexdigest()
