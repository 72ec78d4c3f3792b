"""The pretend rack on a TCP port of the loopback address, which it makes itself: for practice with the real commands.

Gives: Loopback (.port; .serve()). Modules answer behind one connection at a time, as behind a small gateway or serial
server.
Limits: no wire time.
"""

from __future__ import annotations

import select
import socket
import time
from collections.abc import Callable

from bankwright.bus.pretend.behind import answered, cut
from bankwright.bus.pretend.line import Line
from bankwright.bus.pretend.module import Answering

__all__ = ["Loopback"]


class Loopback:
    """Modules served on 127.0.0.1, at a port that the system chooses."""

    def __init__(self, line: Line) -> None:
        """Make the port."""
        self._modules: dict[int, Answering] = {module.unit: module for module in line.modules}
        self._line, self._zero = line, time.monotonic()
        self._door = socket.socket()
        self._door.bind(("127.0.0.1", 0))
        self._door.listen(1)
        self.port: int = self._door.getsockname()[1]
        self._caller: socket.socket | None = None
        self._got = b""

    def serve(self, goes_on: Callable[[], bool]) -> None:
        """Answer until `goes_on` says no (asked at least ten times a second)."""
        while goes_on():
            self.serve_once(0.1)

    def serve_once(self, wait: float) -> None:
        """Take what there is within a time."""
        listened = [self._door] if self._caller is None else [self._door, self._caller]
        ready, _, _ = select.select(listened, [], [], wait)
        if self._door in ready:
            if self._caller is not None:
                self._caller.close()
            self._caller, self._got = self._door.accept()[0], b""
        elif ready and self._caller is not None:
            self._hear(self._caller)

    def _hear(self, caller: socket.socket) -> None:
        try:
            raw = caller.recv(4096)
            frames, self._got = cut(self._got + raw)
            for frame in frames:
                caller.sendall(self._answer(frame))
        except OSError:
            raw = b""
        if not raw:
            caller.close()
            self._caller = None

    def _answer(self, frame: bytes) -> bytes:
        now = time.monotonic() - self._zero
        self._line.counts.requests += 1
        self._line.counts.frames.append(frame)
        self._line.counts.characters += len(frame)
        gone = {t.at for t in self._line.troubles if t.kind in ("off", "reboot", "unplug") and t.at and t.on(t.at, now)}
        there = {unit: module for unit, module in self._modules.items() if module.name not in gone}
        return answered(there, frame, now)

    def close(self) -> None:
        """Let go of the port."""
        if self._caller is not None:
            self._caller.close()
        self._door.close()
