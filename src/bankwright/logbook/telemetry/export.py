"""Telemetry taken out: CSV, and Parquet where pyarrow is installed.

Gives: write_csv(), write_parquet(), PARQUET_EXTRA. One row a reading, one column a signal, named quantity@place, in the
unit inside; rows of one thing and one set of signals stand together, in the order of time. Every row carries the time
(right as far as it is known), the wall clock as it was told, the start of the machine and its own clock.
Limits: entries are export.py of the logbook.
Sources: encodings of Parquet: Apache Parquet format, Encodings.md (DELTA_BINARY_PACKED) [from memory].
"""

from __future__ import annotations

import csv
import os
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TextIO

import numpy as np

from bankwright.forms.faults import Fault
from bankwright.forms.quantities import quantity
from bankwright.logbook.connect import sync_directory
from bankwright.logbook.errors import EntryRefused, LogbookDiskFull, LogbookReadOnly
from bankwright.logbook.telemetry.block import Rows
from bankwright.logbook.telemetry.frames import Frame, Signal
from bankwright.logbook.telemetry.packing import MISSING, in_units
from bankwright.logbook.telemetry.store import Telemetry

__all__ = ["PARQUET_EXTRA", "write_csv", "write_parquet"]

PARQUET_EXTRA = "bankwright[parquet]"
_FIXED = ("thing", "time", "wall_clock", "clock_known", "boot", "own_clock")


def _columns(store: Telemetry) -> list[Signal]:
    """One a quantity and place; a finer step of the same signal is the same column."""
    found = {(signal.quantity, signal.at): signal for signal in store.signals()}
    return [found[key] for key in sorted(found)]


def _head(signal: Signal) -> str:
    return f"{signal.quantity}@{signal.at} [{quantity(signal.quantity).unit}]"


def write_csv(store: Telemetry, out: TextIO, start: float, end: float) -> int:
    """Write every row in [start, end) s since 1970; how many. Behind a value that is not good: `!` and its quality."""
    signals = _columns(store)
    place = {(signal.quantity, signal.at): k for k, signal in enumerate(signals)}
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([*_FIXED, *map(_head, signals)])
    count = 0
    for frame, boot, shift, rows in store.raw(start, end):
        where = [place[signal.quantity, signal.at] for signal in frame.signals]
        for fixed, cells in _texts(frame, boot, shift, rows):
            line = [""] * len(signals)
            for k, cell in zip(where, cells, strict=True):
                line[k] = cell
            writer.writerow([*fixed, *line])
        count += len(rows)
    return count


def _texts(frame: Frame, boot: str, shift: int, rows: Rows) -> Iterator[tuple[list[str], list[str]]]:
    known = {1: "yes", 0: "no", -1: ""}
    values = [in_units(rows.steps[:, k], signal.step).tolist() for k, signal in enumerate(frame.signals)]
    digits = [_digits(signal.step) for signal in frame.signals]
    for row, mono in enumerate(rows.mono_ms.tolist()):
        told = _iso(int(rows.wall_ms[row])), known[int(rows.known[row])]
        fixed = [_no_formula(frame.thing), _iso(mono + shift), *told, boot, f"{mono / 1000:.3f}"]
        cells = [
            ("" if rows.steps[row, k] == MISSING else f"{column[row]:.{digits[k]}f}")
            + (f"!{rows.quality[row, k]}" if rows.quality[row, k] else "")
            for k, column in enumerate(values)
        ]
        yield fixed, cells


def _no_formula(text: str) -> str:
    """Keep a spreadsheet from reading a name as a formula."""
    return f"'{text}" if text[0] in "=+-@\t\r" else text


def _digits(step: float) -> int:
    return next((digits for digits in range(10) if abs(step * 10**digits - round(step * 10**digits)) < 1e-9), 10)


def _iso(ms: int) -> str:
    return datetime.fromtimestamp(ms / 1000, UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def write_parquet(store: Telemetry, folder: Path, start: float, end: float) -> list[Path]:
    """Write one file a day (UTC) and set of signals into a new or empty folder; each is whole or not there."""
    if folder.exists() and any(folder.iterdir()):
        raise LogbookReadOnly(folder, "it is not empty", "Name a folder that does not exist; nothing was written")
    arrow = _arrow()
    written: list[Path] = []
    days: dict[tuple[str, int], list[tuple[Frame, str, int, Rows]]] = {}
    try:
        folder.mkdir(parents=True, exist_ok=True)
        day = ""
        for part in store.raw(start, end):
            moment = _iso(int(part[3].mono_ms[0]) + part[2])[:10]
            if day and moment != day:
                written += [_one_file(arrow, folder, *key, parts) for key, parts in days.items()]
                days = {}
            day = moment
            days.setdefault((day, part[0].number), []).append(part)
        written += [_one_file(arrow, folder, *key, parts) for key, parts in days.items()]
    except OSError as error:
        raise LogbookDiskFull(
            folder, f"the disk refused ({error.strerror or error})", "The export is not whole"
        ) from error
    return written


def _arrow() -> Any:
    try:
        import pyarrow
        import pyarrow.parquet
    except ImportError as error:
        words = "Parquet needs pyarrow, which is not installed"
        raise EntryRefused(Fault("--format", "no-pyarrow", words, hint=f"pip install '{PARQUET_EXTRA}'")) from error
    return pyarrow


def _one_file(arrow: Any, folder: Path, day: str, number: int, parts: list[tuple[Frame, str, int, Rows]]) -> Path:
    """One day of one set of signals in whole steps, delta-packed; step and unit stand in the field's metadata."""
    frame = parts[0][0]
    time = np.concatenate([rows.mono_ms + shift for _, _, shift, rows in parts])
    fields = [arrow.field("time", arrow.timestamp("ms", "UTC")), arrow.field("boot", arrow.string()),
              arrow.field("own_clock_ms", arrow.int64()), arrow.field("wall_clock", arrow.timestamp("ms", "UTC")),
              arrow.field("clock_known", arrow.int8())]  # fmt: skip
    arrays = [
        arrow.array(time, arrow.timestamp("ms", "UTC")),
        arrow.array([boot for _, boot, _, rows in parts for _ in range(len(rows))]),
        arrow.array(np.concatenate([rows.mono_ms for *_, rows in parts])),
        arrow.array(np.concatenate([rows.wall_ms for *_, rows in parts]), arrow.timestamp("ms", "UTC")),
        arrow.array(np.concatenate([rows.known for *_, rows in parts])),
    ]
    for k, signal in enumerate(frame.signals):
        steps = np.concatenate([rows.steps[:, k] for *_, rows in parts])
        arrays.append(arrow.array(steps, mask=steps == MISSING))
        told = {"step": repr(signal.step), "unit": quantity(signal.quantity).unit, "at": signal.at}
        fields.append(arrow.field(f"{signal.quantity}@{signal.at}", arrow.int32(), metadata=told))
        marks = np.concatenate([rows.quality[:, k] for *_, rows in parts])
        if marks.any():
            arrays.append(arrow.array(marks))
            fields.append(arrow.field(f"quality of {signal.quantity}@{signal.at}", arrow.uint8()))
    table = arrow.Table.from_arrays(arrays, schema=arrow.schema(fields, metadata={"thing": frame.thing}))
    name, again = f"{day}_{_plain(frame.thing)}_{number}", 1
    while (target := folder / f"{name}{f'_{again}' if again > 1 else ''}.parquet").exists():
        again += 1  # two starts of the machine that share a day and do not follow each other
    _write(arrow, table, target)
    return target


def _plain(name: str) -> str:
    return "".join(c if c.isalnum() or c in "+-" else "_" for c in name)


def _write(arrow: Any, table: Any, target: Path) -> None:
    unfinished = target.with_name(target.name + ".part")
    whole = [name for name in table.column_names if name != "boot" and not name.startswith("quality")]
    delta = dict.fromkeys((n for n in whole if n != "clock_known"), "DELTA_BINARY_PACKED")
    arrow.parquet.write_table(
        table, unfinished, compression="zstd", compression_level=3, use_dictionary=["boot"], column_encoding=delta
    )
    with unfinished.open("rb") as file:
        os.fsync(file.fileno())
    os.replace(unfinished, target)
    sync_directory(target.parent)
