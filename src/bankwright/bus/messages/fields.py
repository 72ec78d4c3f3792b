"""A message map, unfolded: every value with its own name, every part with its place.

Gives: Form, MessageSignal, Part, MapMessage, MessageMap. SI inside; current positive when it leaves the module.
Limits: reading the file is in messages/read.py, decoding in messages/decode.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from bankwright.bus.ascii.request import HEAD, TAIL, Command
from bankwright.bus.map.registers import TEXTS, Every
from bankwright.forms.origin import FileKey

__all__ = ["At", "Form", "MapMessage", "MessageMap", "MessageSignal", "Part"]

Type = Literal["unsigned", "signed", "sign bit", "float", "text"]
At = int | Literal["next", "same"]
Token = int | Literal["address"]


def _none() -> Mapping[int, str]:
    return MappingProxyType({})


@dataclass(frozen=True, slots=True)
class Form:
    """How a value stands in its bytes; SI = ((raw - zero) * scale + offset) * factor + shift of the unit."""

    type: Type = "unsigned"
    size: int = 2  # bytes
    low_byte_first: bool = False
    zero: float = 0.0  # raw value that stands for none: 2731 where tenths of a kelvin are sent
    scale: float = 1.0
    offset: float = 0.0
    factor: float = 1.0  # of the unit, sign of the current included
    unit_offset: float = 0.0
    not_available: tuple[int, ...] = ()
    bits: Mapping[int, str] = field(default_factory=_none)
    words: Mapping[int, str] = field(default_factory=_none)  # raw value -> what it says
    field_shift: int = 0
    field_width: int | None = None


@dataclass(frozen=True, slots=True)
class MessageSignal:
    """One value of a module."""

    name: str  # "voltage", "cell 3"
    quantity: str
    form: Form
    low: float | None  # SI; what can be
    high: float | None
    every: Every
    origin: FileKey
    number: int | None = None  # 3 of "cell 3"

    @property
    def is_text(self) -> bool:
        """True for serial numbers and names."""
        return self.quantity in TEXTS


@dataclass(frozen=True, slots=True)
class Part:
    """A place in the information: one value, a list of them, a list of records, or bytes that are not read."""

    name: str
    at: At
    size: int  # bytes of one element; of records: 0
    count: int | str  # so many; "before": said by bytes before the list; else the field that says it
    count_size: int
    most: int  # elements that are kept
    signals: tuple[MessageSignal, ...] = ()  # of the elements kept
    each: tuple[tuple[Part, ...], ...] = ()  # of records: the parts of each that is kept


@dataclass(frozen=True, slots=True)
class MapMessage:
    """One message: what is asked, and what stands in the answer."""

    command: Command
    info: tuple[Token, ...]  # bytes of the request's information
    every: Every
    parts: tuple[Part, ...]
    signals: tuple[MessageSignal, ...]
    size: int  # bytes of the answer's information at most

    @property
    def longest(self) -> int:
        """Characters of its answer at most."""
        return HEAD + 2 * self.size + TAIL


@dataclass(frozen=True, slots=True)
class MessageMap:
    """All messages of a kind of module."""

    title: str
    file: str
    digest: str
    version: int
    group: int
    messages: tuple[MapMessage, ...]
    returns: Mapping[int, str]  # the maker's own return codes

    @property
    def signals(self) -> tuple[MessageSignal, ...]:
        """All values of a module."""
        return tuple(signal for message in self.messages for signal in message.signals)

    def of(self, *quantities: str) -> tuple[MessageSignal, ...]:
        """Signals of these quantities."""
        return tuple(signal for signal in self.signals if signal.quantity in quantities)
