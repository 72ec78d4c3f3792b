"""What can be heard of a module, whatever carries it: the joint between maps and whoever keeps what is heard.

Gives: Value, Listing. Limits: what yields cycles is in poll.py (asked) and passive.py (speaks by itself).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

__all__ = ["Listing", "Value"]


class Value(Protocol):
    """One value of a module: `number` is 3 of `cell 3`."""

    @property
    def name(self) -> str:
        """Its name in the map."""

    @property
    def quantity(self) -> str:
        """What it is."""

    @property
    def number(self) -> int | None:
        """Which of several alike."""


class Listing(Protocol):
    """A map, whatever it maps: registers, frames, topics."""

    @property
    def title(self) -> str:
        """What it is the map of."""

    @property
    def file(self) -> str:
        """Where it was read."""

    @property
    def signals(self) -> Sequence[Value]:
        """All values of a module."""

    def of(self, *quantities: str) -> Sequence[Value]:
        """Those of these quantities."""
