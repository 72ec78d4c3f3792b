"""A register map read from its file, or all its faults with line and column.

Gives: read_map(), map_from_text(), MapError.
Limits: the file is guarded as a bank file is; what a manual says wrongly is not seen here (the survey looks at values).
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path as FilePath
from types import MappingProxyType

from bankwright.bank.file.includes import Opened, opened, parsed
from bankwright.bank.file.quantity_text import parse_range
from bankwright.bank.file.whereabouts import Whereabouts
from bankwright.bank.written.validate import validated
from bankwright.bus.map.registers import Coding, RegisterMap, Signal, Table
from bankwright.bus.map.rules import faults_of
from bankwright.bus.map.written import MapW, SignalW
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.quantities import QUANTITIES

__all__ = ["MapError", "map_from_text", "read_map"]


class MapError(QuestionError):
    """A register map with faults; `.faults` holds all of them."""


def read_map(path: str | os.PathLike[str]) -> RegisterMap:
    """Read a register map; MapError with all faults."""
    where = FilePath(path)
    return _made(opened(where), where.name)


def map_from_text(text: str, name: str = "map.toml") -> RegisterMap:
    """Take the map of a text; MapError with all faults."""
    return _made(parsed(text, FilePath(name)), name)


def _made(files: Opened, name: str) -> RegisterMap:
    if files.main is None:
        raise MapError(tuple(files.faults), name)
    where = Whereabouts(files.main, name, {})
    written, _, faults = validated(MapW, files.main.data, where)
    faults = faults or list(faults_of(written, where))
    if faults:
        raise MapError(tuple(sorted(faults, key=_line)), name)
    signals = tuple(each for i, w in enumerate(written.signals) for each in _signals(written, w, i, where))
    far = [signal for signal in signals if signal.end > 0x10000]
    if far:
        raise MapError((Fault(far[0].origin.path, "out-of-range", f"{far[0].name} ends beyond register 65535"),), name)
    holes = written.holes == "can be read"
    return RegisterMap(written.title, name, files.main.digest, signals, holes, written.most, written.identity)


def _line(fault: Fault) -> tuple[int, str]:
    return (fault.place.line if fault.place else 0, fault.path)


def _address(written: MapW, signal: SignalW) -> tuple[Table, int]:
    """Table and address from 0."""
    if written.counts_from == "30001/40001":
        base = 100000 if signal.number > 65536 else 10000
        return ("input" if signal.number // base == 3 else "holding"), signal.number % base - 1
    table = signal.table or written.table
    assert table is not None
    return table, signal.number - int(written.counts_from or 0)


def _coding(written: MapW, signal: SignalW) -> Coding:
    row = QUANTITIES.get(signal.quantity)
    unit = row.unit_named(signal.unit or "") if row else None
    factor, offset = (unit.factor, unit.offset) if unit else (1.0, 0.0)
    sign = -1.0 if signal.positive == "charging" else 1.0  # inside: positive leaves the module
    return Coding(
        type=signal.type,
        low_word_first=(signal.word_order or written.word_order) == "low first",
        low_byte_first=(signal.byte_order or written.byte_order) == "low first",
        scale=signal.scale,
        offset=signal.offset,
        factor=factor * sign,
        unit_offset=offset * sign,
        not_available=tuple(signal.not_available),
        bits=MappingProxyType(dict(signal.bits or {})),
        field_shift=signal.shift or 0,
        field_width=signal.width,
    )


def _signals(written: MapW, signal: SignalW, place: int, where: Whereabouts) -> Iterator[Signal]:
    table, first = _address(written, signal)
    length = signal.length or (2 if signal.type in ("u32", "i32", "f32") else 1)
    step = length if signal.step is None else signal.step
    coding, origin = _coding(written, signal), where.key(("signals", place))
    low, high = parse_range(signal.range, signal.quantity) if signal.range else (None, None)
    for k in range(signal.repeat):
        name, number = (f"{signal.name} {k + 1}", k + 1) if signal.repeat > 1 else (signal.name, None)
        yield Signal(
            name, signal.quantity, table, first + k * step, length, coding, low, high, signal.every, origin, number
        )
