"""Looking telemetry through: what is damaged, and which readings it touches.

Gives: Wrong, Health, health(). Every row and every block carries a checksum; rows are numbered without gaps and the
sealed ones counted, so that one that vanished is missed; the sums of a block stand on other pages than the block, so
that a block that vanished is missed by name.
Limits: nothing is repaired here (salvage/). What was cut off the end of the log without a trace cannot be named.
"""

from __future__ import annotations

import json
import sqlite3
import zlib
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

from bankwright.logbook.errors import ENGINE_SAYS
from bankwright.logbook.telemetry.block import one_signal, sealed_crc, times_of
from bankwright.logbook.telemetry.boots import Boot, all_boots
from bankwright.logbook.telemetry.careful import careful_rows, is_row
from bankwright.logbook.telemetry.frames import Frame, frame_of_text
from bankwright.logbook.telemetry.happenings import happening_crc, state_crc
from bankwright.logbook.telemetry.packing import is_whole, key_crc, owner_crc
from bankwright.logbook.telemetry.sums import sums_crc

__all__ = ["LOST", "Health", "Wrong", "health"]

Row = tuple[Any, ...]
LOST = "telemetry-lost"  # code of the event in which a salvage names what it did not find
_NAMED = 6  # blocks of one kind of damage that are named one by one


@dataclass(frozen=True, slots=True)
class Wrong:
    """One thing that is wrong: short stable code, and words."""

    code: str
    words: str


@dataclass(frozen=True, slots=True)
class Health:
    """What there is, and what is wrong with it."""

    rows: int  # that can be read whole, hot and sealed
    blocks: int
    wrong: tuple[Wrong, ...]


_Block = tuple[int, int, int, int]  # frame, start of the machine, own clock of the first and the last row


@dataclass
class _Seen:
    """What was met on the way through."""

    connection: sqlite3.Connection
    frames: dict[int, Frame] = field(default_factory=dict)
    boots: dict[int, Boot] = field(default_factory=dict)
    said: list[str] = field(default_factory=list)  # the engine's words
    hot: int = 0
    sealed: int = 0  # rows in good blocks
    numbered: int = 0  # rows that were hot once, in any block that can be found
    bad_hot: int = 0
    blocks: set[int] = field(default_factory=set)
    told_blocks: set[int] = field(default_factory=set)  # named as lost before
    told_rows: int = 0
    told_events: int = 0


def health(connection: sqlite3.Connection) -> Health:
    """Look everything through; reads only."""
    seen = _Seen(connection)
    wrong = [*_frames(seen), *_starts(seen), *_happenings(seen), *_blocks(seen), *_sums(seen), *_hot(seen)]
    wrong += [*_tally(seen), *_states(seen)]
    wrong += [Wrong("telemetry-page-damaged", words) for words in dict.fromkeys(seen.said)]
    return Health(seen.hot + seen.sealed, len(seen.blocks), tuple(wrong))


def _frames(seen: _Seen) -> Iterator[Wrong]:
    copies: list[set[int]] = []
    for table in ("frame", "frame_again"):
        good = set()
        for number, text, crc in careful_rows(seen.connection, table, "frame_no", seen.said):
            if isinstance(text, str) and crc == zlib.crc32(text.encode()):
                seen.frames.setdefault(number, frame_of_text(number, text))
                good.add(number)
        copies.append(good)
    for number in sorted(copies[0] ^ copies[1]):
        yield Wrong("frame-copy-damaged", f"one of two copies of what {seen.frames[number].thing} sends is damaged")


def _starts(seen: _Seen) -> Iterator[Wrong]:
    try:
        seen.boots = {boot.number: boot for boot in all_boots(seen.connection)}
        highest, count = seen.connection.execute("SELECT coalesce(max(clock_no), 0), count(*) FROM clock").fetchone()
        for row in careful_rows(seen.connection, "clock", "clock_no", seen.said):
            if row[6] != key_crc(*row[1:6]):
                yield Wrong("clock-note-damaged", f"note {row[0]} of the clock is damaged; the others are gone by")
        if highest != count:
            yield Wrong(
                "clock-notes-lost", f"{highest - count} notes of the clock are missing; times may be less right"
            )
    except ENGINE_SAYS as error:
        seen.said.append(f"notes of the clock: {error}")


def _happenings(seen: _Seen) -> Iterator[Wrong]:
    count = highest = 0
    for row in careful_rows(seen.connection, "happening", "happening_no", seen.said):
        if row[8] != happening_crc(row[1:8]):
            yield Wrong("event-damaged", f"event {row[0]} does not agree with its checksum")
        elif row[5] == LOST:
            _remember(row[7], seen)
        count, highest = count + 1, row[0]
    with suppress(*ENGINE_SAYS):
        row = seen.connection.execute("SELECT seq FROM sqlite_sequence WHERE name = 'happening'").fetchone()
        highest = max(highest, row[0] if row else 0)
    missing = highest - count - seen.told_events
    if missing > 0:
        yield Wrong("events-missing", f"{missing} events that were stored cannot be found")


def _remember(text: str, seen: _Seen) -> None:
    detail = json.loads(text)
    seen.told_blocks |= set(detail["blocks"])
    seen.told_events = max(seen.told_events, detail["events"])
    seen.told_rows = max(seen.told_rows, detail["rows"])  # a later one counts those of an earlier one too


def _when(seen: _Seen, boot_no: int, mono: int) -> str:
    boot = seen.boots.get(boot_no)
    if boot is None:
        return f"{mono / 1000:.0f} s after start {boot_no} of the machine"
    moment = datetime.fromtimestamp((mono + boot.shift_ms) / 1000, UTC)
    return moment.strftime("%Y-%m-%d %H:%M:%S UTC")


def _thing(seen: _Seen, frame_no: int) -> str:
    frame = seen.frames.get(frame_no)
    return frame.thing if frame else f"signals of frame {frame_no}, which cannot be read,"


def _span(seen: _Seen, block: _Block) -> str:
    frame_no, boot_no, first, last = block
    return f"{_thing(seen, frame_no)} from {_when(seen, boot_no, first)} to {_when(seen, boot_no, last)}"


def _blocks(seen: _Seen) -> Iterator[Wrong]:
    for row in careful_rows(seen.connection, "sealed", "block_no", seen.said):
        number, *_, rows, numbered, block, crc = row
        seen.blocks.add(number)
        seen.numbered += rows if numbered else 0
        if crc == sealed_crc(row[1:7], block):
            seen.sealed += rows
            continue
        yield Wrong("block-damaged", f"{_span(seen, row[1:5])}: {_left_of(seen, row[1], block, rows)}")


def _left_of(seen: _Seen, frame_no: int, block: bytes, rows: int) -> str:
    """What of a damaged block can still be read."""
    frame = seen.frames.get(frame_no)
    try:
        times_of(block)
    except ValueError:
        return f"{rows} readings cannot be read"
    lost = []
    for k, signal in enumerate(frame.signals if frame else ()):
        try:
            one_signal(block, k, len(frame.signals) if frame else 0)
        except ValueError:
            lost.append(f"{signal.quantity} at {signal.at}")
    return (
        f"{rows} readings of {', '.join(lost)} cannot be read" if lost else "its head is damaged, its values are whole"
    )


def _sums(seen: _Seen) -> Iterator[Wrong]:
    for table in ("hour", "minute"):
        missed: dict[int, _Block] = {}
        met: set[int] = set()
        try:
            for row in seen.connection.execute(f"SELECT * FROM {table}"):
                if not is_row(table, row) or row[5] != sums_crc(row[:4], row[4]):
                    yield Wrong("sums-damaged", f"{table}s of one stretch are damaged (of block {row[3]})")
                    continue
                frame_no, boot_no, mono, block_no = row[:4]
                met.add(block_no)
                span = (frame_no, boot_no, mono, mono)
                if block_no not in seen.blocks and block_no not in seen.told_blocks:
                    missed[block_no] = span
        except ENGINE_SAYS as error:
            seen.said.append(f"table {table}: {error}")
            continue
        for span in sorted(missed.values())[:_NAMED] if table == "hour" else ():
            words = (
                f"{_thing(seen, span[0])}: the readings of the hour from {_when(seen, span[1], span[2])} are missing"
            )
            yield Wrong("block-missing", f"{words}; their sums are there")
        if len(missed) > _NAMED and table == "hour":
            yield Wrong("block-missing", f"and {len(missed) - _NAMED} hours more")
        without = seen.blocks - met
        if without:
            yield Wrong("sums-missing", f"{len(without)} blocks are without their {table}s")


def _hot(seen: _Seen) -> Iterator[Wrong]:
    bad: dict[tuple[int, int], list[int]] = {}
    for row in careful_rows(seen.connection, "hot", "row_no", seen.said, _last_row(seen)):
        if _is_whole(seen, row):
            seen.hot += 1
        else:
            bad.setdefault((row[1], row[2]), []).append(row[3])
    for (frame_no, boot_no), monos in bad.items():
        words = f"{len(monos)} readings do not agree with their checksum"
        yield Wrong("row-damaged", f"{_span(seen, (frame_no, boot_no, min(monos), max(monos)))}: {words}")
        seen.bad_hot += len(monos)


def _is_whole(seen: _Seen, row: Row) -> bool:
    frame, boot = seen.frames.get(row[1]), seen.boots.get(row[2])
    if frame is None or boot is None:
        return False
    return is_whole(row, frame, owner_crc(frame, boot.id))


def _last_row(seen: _Seen) -> int:
    with suppress(*ENGINE_SAYS):
        row = seen.connection.execute("SELECT last_row FROM tally").fetchone()
        return int(row[0]) if row else 0
    return 0


def _tally(seen: _Seen) -> Iterator[Wrong]:
    """Every row that was ever stored is hot, or was counted when it was sealed."""
    try:
        last, sealed = seen.connection.execute("SELECT last_row, sealed_rows FROM tally").fetchone()
        (hot,) = seen.connection.execute("SELECT coalesce(max(row_no), 0) FROM hot").fetchone()
    except (*ENGINE_SAYS, TypeError) as error:
        yield Wrong("tally-damaged", f"how many readings were stored cannot be read ({error}); some may be lost")
        return
    missing = max(last, hot) - sealed - seen.hot - seen.bad_hot - seen.told_rows
    if missing > 0:
        yield Wrong("rows-missing", f"{missing} rows that were stored and not yet sealed cannot be found")
    gone = sealed - seen.numbered
    if gone > 0:
        yield Wrong("sealed-rows-missing", f"{gone} sealed rows cannot be found")


def _states(seen: _Seen) -> Iterator[Wrong]:
    try:
        for row in seen.connection.execute("SELECT * FROM state"):
            if not is_row("state", row) or row[4] != state_crc(*row[:3]):
                words = "cannot be read; it is made again from the readings"
                yield Wrong("state-damaged", f"where an estimator ({row[0]}) stopped {words}")
    except ENGINE_SAYS as error:
        seen.said.append(f"table state: {error}")
