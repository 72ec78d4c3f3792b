"""Values that come by themselves, each at its own pace: what stands of each module, how old it is, what is new.

Gives: Source (protocol), Arrival, Standing (take(), cycle()). A value keeps the time of its own arrival; one that is
older than its time is stale and stands no more; what came without a time of its own (kept by a broker) stands, but is
neither stored nor a sign of life. Memory is bounded by modules and signals, whatever is sent.
Limits: of several arrivals of one value between two cycles the last is kept.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Protocol, runtime_checkable

from bankwright.bus.exchange import Outcome
from bankwright.bus.map.decode import Decoded
from bankwright.bus.poll import Cycle, Heard
from bankwright.forms.readings import TIME_UNSURE

__all__ = ["Arrival", "Source", "Standing"]


@runtime_checkable
class Source(Protocol):
    """Something open that yields cycles by itself; WireGone when it goes away."""

    name: str

    def now(self) -> float:
        """Its clock. [s]"""

    def sleep(self, seconds: float) -> None:
        """Let time pass; what comes meanwhile is not lost."""

    def cycle(self) -> Cycle:
        """What was heard since the last one."""

    def close(self) -> None:
        """Let go of it."""


@dataclass(frozen=True, slots=True)
class Arrival:
    """One value of one module, and when it came. [s, machine's own clock]"""

    module: str
    signal: str
    value: Decoded
    time: float


class Standing:
    """The last value of each signal of each module."""

    def __init__(self, modules: Iterable[str], stale: Callable[[str], float], now: float) -> None:
        """`stale(signal)`: how long it stands. [s]"""
        self.modules, self._stale, self._begun, self.number = tuple(modules), stale, now, 0
        self._last: dict[str, dict[str, Arrival]] = {module: {} for module in self.modules}
        self._new: set[tuple[str, str]] = set()
        self.again: dict[tuple[str, str], int] = {}  # times that a value came once more, by module and value
        self.moved: set[str] = set()  # modules of which a value came that was another than before

    def take(self, arrival: Arrival) -> None:
        """Let a value stand; one of a module that is not ours is dropped."""
        standing = self._last.get(arrival.module)
        if standing is None:
            return
        before = standing.get(arrival.signal)
        is_live = arrival.value.quality != TIME_UNSURE
        if before is not None and (before.time > arrival.time or (before.value.quality != TIME_UNSURE and not is_live)):
            return
        self._compare(before, arrival, is_live)
        standing[arrival.signal] = arrival
        if is_live:
            self._new.add((arrival.module, arrival.signal))

    def _compare(self, before: Arrival | None, arrival: Arrival, is_live: bool) -> None:
        if before is None or not is_live:
            return
        place = (arrival.module, arrival.signal)
        self.again[place] = self.again.get(place, 0) + 1
        if before.value.value != arrival.value.value and not math.isnan(arrival.value.value):
            self.moved.add(arrival.module)

    def values(self, module: str, now: float) -> dict[str, Arrival]:
        """What stands of a module."""
        found = self._last.get(module, {})
        return {name: each for name, each in found.items() if now - each.time <= self._stale(name)}

    def stale(self, module: str, now: float) -> tuple[str, ...]:
        """Signals that came once and are too old."""
        return tuple(
            name
            for name, each in self._last.get(module, {}).items()
            if now - each.time > self._stale(name) and each.value.quality != TIME_UNSURE
        )

    def cycle(self, now: float, note: str = "") -> Cycle:
        """What came since the last cycle, with all that stands beside it."""
        heard = tuple(self._heard(module, now) for module in self.modules)
        self._new.clear()
        self.number += 1
        begun, self._begun = self._begun, now
        alive = sum(each.outcome is not Outcome.SILENCE for each in heard)
        words = f"{alive} of {len(self.modules)} heard{note}"
        return Cycle(self.number, begun, now - begun, heard, (), words)

    def _heard(self, module: str, now: float) -> Heard:
        standing = self.values(module, now)
        times = {name: each.time for name, each in standing.items() if (module, name) in self._new}
        if times:
            values = {name: each.value for name, each in standing.items()}
            return Heard(module, max(times.values()), values, Outcome.ANSWER, times)
        is_alive = any(each.value.quality != TIME_UNSURE for each in standing.values())
        return Heard(module, now, {}, None if is_alive else Outcome.SILENCE)
