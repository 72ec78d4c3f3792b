"""A value with its limits.

Gives: Toleranced, exact(). A tolerance is a pair of limits, flat in between when sampled; it is not a sigma.
Limits: no correlation is kept here; common causes are columns of a scatter (circuit/scatter).
Source: JCGM 100:2008, 4.3.7, rectangular distribution between given limits [from memory].
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Toleranced", "exact"]


@dataclass(frozen=True, slots=True)
class Toleranced:
    """A nominal value and the limits it may lie between, in one SI unit."""

    nominal: float
    low: float
    high: float

    def __post_init__(self) -> None:
        """Refuse limits that do not hold the nominal value."""
        if not self.low <= self.nominal <= self.high:
            raise ValueError(f"limits {self.low} to {self.high} do not hold the nominal value {self.nominal}")

    @property
    def is_exact(self) -> bool:
        """True when no tolerance was given."""
        return self.low == self.high

    def __add__(self, other: Toleranced) -> Toleranced:
        """Add in series: limits add, the worst ends together."""
        return Toleranced(self.nominal + other.nominal, self.low + other.low, self.high + other.high)

    def scaled(self, factor: float) -> Toleranced:
        """Multiply all three by a factor; a negative factor turns the limits round."""
        ends = (self.low * factor, self.high * factor)
        return Toleranced(self.nominal * factor, min(ends), max(ends))


def exact(value: float) -> Toleranced:
    """Wrap a value that carries no tolerance."""
    return Toleranced(value, value, value)
