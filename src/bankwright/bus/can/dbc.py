"""The user's DBC file: messages, signals, and what a frame's bytes say.

Gives: read_dbc(), Dbc, DbcMessage, DbcSignal, DbcFault, NotDecoded, overlapping(), CAN_MISSING. The one
room that imports cantools (the extra `can`). The file is read as text (cp1252) of at most 4 MB.
Limits: classic and FD frames; no transport over several frames. Values come raw; scale and unit are put on in
can/decode.py. An identifier above 0x7FF is an extended one by bit 31 of the file; cantools takes it off.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

__all__ = ["CAN_MISSING", "Dbc", "DbcFault", "DbcMessage", "DbcSignal", "NotDecoded", "overlapping", "read_dbc"]

MOST_BYTES = 4_000_000
CAN_MISSING = "CAN needs the extra: pip install 'bankwright[can]'"


class DbcFault(Exception):
    """The file cannot be used; the words say why."""


class NotDecoded(Exception):
    """The bytes are none of this message: too short, or a multiplexer value that the file does not know."""


@dataclass(frozen=True, slots=True)
class DbcSignal:
    """One signal as the file has it."""

    name: str
    unit: str
    scale: float
    offset: float
    low: float | None
    high: float | None
    bits: int
    signed: bool
    is_float: bool
    choices: Mapping[int, str]


@dataclass(frozen=True, slots=True)
class DbcMessage:
    """One message; decode() gives raw values of the signals that these bytes hold."""

    name: str
    id: int
    extended: bool
    length: int
    cycle: float | None  # s
    is_multiplexed: bool
    signals: Mapping[str, DbcSignal]
    decode: Callable[[bytes], Mapping[str, float]]
    source: Any  # cantools' own, for the pretend rack


@dataclass(frozen=True, slots=True)
class Dbc:
    """All messages of a file, by name."""

    name: str
    messages: Mapping[str, DbcMessage]


def read_dbc(path: Path) -> Dbc:
    """Read a DBC file; DbcFault with the reason."""
    try:
        with path.open("rb") as file:
            raw = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise DbcFault(f"{path.name} cannot be read: {error.strerror or error}") from None
    if len(raw) > MOST_BYTES:
        raise DbcFault(f"{path.name} is larger than {MOST_BYTES // 1_000_000} MB")
    return Dbc(path.name, _messages(raw.decode("cp1252", "replace"), path.name))


def _messages(text: str, name: str) -> dict[str, DbcMessage]:
    try:
        from cantools.database import load_string
        from cantools.database.errors import Error
    except ImportError:
        raise DbcFault(CAN_MISSING) from None
    try:
        database = load_string(text, database_format="dbc", strict=False, prune_choices=False)
    except (Error, ValueError, RecursionError, KeyError, TypeError, IndexError, AttributeError, OverflowError) as error:
        first = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise DbcFault(f"{name} is no DBC file that can be read: {first[:200]}") from None
    messages = getattr(database, "messages", [])
    return {each.name: _message(each) for each in messages}


def _message(source: Any) -> DbcMessage:
    def decode(data: bytes) -> Mapping[str, float]:
        if len(data) < source.length:
            raise NotDecoded(f"{len(data)} bytes, the DBC says {source.length}")
        try:
            found = source.decode(data, decode_choices=False, scaling=False)
        except Exception as error:  # whatever the file makes the library do with these bytes
            raise NotDecoded(str(error)[:200]) from None
        return {name: value for name, value in found.items() if isinstance(value, (int, float))}

    signals = {each.name: _signal(each) for each in source.signals}
    cycle = source.cycle_time / 1000 if source.cycle_time else None
    is_extended = bool(source.is_extended_frame)
    return DbcMessage(
        source.name,
        source.frame_id,
        is_extended,
        source.length,
        cycle,
        bool(source.is_multiplexed()),
        signals,
        decode,
        source,
    )


def _signal(source: Any) -> DbcSignal:
    low, high = source.minimum, source.maximum
    given = low is not None and high is not None and low < high  # [0|0] is how the format says: none
    choices = {int(raw): str(word) for raw, word in (source.choices or {}).items()}
    return DbcSignal(
        source.name,
        source.unit or "",
        float(source.scale),
        float(source.offset),
        float(low) if given else None,
        float(high) if given else None,
        source.length,
        source.is_signed,
        source.is_float,
        choices,
    )


def overlapping(message: DbcMessage) -> str:
    """What cantools has against the layout of a message: signals that overlap or do not fit; empty: nothing."""
    from cantools.database.errors import Error

    try:
        message.source.refresh(strict=True)
    except Error as error:
        return str(error)[:200]
    return ""
