"""The pretend rack on a pseudo-terminal that it makes itself: for practice with the real commands.

Gives: Terminal (.path to open in another program; .serve()). Wire time is emulated; silences are counted by arrival.
Limits: a pseudo-terminal has no speed, parity or bad characters: bytes pass as they are, in their time.
"""

from __future__ import annotations

import os
import select
import time
import tty
from collections.abc import Callable

from bankwright.bus.pretend.line import Line

__all__ = ["Terminal"]

SPIN = 0.0003  # s before a delivery that are not slept


class Terminal:
    """A line served on a pseudo-terminal."""

    def __init__(self, line: Line) -> None:
        """Make the pseudo-terminal; `path` is its name."""
        self.line = line
        self._master, self._slave = os.openpty()
        tty.setraw(self._master)
        tty.setraw(self._slave)
        self.path = os.ttyname(self._slave)
        self._zero = time.monotonic()

    def _now(self) -> float:
        return time.monotonic() - self._zero

    def serve(self, goes_on: Callable[[], bool]) -> None:
        """Answer until `goes_on` says no (asked at least ten times a second)."""
        while goes_on():
            wait = min(max(self.line.due() - self._now() - SPIN, 0.0), 0.1)
            ready, _, _ = select.select([self._master], [], [], wait)
            if ready:
                self._take()
            self._give()

    def _take(self) -> None:
        arrived = self._now()
        frame = os.read(self._master, 1024)
        self.line.request(frame, arrived)

    def _give(self) -> None:
        moment = self.line.due()
        if moment - self._now() > SPIN:
            return
        while self._now() < moment:
            pass
        while (delivery := self.line.next(self._now())) is not None:
            os.write(self._master, delivery.chunk.data)

    def close(self) -> None:
        """Let go of both ends."""
        os.close(self._master)
        os.close(self._slave)
