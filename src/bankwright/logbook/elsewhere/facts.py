"""What is known of the bank that a foreign log may speak of, and the limits by which its values are judged.

Gives: Facts, facts_of(), PLAUSIBLE_CELL, BELIEVABLE.
Sources: limits stand beside their numbers.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from bankwright.bank.model import Bank

__all__ = ["BELIEVABLE", "PLAUSIBLE_CELL", "Facts", "facts_of"]

PLAUSIBLE_CELL = (2.0, 4.2)  # V; between an empty and an overfull lithium cell; common practice, no source
# beyond these a value is no reading but a way of saying that there is none; wide on purpose, common practice, no source
BELIEVABLE: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"cell_voltage": (0.0, 5.0), "temperature_degc": (-60.0, 150.0), "soc": (0.0, 1.2), "cell_spread": (0.0, 5.0)}
)


@dataclass(frozen=True, slots=True)
class Facts:
    """A bank, as far as a log may speak of it."""

    modules: tuple[str, ...]
    cells: int  # in series
    current: float  # most that all modules give or take for long; 0: not known [A]

    def module_named(self, number: int) -> str | None:
        """The module of a number, counted from 1: by its own number if its name has one, else by its place."""
        for name in self.modules:
            digits = "".join(c for c in name if c.isdigit())
            if digits and int(digits) == number:
                return name
        return self.modules[number - 1] if 0 < number <= len(self.modules) else None


def facts_of(bank: Bank) -> Facts:
    """Read them off a bank."""
    limits = [
        max((rate for rate in (m.kind.discharge.continuous, m.kind.charge.continuous) if rate is not None), default=0.0)
        for m in bank.modules
    ]
    cells = {m.kind.cells for m in bank.modules}
    return Facts(tuple(m.name for m in bank.modules), max(cells, default=16), sum(limits) if all(limits) else 0.0)
