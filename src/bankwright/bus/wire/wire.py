"""What a wire is: something that a reading request can be asked over, and that can be listened to.

Gives: Wire (protocol), WireGone, NotTunable. Time is the wire's own clock: real for ports, virtual in the pretend rack.
Limits: a wire takes requests, never bytes: what is no request cannot be handed over.
"""

from __future__ import annotations

from typing import Protocol

from bankwright.bus.modbus.taken import Chunk, Taken
from bankwright.bus.spell import AnyRequest
from bankwright.bus.timing import Framing

__all__ = ["NotTunable", "Wire", "WireGone"]


class WireGone(Exception):
    """The port or the connection went away, or could not be opened; the words say which and why."""


class NotTunable(WireGone):
    """The port does not take this speed or parity; it stays as it was. A pseudo-terminal takes no parity."""


class Wire(Protocol):
    """A serial line, a TCP connection or the pretend rack's own line."""

    name: str

    @property
    def framing(self) -> Framing | None:
        """How characters stand on the line; None where it has none (TCP)."""

    def now(self) -> float:
        """The wire's clock. [s]"""

    def sleep(self, seconds: float) -> None:
        """Let time pass without listening."""

    def ask(self, request: AnyRequest) -> float:
        """Send after the silence that the line demands; gives the moment when the last character has left. [s]"""

    def hear(self, until: float) -> Chunk:
        """What comes next, as soon as something comes; empty when nothing came until then."""

    def taken(self, request: AnyRequest, got: Chunk, echo_expected: bool) -> Taken:
        """What stands in the bytes received after the request."""

    def retune(self, framing: Framing) -> None:
        """Listen and ask with another framing from now on; NotTunable when the port does not take it."""

    def close(self) -> None:
        """Let go of the port."""
