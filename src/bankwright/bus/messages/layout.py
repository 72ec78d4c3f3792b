"""Where every value stands in the information of a message: counts are read on the way, so places move with them.

Gives: Counter (protocol), Spot, Walk. Decoding and the pretend rack walk the same way.
Limits: a message that counts more than its bytes can hold ends the walk; `short` says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Protocol

from bankwright.bus.messages.fields import MessageSignal, Part

__all__ = ["Counter", "Spot", "Walk"]


class Counter(Protocol):
    """Who knows how many elements a list has."""

    def before(self, part: Part, at: int) -> int:
        """The count that stands in the bytes at `at`."""

    def named(self, part: Part) -> int:
        """The count that an earlier field says."""


@dataclass(frozen=True, slots=True)
class Spot:
    """Bytes of one element; `signal` None where they are not kept."""

    part: Part
    at: int
    signal: MessageSignal | None

    @property
    def end(self) -> int:
        """Behind its last byte."""
        return self.at + self.part.size


class Walk:
    """One way through a message of so many bytes."""

    def __init__(self, counter: Counter, limit: int) -> None:
        """At its first byte."""
        self._counter, self._limit = counter, limit
        self.at = self._last = self.reached = 0
        self.short = False  # it would go beyond the end
        self.over: dict[str, int] = {}  # lists that count more than the map keeps

    def spots(self, parts: Iterable[Part], *, kept: bool = True) -> Iterator[Spot]:
        """Every element in its order; stops at the end of the bytes."""
        for part in parts:
            self.at = self._last = self._start(part)
            count = self._count(part)
            if count > part.most and kept and (part.signals or part.each):
                self.over[part.name] = count
            for k in range(count):
                self.short = self.short or self.at + part.size > self._limit
                if self.short:
                    return
                if part.each:
                    yield from self.spots(part.each[min(k, len(part.each) - 1)], kept=kept and k < part.most)
                else:
                    yield Spot(part, self.at, part.signals[k] if kept and k < len(part.signals) else None)
                    self.at += part.size
            self.reached = max(self.reached, self.at)

    def _start(self, part: Part) -> int:
        if part.at == "same":
            return self._last
        return self.at if part.at == "next" else part.at

    def _count(self, part: Part) -> int:
        if isinstance(part.count, int):
            return part.count
        if part.count != "before":
            return self._counter.named(part)
        if self.at + part.count_size > self._limit:
            self.short = True
            return 0
        count = self._counter.before(part, self.at)
        self.at += part.count_size
        return count
