"""A register map, unfolded: every signal with its own address, counted from 0.

Gives: Coding, Signal, RegisterMap. SI inside; current positive when it leaves the module.
Limits: reading the file is in map/read.py, decoding in map/decode.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from bankwright.forms.origin import FileKey

__all__ = ["TEXTS", "Coding", "Every", "RegisterMap", "Signal", "Table"]

Table = Literal["holding", "input"]
Every = Literal["fast", "slow", "once"]
Type = Literal["u16", "i16", "u32", "i32", "f32", "text"]
TEXTS = frozenset({"serial", "text"})  # quantities that are no number
FLAGS = "flags"


@dataclass(frozen=True, slots=True)
class Coding:
    """How a value stands in its registers; value in SI = (raw * scale + offset) * factor + shift of the unit."""

    type: Type = "u16"
    low_word_first: bool = False
    low_byte_first: bool = False
    scale: float = 1.0
    offset: float = 0.0
    factor: float = 1.0  # of the unit, sign of the current included
    unit_offset: float = 0.0
    not_available: tuple[int, ...] = ()
    bits: Mapping[int, str] = field(default_factory=lambda: MappingProxyType({}))
    field_shift: int = 0
    field_width: int | None = None


@dataclass(frozen=True, slots=True)
class Signal:
    """One value of a module."""

    name: str  # "voltage", "cell 3"
    quantity: str
    table: Table
    address: int  # as asked on the wire, from 0
    length: int  # registers
    coding: Coding
    low: float | None  # SI; what can be
    high: float | None
    every: Every
    origin: FileKey
    number: int | None = None  # 3 of "cell 3"

    @property
    def is_text(self) -> bool:
        """True for serial numbers and names."""
        return self.quantity in TEXTS

    @property
    def end(self) -> int:
        """The address behind its last register."""
        return self.address + self.length


@dataclass(frozen=True, slots=True)
class RegisterMap:
    """All signals of a kind of module."""

    title: str
    file: str
    digest: str
    signals: tuple[Signal, ...]
    holes_readable: bool
    most: int
    identity: bool

    def of(self, *quantities: str) -> tuple[Signal, ...]:
        """Signals of these quantities."""
        return tuple(signal for signal in self.signals if signal.quantity in quantities)

    def named(self, name: str) -> Signal:
        """The signal of this name; KeyError for any other."""
        for signal in self.signals:
            if signal.name == name:
                return signal
        raise KeyError(name)
