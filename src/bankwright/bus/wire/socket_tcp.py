"""A TCP connection to a module, a gateway or a serial server: the one room that makes one, and asks over it.

Gives: TcpWire, HOST_PORT (502). Requests of Modbus carry running numbers, so a late answer is never taken for
another's; ASCII frames are told apart by address alone, as on their line.
Limits: no encryption, as the standard has none: keep such devices in a network of their own.
Source: MODBUS Messaging on TCP/IP Implementation Guide V1.0b, read as restated.
"""

from __future__ import annotations

import select
import socket
import time

from bankwright.bus.modbus.taken import Chunk, Taken
from bankwright.bus.spell import AnyRequest, taken_over_tcp, tcp_bytes
from bankwright.bus.timing import Framing
from bankwright.bus.wire.clock import machine_time
from bankwright.bus.wire.wire import WireGone

__all__ = ["HOST_PORT", "TcpWire"]

HOST_PORT = 502


class TcpWire:
    """An open connection."""

    def __init__(self, host: str, port: int = HOST_PORT, timeout: float = 3.0) -> None:
        """Connect; WireGone when nobody listens there."""
        self.name, self._number = f"{host}:{port}", 0
        try:
            self._socket = socket.create_connection((host, port), timeout)
        except (OSError, UnicodeError, OverflowError) as error:
            raise WireGone(f"{self.name} cannot be reached: {getattr(error, 'strerror', None) or error}") from None
        self._socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)

    @property
    def framing(self) -> Framing | None:
        """There are no characters with parity and stop bits in TCP."""
        return None

    def now(self) -> float:
        """The machine's own clock. [s]"""
        return machine_time()

    def sleep(self, seconds: float) -> None:
        """Let time pass."""
        if seconds > 0:
            time.sleep(seconds)

    def ask(self, request: AnyRequest) -> float:
        """Send with the next number."""
        self._number = self._number % 0xFFFF + 1
        try:
            self._socket.sendall(tcp_bytes(request, self._number))
        except OSError as error:
            raise WireGone(f"{self.name} went away: {error}") from None
        return self.now()

    def hear(self, until: float) -> Chunk:
        """Bytes as soon as some are there."""
        try:
            ready, _, _ = select.select([self._socket], [], [], max(until - self.now(), 0.0))
            raw = self._socket.recv(4096) if ready else b""
        except (OSError, ValueError) as error:
            raise WireGone(f"{self.name} went away: {error}") from None
        if ready and not raw:
            raise WireGone(f"{self.name} closed the connection")
        return Chunk(raw, bytes(len(raw)))

    def taken(self, request: AnyRequest, got: Chunk, echo_expected: bool) -> Taken:  # noqa: ARG002
        """What stands in the bytes received after the request; TCP has no echo."""
        return taken_over_tcp(request, self._number, got)

    def retune(self, framing: Framing) -> None:
        """Nothing to tune."""

    def close(self) -> None:
        """Close the connection."""
        self._socket.close()
