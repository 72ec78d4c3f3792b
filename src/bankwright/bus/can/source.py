"""A CAN bus as a source of values: frames in, cycles out.

Gives: CanSource. Nothing is asked and nothing is sent: what comes is heard at the pace at which it is broadcast.
Limits: frames of one bus; of several values of one signal within a cycle the last is kept.
"""

from __future__ import annotations

from bankwright.bus.can.decode import Kind, Whose, read_frame
from bankwright.bus.can.port import Frames
from bankwright.bus.can.signals import CanMap
from bankwright.bus.can.tally import Tally
from bankwright.bus.passive import Arrival, Standing
from bankwright.bus.poll import Cycle

__all__ = ["CanSource"]

MOST_LATE = 20000  # frames that waited, taken at once: a bus at 1 Mbit/s brings fewer in a second


class CanSource:
    """An open bus with its map."""

    def __init__(self, port: Frames, can_map: CanMap, whose: Whose, every: float) -> None:
        """Begin to count."""
        self.name, self.port, self._map, self._whose, self._every = port.name, port, can_map, whose, every
        modules = dict.fromkeys(whose.values())
        self.standing = Standing(modules, can_map.stale(), port.now())
        self.tally = Tally()
        self._due = port.now() + every

    def now(self) -> float:
        """The port's clock. [s]"""
        return self.port.now()

    def sleep(self, seconds: float) -> None:
        """Go on listening."""
        self.listen(self.now() + seconds)

    def listen(self, until: float) -> None:
        """Take every frame until then, and what waits already when the time is over."""
        late = 0
        while late < MOST_LATE:
            frame = self.port.hear(until)
            if frame is None:
                if self.port.now() >= until:
                    return
                continue
            late += frame.time >= until
            self.tally.count(frame)
            if frame.kind is Kind.DATA:
                said = read_frame(self._map, self._whose, frame)
                self.tally.judge(frame, said)
                for module, name, value in said.values:
                    self.standing.take(Arrival(module, name, value, frame.time))

    def cycle(self) -> Cycle:
        """Listen until the time of a cycle is over; then what came."""
        self.listen(self._due)
        self._due = max(self._due + self._every, self.now())
        words, self.tally = self.tally.words(), Tally()
        return self.standing.cycle(self.now(), words)

    def close(self) -> None:
        """Let go of the bus."""
        self.port.close()
