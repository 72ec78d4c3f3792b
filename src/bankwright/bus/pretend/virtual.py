"""The pretend rack on a clock of its own: a wire without any port, exact to the microsecond and instant by the wall.

Gives: VirtualWire, VirtualTcp. Limits: nothing outside the program hears it.
"""

from __future__ import annotations

from bankwright.bus.modbus.taken import Chunk, Taken
from bankwright.bus.pretend.behind import answered
from bankwright.bus.pretend.line import Line
from bankwright.bus.pretend.module import Answering
from bankwright.bus.spell import AnyRequest, serial_frame, taken_of, taken_over_tcp, tcp_bytes
from bankwright.bus.timing import Framing

__all__ = ["VirtualTcp", "VirtualWire"]


class VirtualWire:
    """A serial line in memory."""

    def __init__(self, line: Line, name: str = "pretend rack") -> None:
        """At time 0."""
        self.name, self.line, self._clock, self._last = name, line, 0.0, 0.0

    @property
    def framing(self) -> Framing:
        """How characters stand on the line."""
        return self.line.framing

    def now(self) -> float:
        """The virtual clock. [s]"""
        return self._clock

    def sleep(self, seconds: float) -> None:
        """Let virtual time pass."""
        self._clock += max(seconds, 0.0)

    def ask(self, request: AnyRequest) -> float:
        """Wait for the silence and send."""
        self._clock = max(self._clock, self._last + self.framing.t35)
        self._last = self.line.request(serial_frame(request), self._clock)
        return self._last

    def hear(self, until: float) -> Chunk:
        """What comes next; the clock goes to that moment."""
        delivery = self.line.next(until)
        if delivery is None:
            self._clock = max(self._clock, until)
            return Chunk()
        self._clock = max(self._clock, delivery.time)
        self._last = max(self._last, delivery.time)
        return delivery.chunk

    def taken(self, request: AnyRequest, got: Chunk, echo_expected: bool) -> Taken:
        """What stands in the characters received after the request."""
        return taken_of(request, got, echo_expected)

    def retune(self, framing: Framing) -> None:
        """Another framing from now on."""
        self.line.retuned(framing)

    def close(self) -> None:
        """Nothing to let go of."""


class VirtualTcp:
    """Modules behind a gateway, in memory: 20 ms a request; who is absent is told by the gateway
    (Modbus), or says nothing (ASCII frames, as behind a serial server)."""

    def __init__(self, modules: tuple[Answering, ...], name: str = "pretend gateway") -> None:
        """At time 0."""
        self.name, self._modules, self._clock, self._number = name, {m.unit: m for m in modules}, 0.0, 0
        self._waiting = b""

    @property
    def framing(self) -> Framing | None:
        """None: TCP."""
        return None

    def now(self) -> float:
        """The virtual clock. [s]"""
        return self._clock

    def sleep(self, seconds: float) -> None:
        """Let virtual time pass."""
        self._clock += max(seconds, 0.0)

    def ask(self, request: AnyRequest) -> float:
        """Send with the next number."""
        self._number = self._number % 0xFFFF + 1
        self._waiting = answered(self._modules, tcp_bytes(request, self._number), self._clock)
        return self._clock

    def hear(self, until: float) -> Chunk:
        """What comes next."""
        data, self._waiting = self._waiting, b""
        self._clock = max(self._clock, min(until, self._clock + 0.02) if data else until)
        return Chunk(data, bytes(len(data)))

    def taken(self, request: AnyRequest, got: Chunk, echo_expected: bool) -> Taken:  # noqa: ARG002
        """What stands in the bytes received after the request."""
        return taken_over_tcp(request, self._number, got)

    def retune(self, framing: Framing) -> None:
        """Nothing to tune."""

    def close(self) -> None:
        """Nothing to let go of."""
