"""A serial port: the one room that opens one, and asks over it.

Gives: SerialPort, Control, latency_timer(). Keeps the silence before each request, marks bad characters, names the
control lines.
Limits: POSIX terminals. The kernel raises both control lines for an instant when a port is opened, whatever is asked
(from memory); adapters that drive the line by a control line need it named in the bank file. Nothing here was tried
with a real adapter: pseudo-terminals only (docs/bus.md).
"""

from __future__ import annotations

import contextlib
import os
import select
import termios
import time
from dataclasses import dataclass
from pathlib import Path

import serial

from bankwright.bus.modbus.taken import Chunk, Taken
from bankwright.bus.spell import AnyRequest, serial_frame, taken_of
from bankwright.bus.timing import Framing
from bankwright.bus.wire.clock import machine_time
from bankwright.bus.wire.marks import Unmarker, mark_errors
from bankwright.bus.wire.wire import NotTunable, WireGone

__all__ = ["Control", "SerialPort", "latency_timer"]

SPIN = 0.0003  # s before a request that are not slept: a sleep ends late by about as much
_PARITY = {"even": serial.PARITY_EVEN, "odd": serial.PARITY_ODD, "none": serial.PARITY_NONE}


@dataclass(frozen=True, slots=True)
class Control:
    """Control lines of the port while it is open: on or off."""

    rts: bool = False
    dtr: bool = False


def latency_timer(path: str, sysfs: Path = Path("/sys/class/tty")) -> float | None:
    """How long a USB adapter may hold received bytes back, as the kernel tells; None where it does not. [s]"""
    try:
        return int((sysfs / os.path.basename(path) / "device" / "latency_timer").read_text("ascii")) / 1000
    except (OSError, ValueError):
        return None


def _why(error: Exception) -> str:
    """The system's word for what went wrong, without the library's; what has none is no serial port."""
    number = getattr(error, "errno", None)
    return os.strerror(number).lower() if number else "it is no serial port, or it cannot be set as the file says"


class SerialPort:
    """An open serial port."""

    def __init__(self, path: str, framing: Framing, control: Control | None = None) -> None:
        """Set speed, parity and control lines, then open; WireGone when that fails."""
        self.name, self._framing, self.control = path, framing, control or Control()
        self._port = serial.Serial()
        self._port.port, self._port.exclusive, self._port.timeout = path, True, 0
        self._port.rts, self._port.dtr = self.control.rts, self.control.dtr
        self._tune()
        try:
            self._port.open()
            self.marks_errors = mark_errors(self._port.fileno())
        except (OSError, serial.SerialException, termios.error, ValueError) as error:
            self._port.close()
            raise WireGone(f"{path} cannot be opened: {_why(error)}") from None
        self._unmark, self._last = Unmarker(), self.now()

    def _tune(self) -> None:
        self._port.baudrate, self._port.parity = self._framing.baud, _PARITY[self._framing.parity]
        self._port.stopbits = self._framing.stop_bits

    @property
    def framing(self) -> Framing:
        """How characters stand on the line."""
        return self._framing

    def now(self) -> float:
        """The machine's own clock. [s]"""
        return machine_time()

    def sleep(self, seconds: float) -> None:
        """Let time pass."""
        if seconds > 0:
            time.sleep(seconds)

    def ask(self, request: AnyRequest) -> float:
        """Wait for the silence, send, and tell when the last character has left."""
        frame = serial_frame(request)
        start = self._last + self._framing.t35
        self.sleep(start - self.now() - SPIN)
        while self.now() < start:
            pass
        try:
            os.write(self._port.fileno(), frame)
        except (OSError, serial.SerialException) as error:
            raise WireGone(f"{self.name} went away: {error}") from None
        self._last = self.now() + len(frame) * self._framing.character
        return self._last

    def hear(self, until: float) -> Chunk:
        """Characters as soon as some are there; none when the time is over."""
        try:
            ready, _, _ = select.select([self._port.fileno()], [], [], max(until - self.now(), 0.0))
            raw = os.read(self._port.fileno(), 4096) if ready else b""
        except (OSError, serial.SerialException, ValueError) as error:
            raise WireGone(f"{self.name} went away: {error}") from None
        if ready and not raw:
            raise WireGone(f"{self.name} went away")
        if raw:
            self._last = max(self._last, self.now())
        if self.marks_errors:
            return self._unmark.take(raw)
        return Chunk(raw, bytes(len(raw)))

    def taken(self, request: AnyRequest, got: Chunk, echo_expected: bool) -> Taken:
        """What stands in the characters received after the request."""
        return taken_of(request, got, echo_expected)

    def retune(self, framing: Framing) -> None:
        """Change speed and parity of the open port; what it held back is dropped."""
        before, self._framing = self._framing, framing
        try:
            self._tune()
        except (termios.error, ValueError):
            self._framing = before
            with contextlib.suppress(termios.error):
                self._tune()
            raise NotTunable(f"{self.name} does not take {framing}") from None
        except (OSError, serial.SerialException) as error:
            raise WireGone(f"{self.name} went away: {error}") from None
        self.marks_errors = mark_errors(self._port.fileno())
        self._port.reset_input_buffer()
        self._unmark = Unmarker()

    def close(self) -> None:
        """Let go of the port."""
        self._port.close()
