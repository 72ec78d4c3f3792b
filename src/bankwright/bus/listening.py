"""A source that only listens: takes what comes until a cycle is over, whatever it is that comes.

Gives: Listening (what CanSource and MqttSource are), MOST_LATE.
Limits: nothing is asked and nothing is sent; of several arrivals of one value within a cycle the last is kept.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import Generic, Protocol, TypeVar

from bankwright.bus.passive import Standing
from bankwright.bus.poll import Cycle

__all__ = ["MOST_LATE", "Listening"]

MOST_LATE = 20000  # that waited, taken at once: a CAN bus at 1 Mbit/s brings fewer in a second


class Timed(Protocol):
    """Whatever comes, with the time at which it came."""

    @property
    def time(self) -> float:
        """When it came, by the port's clock. [s]"""


Came = TypeVar("Came", bound=Timed)
Given = TypeVar("Given", bound=Timed, covariant=True)


class Port(Protocol[Given]):
    """What it is heard from."""

    name: str

    def now(self) -> float:
        """Its clock. [s]"""

    def hear(self, until: float) -> Given | None:
        """The next one; None when none came until then."""

    def close(self) -> None:
        """Let go of it."""


class Listening(ABC, Generic[Came]):
    """An open port whose cycles hold what came by itself."""

    def __init__(self, port: Port[Came], standing: Standing, every: float) -> None:
        """Begin the first cycle."""
        self.name, self.standing = port.name, standing
        self._ear, self._every, self._due = port, every, port.now() + every

    @abstractmethod
    def take(self, came: Came) -> None:
        """Count it, and let its values stand."""

    @abstractmethod
    def told(self) -> str:
        """What is to be told of the cycle beside who was heard; the counts begin anew."""

    def now(self) -> float:
        """The port's clock. [s]"""
        return self._ear.now()

    def sleep(self, seconds: float) -> None:
        """Go on listening."""
        self.listen(self.now() + seconds)

    def listen(self, until: float) -> None:
        """Take all that comes until then, and what waits already when the time is over."""
        late = 0
        while late < MOST_LATE:
            came = self._ear.hear(until)
            if came is None:
                if self.now() >= until:
                    return
                continue
            late += came.time >= until
            self.take(came)

    def cycle(self) -> Cycle:
        """Listen until the time of a cycle is over; then what came."""
        self.listen(self._due)
        self._due = max(self._due + self._every, self.now())
        return self.standing.cycle(self.now(), self.told())

    def close(self) -> None:
        """Let go of it."""
        self._ear.close()
