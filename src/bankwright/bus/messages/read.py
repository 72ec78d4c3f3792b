"""A message map read from its file, or all its faults with line and column.

Gives: read_messages(), messages_from_text().
Limits: the file is guarded as a bank file is; what a manual says wrongly is not seen here (the survey looks at values).
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path as FilePath
from types import MappingProxyType

from bankwright.bank.file.includes import Opened, opened, parsed
from bankwright.bank.file.quantity_text import parse_range
from bankwright.bank.file.spans import Path
from bankwright.bank.file.whereabouts import Whereabouts
from bankwright.bank.written.validate import validated
from bankwright.bus.map.read import MapError
from bankwright.bus.map.registers import Every
from bankwright.bus.messages.fields import At, Form, MapMessage, MessageMap, MessageSignal, Part
from bankwright.bus.messages.layout import Walk
from bankwright.bus.messages.rules import MOST_BYTES, message_faults
from bankwright.bus.messages.written import FieldW, MessageMapW, MessageW, RecordFieldW
from bankwright.forms.faults import Fault
from bankwright.forms.quantities import QUANTITIES

__all__ = ["messages_from_text", "read_messages"]


def read_messages(path: str | os.PathLike[str]) -> MessageMap:
    """Read a message map; MapError with all faults."""
    where = FilePath(path)
    return _made(opened(where), where.name)


def messages_from_text(text: str, name: str = "map.toml") -> MessageMap:
    """Take the map of a text; MapError with all faults."""
    return _made(parsed(text, FilePath(name)), name)


def _made(files: Opened, name: str) -> MessageMap:
    if files.main is None:
        raise MapError(tuple(files.faults), name)
    where = Whereabouts(files.main, name, {})
    written, _, faults = validated(MessageMapW, files.main.data, where)
    faults = faults or list(message_faults(written, where))
    if faults:
        raise MapError(tuple(sorted(faults, key=_line)), name)
    made = tuple(_message(written, each, ("messages", k), where) for k, each in enumerate(written.messages))
    for number, message in enumerate(made):
        if message.size > MOST_BYTES:
            found = f"its answer has up to {message.size} bytes"
            raise MapError((where.fault(("messages", number), "out-of-range", found, f"a frame {MOST_BYTES}"),), name)
    returns = MappingProxyType(dict(written.returns))
    version = written.version or 0
    return MessageMap(written.title, name, files.main.digest, version, written.group, made, returns)


def _line(fault: Fault) -> tuple[int, str]:
    return (fault.place.line if fault.place else 0, fault.path)


class _AtMost:
    """Counts at their most: how long an answer can be."""

    def before(self, part: Part, at: int) -> int:  # noqa: ARG002
        """As many as are kept."""
        return part.most

    def named(self, part: Part) -> int:
        """As many as are kept."""
        return part.most


def _message(written: MessageMapW, message: MessageW, path: Path, where: Whereabouts) -> MapMessage:
    parts = tuple(
        _part(written, field, (*path, "fields", k), where, message.every) for k, field in enumerate(message.fields)
    )
    signals = tuple(_signals_of(parts))
    walk = Walk(_AtMost(), 1 << 20)
    for _ in walk.spots(parts):
        pass
    return MapMessage(message.command, message.ask, message.every, parts, signals, walk.reached)


def _signals_of(parts: tuple[Part, ...]) -> Iterator[MessageSignal]:
    for part in parts:
        yield from part.signals
        for record in part.each:
            yield from _signals_of(record)


def _part(
    written: MessageMapW,
    field: FieldW | RecordFieldW,
    path: Path,
    where: Whereabouts,
    every: Every,
    *,
    inside: tuple[str, int] | None = None,
) -> Part:
    """`inside`: name of the record's list with its number, and that number, counted from 0."""
    at: At = "next" if field.at is None else field.at
    if field.skip is not None:
        return Part("", at, field.skip, 1, 0, 1)
    count = 1 if field.count is None else field.count
    most = count if isinstance(count, int) else field.most or 1
    name = field.name or ""
    inner = getattr(field, "each", None)
    if inner:
        each = tuple(
            tuple(
                _part(written, w, (*path, "each", n), where, every, inside=(f"{name} {k + 1}", k))
                for n, w in enumerate(inner)
            )
            for k in range(most)
        )
        return Part(name, at, 0, count, field.count_bytes or 1, most, (), each)
    form = _form(written, field)
    low, high = parse_range(field.range, field.quantity or "") if field.range else (None, None)
    signals = tuple(
        MessageSignal(title, field.quantity or "", form, low, high, every, where.key(path), number)
        for title, number in _titles(name, field.count is not None, most, inside)
    )
    own = f"{inside[0]} {name}" if inside else name
    count = f"{inside[0]} {count}" if inside and isinstance(count, str) and count != "before" else count
    return Part(own, at, form.size, count, field.count_bytes or 1, most, signals)


def _titles(name: str, is_list: bool, most: int, inside: tuple[str, int] | None) -> Iterator[tuple[str, int | None]]:
    """Names of the values of a field, with their numbers: of a list, of records, of lists in records."""
    whole = f"{inside[0]} {name}" if inside else name
    if not is_list:
        yield whole, inside[1] + 1 if inside else None
        return
    for k in range(most):
        yield f"{whole} {k + 1}", (inside[1] * most if inside else 0) + k + 1


def _form(written: MessageMapW, field: RecordFieldW) -> Form:
    row = QUANTITIES.get(field.quantity or "")
    unit = row.unit_named(field.unit or "") if row else None
    factor, offset = (unit.factor, unit.offset) if unit else (1.0, 0.0)
    sign = -1.0 if field.positive == "charging" else 1.0  # inside: positive leaves the module
    return Form(
        type=field.type,
        size=field.size or (4 if field.type == "float" else 2),
        low_byte_first=(field.byte_order or written.byte_order) == "low first",
        zero=field.zero,
        scale=field.scale,
        offset=field.offset,
        factor=factor * sign,
        unit_offset=offset * sign,
        not_available=tuple(field.not_available),
        bits=MappingProxyType(dict(field.bits or {})),
        words=MappingProxyType(dict(field.words or {})),
        field_shift=field.shift or 0,
        field_width=field.width,
    )
