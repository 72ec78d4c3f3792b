"""A CAN bus as a source of values: frames in, cycles out.

Gives: CanSource. Nothing is asked and nothing is sent: what comes is heard at the pace at which it is broadcast.
Limits: frames of one bus; of several values of one signal within a cycle the last is kept.
"""

from __future__ import annotations

from bankwright.bus.can.decode import CanFrame, Kind, Whose, read_frame
from bankwright.bus.can.port import Frames
from bankwright.bus.can.signals import CanMap
from bankwright.bus.can.tally import Tally
from bankwright.bus.listening import Listening
from bankwright.bus.passive import Arrival, Standing

__all__ = ["CanSource"]


class CanSource(Listening[CanFrame]):
    """An open bus with its map."""

    def __init__(self, port: Frames, can_map: CanMap, whose: Whose, every: float) -> None:
        """Begin to count."""
        super().__init__(port, Standing(dict.fromkeys(whose.values()), can_map.stale(), port.now()), every)
        self.port, self._map, self._whose, self.tally = port, can_map, whose, Tally()

    def take(self, came: CanFrame) -> None:
        """Count a frame, and let its values stand."""
        self.tally.count(came)
        if came.kind is Kind.DATA:
            said = read_frame(self._map, self._whose, came)
            self.tally.judge(came, said)
            for module, name, value in said.values:
                self.standing.take(Arrival(module, name, value, came.time))

    def told(self) -> str:
        """The words of the counts, which begin anew."""
        words, self.tally = self.tally.words(), Tally()
        return words
