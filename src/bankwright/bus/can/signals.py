"""A map of CAN frames, unfolded: which frame brings which values of which module.

Gives: CanValue, Meant, Route, CanMap. SI inside; current positive when it leaves the module.
Limits: reading the file is in can/read.py, decoding in can/decode.py.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from bankwright.bus.can.dbc import DbcMessage

__all__ = ["By", "CanMap", "CanValue", "Meant", "Route"]

By = Literal["id", "signal", "name", "one"]


@dataclass(frozen=True, slots=True)
class CanValue:
    """One value of a module, whichever frame brings it."""

    name: str
    quantity: str
    number: int | None
    stale: float  # s


@dataclass(frozen=True, slots=True)
class Meant:
    """What one signal of the DBC is; value in SI = raw * factor + offset."""

    signal: str  # of the DBC
    value: CanValue
    factor: float
    offset: float
    low: float | None  # SI
    high: float | None
    not_available: frozenset[float]
    bits: Mapping[int, str]
    choices: Mapping[int, str]
    module: int | None = None  # the number that stands in the names
    number_in: str | None = None  # signal that says which of several it is
    several: tuple[CanValue, ...] = ()  # those of number_in
    first: int = 1


@dataclass(frozen=True, slots=True)
class Route:
    """A message of the DBC, and what of it is wanted."""

    message: DbcMessage
    meant: tuple[Meant, ...]
    module: int | None = None  # number, where identifiers are counted on


@dataclass(frozen=True, slots=True)
class CanMap:
    """All frames of a kind of module."""

    title: str
    file: str
    digest: str
    signals: tuple[CanValue, ...]
    routes: Mapping[tuple[int, bool], Route]  # (identifier without the bits that do not matter, extended)
    by: By
    keep: int  # bits of the identifier that tell messages apart
    shift: int
    width: int
    signal: str
    offset: int
    names: Mapping[str, str]

    def of(self, *quantities: str) -> tuple[CanValue, ...]:
        """Values of these quantities."""
        return tuple(value for value in self.signals if value.quantity in quantities)

    def stale(self) -> Callable[[str], float]:
        """How long a value stands, by name. [s]"""
        found = {value.name: value.stale for value in self.signals}
        return lambda name: found.get(name, 10.0)
