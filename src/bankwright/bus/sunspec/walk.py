"""From the mark at the head of a device's registers along its chain of models, by the lengths that are really there.

Gives: Placed, Chain, walked(), BASES, MARK. Reading requests alone.
A length leads on, never back, so a chain cannot run in circles; what runs beyond the last register, or is longer than
MOST_MODELS, ends the walk and is noted. Some devices leave out the length behind the end mark: then one register is
read.
Sources: marker, bases and order: pysunspec2 1.3.7, read; end mark: SunSpec model definitions, read.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from bankwright.bus.exchange import Exchange
from bankwright.bus.modbus.reply import Registers
from bankwright.bus.modbus.request import Function, Request
from bankwright.bus.sunspec.definitions import HEADER

__all__ = ["BASES", "MARK", "Chain", "Placed", "walked"]

MARK = (0x5375, 0x6E53)  # "SunS"
BASES = (40000, 0, 50000)
END = 0xFFFF
COMMON = 1
MOST_MODELS = 200  # a device of 64 strings and modules has 2 + 2 * 64
Once = Callable[[Request], Exchange]


@dataclass(frozen=True, slots=True)
class Placed:
    """A model in a chain."""

    number: int
    at: int  # register of its number
    length: int  # registers behind number and length, as the device says

    @property
    def end(self) -> int:
        """The register behind its last."""
        return self.at + HEADER + self.length


@dataclass(frozen=True, slots=True)
class Chain:
    """What a device has."""

    unit: int
    base: int
    models: tuple[Placed, ...]
    notes: tuple[str, ...] = ()  # what is not as the standard has it

    def of(self, *numbers: int) -> tuple[Placed, ...]:
        """Models with these numbers, in their order."""
        return tuple(each for each in self.models if each.number in numbers)


def _read(once: Once, unit: int, first: int, count: int) -> tuple[int, ...] | None:
    if not 0 <= first <= 0x10000 - count:
        return None
    reply = once(Request(unit, Function.HOLDING, first, count)).reply
    return reply.values if isinstance(reply, Registers) else None


def walked(once: Once, unit: int) -> Chain | None:
    """Walk the chain of a device; None where the mark stands at none of the bases."""
    base = next((each for each in BASES if _read(once, unit, each, len(MARK)) == MARK), None)
    if base is None:
        return None
    models: list[Placed] = []
    notes, at = [], base + len(MARK)
    while True:
        header = _read(once, unit, at, HEADER)
        number = header[0] if header else (_read(once, unit, at, 1) or (None,))[0]
        if number == END:
            break
        placed = Placed(number, at, header[1]) if header and number is not None else None
        trouble = _trouble(placed, at, len(models))
        if trouble or placed is None:
            notes.append(trouble)
            break
        models.append(placed)
        at = placed.end
    if models and models[0].number != COMMON:
        notes.append(f"its first model is {models[0].number}; the standard begins with model {COMMON}")
    return Chain(unit, base, tuple(models), tuple(notes))


def _trouble(placed: Placed | None, at: int, count: int) -> str:
    """Why the walk ends here, though no end mark stands here; empty where it goes on."""
    if placed is None:
        return f"register {at} cannot be read, and no end mark came before it"
    if placed.end > 0x10000 - 1:
        return f"model {placed.number} at {at} says that it is {placed.length} long: beyond the last register"
    if count >= MOST_MODELS:
        return f"more than {MOST_MODELS} models, and no end mark"
    return ""
