"""What is read: signals, and frames of signals of one thing that are read together.

Gives: Signal, Frame, thing_of(), step_of(), frame_text(), frame_of_text(), known_frames(), stored_frame().
A frame is written once and never changed; its text says everything,
so that a block that carries it can be read without any table.
Limits: values are packed in packing.py.
"""

from __future__ import annotations

import json
import math
import sqlite3
import zlib
from dataclasses import dataclass

from bankwright.forms.faults import Fault
from bankwright.forms.quantities import QUANTITIES
from bankwright.logbook.errors import EntryRefused
from bankwright.logbook.telemetry.careful import is_row

__all__ = ["Frame", "Signal", "frame_of_text", "frame_text", "known_frames", "step_of", "stored_frame", "thing_of"]

_STEP = 1e-3  # of the unit inside, where the table of quantities names none; design choice


@dataclass(frozen=True, slots=True, order=True)
class Signal:
    """One quantity at one place, stored in whole steps."""

    quantity: str
    at: str
    step: float  # in the unit inside


@dataclass(frozen=True, slots=True)
class Frame:
    """Signals of one thing that are read together; `number` is 0 until it is stored."""

    number: int
    thing: str
    signals: tuple[Signal, ...]

    def place(self, quantity: str, at: str) -> int | None:
        """Position of a signal; None when the frame does not have it."""
        for position, signal in enumerate(self.signals):
            if signal.quantity == quantity and signal.at == at:
                return position
        return None


def thing_of(at: str) -> str:
    """What a place belongs to: `M1.c3` -> `M1`."""
    return at.split(".", 1)[0]


def step_of(name: str, finer: float | None = None) -> float:
    """Storage step of a quantity, in its unit inside; `finer` is the source's own step, if it tells one."""
    row = QUANTITIES.get(name)
    if row is None:
        raise EntryRefused(Fault(name, "unknown-quantity", f"{name!r} is no quantity; nothing was stored"))
    if finer is not None:
        if not (math.isfinite(finer) and finer > 0):
            raise EntryRefused(Fault(name, "wrong-step", f"a storage step of {finer} is none; give a number above 0"))
        return float(finer)
    return row.step if row.step is not None else _STEP


def frame_text(signals: tuple[Signal, ...]) -> str:
    """Write signals as one line of JSON."""
    return json.dumps([[s.quantity, s.at, s.step] for s in signals], separators=(",", ":"))


def frame_of_text(number: int, text: str) -> Frame:
    """Read the line back; ValueError when it is none."""
    try:
        signals = tuple(Signal(str(q), str(at), float(step)) for q, at, step in json.loads(text))
    except TypeError as error:
        raise ValueError("not a frame") from error
    if not signals:
        raise ValueError("a frame without signals")
    return Frame(number, thing_of(signals[0].at), signals)


def known_frames(connection: sqlite3.Connection) -> dict[int, Frame]:
    """Every frame by its number; the second copy stands in where the first does not hold together."""
    found: dict[int, Frame] = {}
    for table in ("frame", "frame_again"):
        for row in connection.execute(f"SELECT * FROM {table}"):
            if row[0] not in found and is_row(table, row) and row[2] == zlib.crc32(row[1].encode()):
                found[row[0]] = frame_of_text(*row[:2])
    return found


def stored_frame(connection: sqlite3.Connection, signals: tuple[Signal, ...]) -> Frame:
    """Give a frame its number, storing it now if it is new; the caller holds the write transaction."""
    text = frame_text(signals)
    row = connection.execute("SELECT frame_no FROM frame WHERE text = ?", (text,)).fetchone()
    if row is not None:
        return Frame(int(row[0]), thing_of(signals[0].at), signals)
    highest = (
        "SELECT coalesce(max(frame_no), 0) FROM (SELECT frame_no FROM frame UNION SELECT frame_no FROM frame_again)"
    )
    number = int(connection.execute(highest).fetchone()[0]) + 1
    for table in ("frame", "frame_again"):
        connection.execute(f"INSERT INTO {table} VALUES (?, ?, ?)", (number, text, zlib.crc32(text.encode())))
    return Frame(number, thing_of(signals[0].at), signals)
