"""Looking for damage, naming it, and saving what can be read into a new file. The old file is never touched.

Gives: check() -> Report, salvage() -> Salvaged. Every entry stands twice in the file; each copy is read row by row,
so that a damaged page costs only the copy that lay on it. What the engine cannot reach is looked for in the bytes
of the file, of its log and of logs kept aside: lines carry a mark and prove themselves by their digest.
Limits: a commit that was cut off without a trace cannot be named.
Photos are compared with their digests where asked.
"""

from __future__ import annotations

import hashlib
import json
import mmap
import os
import re
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from bankwright.logbook.clocks import SystemClock
from bankwright.logbook.connect import connected, kept_aside, raw_copy, readable, sync_directory
from bankwright.logbook.entries import MARK, Entry, entry_of_line, line, new_id
from bankwright.logbook.errors import ENGINE_SAYS, LogbookDamaged, LogbookError, LogbookReadOnly, NotALogbook
from bankwright.logbook.read import entry_of_row
from bankwright.logbook.schema import COLUMNS
from bankwright.logbook.telemetry.of_file import health_of, holds_telemetry, rescued
from bankwright.logbook.telemetry.salvage.rescue import Rescued
from bankwright.logbook.wal import tail_of, wal_path
from bankwright.logbook.write import append, insert_as_it_was

_LINE = 1 << 16  # bytes, the largest page: what continues on another page does not stand together

__all__ = ["Damage", "Report", "Salvaged", "check", "salvage"]


@dataclass(frozen=True, slots=True)
class Damage:
    """One thing that is wrong: short stable code, words, and the entries it touches."""

    code: str
    words: str
    entries: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Report:
    """What a check found."""

    path: Path
    entries: int  # that can be read whole, from one copy or the other
    damage: tuple[Damage, ...]
    rows: int = 0  # of telemetry that can be read whole

    @property
    def is_whole(self) -> bool:
        """True when nothing is wrong."""
        return not self.damage


@dataclass(frozen=True, slots=True)
class Salvaged:
    """What was saved into a new file."""

    path: Path
    entries: int
    lost: tuple[int, ...]  # numbers that were stored and are found nowhere
    count_known: bool  # False: how many entries the old file held cannot be read, so more may be lost
    telemetry: Rescued


@dataclass
class _Found:
    """Everything that could be read of a file, by the number of the entry."""

    columns: dict[int, Entry] = field(default_factory=dict)
    lines: dict[int, Entry] = field(default_factory=dict)
    bytes: dict[str, Entry] = field(default_factory=dict)  # by id: a number cut off once may have been given again
    broken_lines: list[int] = field(default_factory=list)
    engine: list[str] = field(default_factory=list)
    highest: int = 0

    def best(self) -> dict[int, Entry]:
        """One entry a number: a line that proved itself before columns, which cannot; then lines found in the bytes."""
        best = {**self.columns, **self.lines}
        ids = {entry.id for entry in best.values()}
        taken = {entry.corrects for entry in best.values() if entry.corrects}
        loose = [entry for entry in self.bytes.values() if entry.id not in ids]
        behind = max([self.highest, *best, *(entry.seq for entry in loose)], default=0)
        for entry in sorted(loose, key=lambda item: item.seq):
            number = entry.seq
            if number in best:
                number = behind = behind + 1
            best[number] = replace(entry, seq=number, corrects=None if entry.corrects in taken else entry.corrects)
        return best


def check(path: Path, photos: bool = True) -> Report:
    """Look a file through; raises only when it is no logbook, or a newer one."""
    found = _everything(path)
    best = found.best()
    damage = [
        *_of_engine(found),
        *_of_copies(found),
        *_of_numbers(found, best),
        *_of_log(path, found),
        *_of_corrections(best),
    ]
    if photos:
        damage += _of_photos(path, best)
    telemetry = health_of(path)
    damage += [Damage(wrong.code, wrong.words) for wrong in telemetry.wrong]
    return Report(path, len(best), tuple(damage), telemetry.rows)


def _of_engine(found: _Found) -> Iterator[Damage]:
    for words in found.engine:
        yield Damage("page-damaged", words)


def _of_copies(found: _Found) -> Iterator[Damage]:
    both = found.columns.keys() & found.lines.keys()
    differing = tuple(sorted(n for n in both if line(found.columns[n]) != line(found.lines[n])))
    if differing:
        yield Damage("copies-differ", "columns do not say what the entry's own line says; the line is right", differing)
    if found.broken_lines:
        broken = tuple(sorted(set(found.broken_lines)))
        yield Damage("line-broken", "the line does not agree with its digest; the columns are read", broken)
    only_lines = tuple(sorted(found.lines.keys() - found.columns.keys()))
    if only_lines:
        yield Damage("columns-lost", "the columns cannot be read; the line is whole", only_lines)
    only_columns = tuple(sorted(found.columns.keys() - found.lines.keys() - set(found.broken_lines)))
    if only_columns:
        yield Damage("line-lost", "the line cannot be read; the columns are", only_columns)


def _of_numbers(found: _Found, best: dict[int, Entry]) -> Iterator[Damage]:
    missing = tuple(number for number in _missing(found, best) if number not in _told_before(best))
    if missing:
        yield Damage("entries-missing", "entries that were stored cannot be found", missing)
    if found.engine and not found.highest:
        words = "how many entries the file held cannot be read; some behind the last one found may be lost"
        yield Damage("count-unknown", words)


def _told_before(best: dict[int, Entry]) -> set[int]:
    """Numbers that an earlier salvage named as lost."""
    events = (entry.body for entry in best.values() if entry.kind == "event" and entry.body.get("code") == "salvaged")
    return {int(number) for body in events for number in body["lost"]}


def _missing(found: _Found, best: dict[int, Entry]) -> tuple[int, ...]:
    return tuple(n for n in range(1, max([found.highest, *best]) + 1) if n not in best) if best or found.highest else ()


def _of_corrections(best: dict[int, Entry]) -> Iterator[Damage]:
    ids = {entry.id for entry in best.values()}
    hanging = tuple(n for n, entry in best.items() if entry.corrects and entry.corrects not in ids)
    if hanging:
        yield Damage("correction-of-nothing", "these correct an entry that cannot be found", hanging)


def _of_log(path: Path, found: _Found) -> Iterator[Damage]:
    """The end of the write-ahead log, as it stands while nobody writes."""
    tail = tail_of(path)
    if tail.header_damaged:
        yield Damage("log-end-cut", "the head of the log cannot be read")
    elif tail.commits:
        words = f"{tail.commits} commits in {tail.frames} frames stand behind damage at the end of the log"
        yield Damage("log-end-cut", words)
    ids = {entry.id for entry in (*found.lines.values(), *found.columns.values())}
    for kept in kept_aside(path):
        if any(entry.id not in ids for entry in _lines_in(kept.read_bytes())):
            yield Damage("log-kept-aside", f"{kept.name} holds entries that were cut off; --salvage brings them back")


def _of_photos(path: Path, best: dict[int, Entry]) -> Iterator[Damage]:
    for number, entry in sorted(best.items()):
        if entry.kind != "photo":
            continue
        photo = path.parent / str(entry.body["path"])
        try:
            with photo.open("rb") as file:
                digest = hashlib.file_digest(file, "sha256").hexdigest()
        except OSError:
            yield Damage("photo-missing", f"{entry.body['path']} cannot be read", (number,))
            continue
        if digest != entry.body["sha256"]:
            yield Damage("photo-changed", f"{entry.body['path']} is not the file that was entered", (number,))


def _everything(path: Path, kept: bool = False) -> _Found:
    """Read by the engine; what it cannot reach by the bytes, in a copy."""
    found, foreign = _Found(), None
    try:
        connection = readable(path)
    except LogbookDamaged as error:
        found.engine.append(error.faults[0].found)
    except NotALogbook as error:
        found.engine.append(error.faults[0].found)
        foreign = error
    else:
        with closing(connection):
            _ask_engine(connection, found)
    if found.engine or kept:
        with tempfile.TemporaryDirectory() as place:
            copy = Path(place) / path.name
            raw_copy(path, copy)
            _ask_bytes(path, copy, found)
            if foreign and not found.bytes and not holds_telemetry(copy):
                raise foreign
            _ask_lengthened(copy, found)
    return found


def _ask_bytes(path: Path, copy: Path, found: _Found) -> None:
    for file in (copy, wal_path(copy), *kept_aside(path)):
        with suppress(OSError):
            for entry in _lines_of(file):
                found.bytes.setdefault(entry.id, entry)


def _ask_lengthened(copy: Path, found: _Found) -> None:
    """The engine reads nothing of a file that is too short: let it read the copy, with empty pages at the end."""
    with copy.open("rb") as file:
        head = file.read(32)
    short = int.from_bytes(head[16:18]) * int.from_bytes(head[28:32]) - copy.stat().st_size
    if not found.engine or found.lines or not 0 < short < 1 << 32:
        return
    found.engine.append(f"{short} bytes are missing at the end of the file")
    os.truncate(copy, copy.stat().st_size + short)
    with suppress(LogbookError), closing(readable(copy)) as connection:
        _ask_engine(connection, found)


def _ask_engine(connection: sqlite3.Connection, found: _Found) -> None:
    try:
        told = [row[0] for row in connection.execute("PRAGMA integrity_check(20)")]
        found.engine += [words for words in told if words != "ok"]
    except ENGINE_SAYS as error:
        found.engine.append(str(error))
    with suppress(*ENGINE_SAYS):
        row = connection.execute("SELECT seq FROM sqlite_sequence WHERE name = 'entry'").fetchone()
        found.highest = row[0] if row else 0
    for row in _rows(connection, "entry", ", ".join(COLUMNS), found):
        with suppress(ValueError, TypeError, KeyError):
            entry = entry_of_row(tuple(_shown(value) for value in row))
            if entry.seq and entry.id and entry.kind:  # not a row made of a page of zeros
                found.columns[entry.seq] = entry
    for seq, text in _rows(connection, "line", "seq, text", found):
        try:
            found.lines[seq] = entry_of_line(text)
        except (ValueError, TypeError):
            found.broken_lines.append(seq)


def _shown(value: Any) -> Any:
    """A text whose damaged bytes are marked, so that it can be written again."""
    if isinstance(value, str) and not value.isascii():
        return value.encode("utf-8", "surrogateescape").decode("utf-8", "replace")
    return value


def _rows(connection: sqlite3.Connection, table: str, columns: str, found: _Found) -> Iterator[tuple[Any, ...]]:
    """Every row that can be read: in one go, and where a page stops that, number by number."""
    seen = 0
    try:
        for row in connection.execute(f"SELECT {columns} FROM {table} ORDER BY seq"):
            seen = row[0]
            yield row
        return
    except ENGINE_SAYS as error:
        found.engine.append(f"table {table} behind row {seen}: {error}")
    highest = max(found.highest, seen)
    for number in range(seen + 1, highest + 1):
        with suppress(*ENGINE_SAYS):
            row = connection.execute(f"SELECT {columns} FROM {table} WHERE seq = ?", (number,)).fetchone()
            if row is not None:
                yield row


def _lines_of(file: Path) -> Iterator[Entry]:
    """Lines that stand whole in a file of any size."""
    if file.stat().st_size:
        with file.open("rb") as handle, mmap.mmap(handle.fileno(), 0, access=mmap.ACCESS_READ) as data:
            yield from _lines_in(data)


def _lines_in(data: bytes | mmap.mmap) -> Iterator[Entry]:
    """Lines that stand whole in bytes, wherever; none is longer than a page of the engine."""
    decoder = json.JSONDecoder()
    for match in re.finditer(re.escape(MARK.encode()), data):
        text = data[match.start() : match.start() + _LINE].decode("latin-1")
        with suppress(ValueError, TypeError):
            _, end = decoder.raw_decode(text)
            yield entry_of_line(text[:end])


def salvage(path: Path, target: Path) -> Salvaged:
    """Write everything that can be read into a new logbook, under the same numbers and ids."""
    if target.exists():
        raise LogbookReadOnly(target, "it exists already", "Name a file that does not exist; nothing was written")
    found = _everything(path, kept=True)
    best = found.best()
    unfinished = target.with_name(target.name + ".part")
    with suppress(FileNotFoundError):
        unfinished.unlink()
    lost, count_known = _missing(found, best), not found.engine or found.highest > 0
    told = {"code": "salvaged", "from": path.name, "lost": list(lost), "count_known": count_known}
    with closing(connected(unfinished)) as connection:
        insert_as_it_was(connection, [best[number] for number in sorted(best)], max([found.highest, *best], default=0))
        telemetry = rescued(path, unfinished.parent, connection)
        append(connection, [*_doubly_corrected(found, best), _event(told)], SystemClock().now())
    os.replace(unfinished, target)
    sync_directory(target.parent)
    return Salvaged(target, len(best), lost, count_known, telemetry)


def _event(body: dict[str, Any]) -> Entry:
    return Entry("event", new_id(), who="logbook", body=MappingProxyType(body))


def _doubly_corrected(found: _Found, best: dict[int, Entry]) -> list[Entry]:
    """Strike out what was cut off once, and meanwhile entered again as another correction of the same entry."""
    whole = {entry.id: entry for entry in found.bytes.values()}
    changed = [entry for entry in best.values() if entry.id in whole and entry.corrects != whole[entry.id].corrects]
    words = "was cut off; another correction of the same entry was made meanwhile"
    return [Entry("note", new_id(), entry.at, entry.step, "logbook", words, entry.id) for entry in changed]
