"""Taking the logbook out: CSV, JSON, and a whole copy.

Gives: write_csv(), as_json(), backup(). CSV has one row an entry, in the order of storing; what only one kind has
stands in the column `body` as JSON. The copy is made by the engine while others may write, never by copying files.
Limits: nothing is left out: corrected entries are there, with the number that corrected them.
"""

from __future__ import annotations

import csv
import json
import os
import sqlite3
from collections.abc import Iterable
from contextlib import closing, suppress
from pathlib import Path
from typing import Any, TextIO

from bankwright.forms.csv_text import csv_cell
from bankwright.forms.quantities import quantity
from bankwright.logbook.connect import readable, sync_directory
from bankwright.logbook.entries import Entry
from bankwright.logbook.errors import LogbookDamaged, LogbookDiskFull, LogbookReadOnly, translated

__all__ = ["CSV_COLUMNS", "as_json", "backup", "corrected_by", "write_csv"]

CSV_COLUMNS = (
    "number", "id", "kind", "at", "step", "time", "stored", "clock_known", "quantity", "value", "unit", "low", "high",
    "as_typed", "instrument", "who", "origin", "note", "corrects", "corrected_by", "body",
)  # fmt: skip
_WORDS = ("id", "step", "instrument", "who", "origin", "note")  # free text; what was typed as a reading is a quantity


def corrected_by(entries: Iterable[Entry]) -> dict[str, int]:
    """By the id of an entry, the number of the one that corrects it."""
    return {entry.corrects: entry.seq for entry in entries if entry.corrects}


def _row(entry: Entry, newer: dict[str, int], numbers: dict[str, int]) -> dict[str, Any]:
    unit = quantity(entry.quantity).unit if entry.quantity else None
    stored = entry.stored
    return {
        "number": entry.seq, "id": entry.id, "kind": entry.kind, "at": entry.at, "step": entry.step,
        "time": entry.moment.wall, "stored": stored.wall if stored else None,
        "clock_known": stored.clock_known if stored else None,
        "quantity": entry.quantity, "value": entry.value, "unit": unit, "low": entry.low, "high": entry.high,
        "as_typed": entry.as_typed or None, "instrument": entry.instrument, "who": entry.who or None,
        "origin": entry.origin or None, "note": entry.note or None,
        "corrects": numbers.get(entry.corrects) if entry.corrects else None,
        "corrected_by": newer.get(entry.id), "body": dict(entry.body) or None,
    }  # fmt: skip


def _rows(entries: Iterable[Entry], kind: str | None) -> list[dict[str, Any]]:
    found = list(entries)
    newer, numbers = corrected_by(found), {entry.id: entry.seq for entry in found}
    return [_row(entry, newer, numbers) for entry in found if kind in (None, entry.kind)]


def write_csv(entries: Iterable[Entry], out: TextIO, kind: str | None = None) -> int:
    """Write entries (all, or those of one kind) as CSV; returns how many."""
    rows = _rows(entries, kind)
    writer = csv.DictWriter(out, CSV_COLUMNS, lineterminator="\n")
    writer.writeheader()
    for row in rows:
        body = row["body"]
        words = {name: csv_cell(row[name]) for name in _WORDS}
        writer.writerow({**row, **words, "body": "" if body is None else json.dumps(body, ensure_ascii=False)})
    return len(rows)


def as_json(entries: Iterable[Entry], kind: str | None = None) -> dict[str, Any]:
    """Make the JSON document of entries (all, or those of one kind)."""
    return {"format": "bankwright.logbook/1", "entries": _rows(entries, kind)}


def backup(path: Path, target: Path) -> int:
    """Copy the whole logbook into a new file by the engine's own call; returns the number of entries in the copy."""
    if not path.exists():
        raise LogbookReadOnly(path, "there is no logbook", "Nothing was written")
    if target.exists():
        raise LogbookReadOnly(target, "it exists already", "Name a file that does not exist; nothing was written")
    if not target.parent.is_dir():
        raise LogbookReadOnly(target, "its directory does not exist", "Nothing was written")
    unfinished = target.with_name(target.name + ".part")
    try:
        count = _copied(path, unfinished)
        os.replace(unfinished, target)
        sync_directory(target.parent)
    except OSError as error:
        raise LogbookDiskFull(target, f"the disk refused ({error.strerror})", "No copy was made") from error
    finally:
        with suppress(OSError):
            unfinished.unlink()
    return count


def _copied(path: Path, unfinished: Path) -> int:
    with suppress(FileNotFoundError):
        unfinished.unlink()
    with (
        closing(readable(path)) as source,
        translated(unfinished),
        closing(sqlite3.connect(unfinished, isolation_level=None)) as copy,
    ):
        source.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")  # one file, nothing beside it
        told = copy.execute("PRAGMA integrity_check(1)").fetchone()[0]
        count = copy.execute("SELECT count(*) FROM entry").fetchone()[0]
    if told != "ok":
        raise LogbookDamaged(path, f"the copy does not hold together ({told})", "Run `bankwright log check`")
    with unfinished.open("rb") as file:
        os.fsync(file.fileno())
    return int(count)
