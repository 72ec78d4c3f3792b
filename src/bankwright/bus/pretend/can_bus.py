"""The pretend rack on a CAN bus that it makes itself, inside the machine: for practice with the real commands.

Gives: CanDoor (.port to listen at; .serve()). Frames go to a group address that never leaves the machine (no hop).
Limits: needs the extra `can`. The system may say on the network that the group was joined (IGMP).
No bit rate, no arbitration, no acknowledgement: frames pass as they are.
"""

from __future__ import annotations

import socket
import time
from collections import deque
from collections.abc import Callable
from typing import Any

from bankwright.bus.pretend.can_frames import CanRack, Spoken

__all__ = ["CanDoor"]

GROUP = "239.74.163.2"
MOST_OWN = 1000


class CanDoor:
    """A virtual bus; all that is heard on it beside the rack's own frames is counted: it should be nothing."""

    def __init__(self, rack: CanRack) -> None:
        """Make the bus, at a port that the system chooses; ImportError without the extra, OSError where none can be."""
        import can

        self._can = can
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as chooser:
            chooser.bind(("127.0.0.1", 0))
            number = chooser.getsockname()[1]
        self.rack, self.port = rack, f"udp:{GROUP}:{number}"
        try:
            self._bus = can.Bus(interface="udp_multicast", channel=GROUP, port=number, hop_limit=0, ignore_config=True)
        except can.CanError as error:
            raise OSError(str(error)) from None
        self._zero = time.monotonic()
        self._own: deque[tuple[int, bytes]] = deque(maxlen=MOST_OWN)  # the bus gives them back
        self.sent = self.of_others = 0

    def serve(self, goes_on: Callable[[], bool]) -> None:
        """Broadcast until `goes_on` says no (asked at least ten times a second)."""
        while goes_on():
            self.serve_once(0.1)

    def serve_once(self, wait: float) -> None:
        """Send what is due, then hear for a time."""
        for spoken in self.rack.frames(time.monotonic() - self._zero):
            message = self._message(spoken)
            self._own.append((message.arbitration_id, bytes(message.data)))
            self._send(message)
            self.sent += 1
        left = self.rack.due() - (time.monotonic() - self._zero)
        heard = self._bus.recv(min(max(left, 0.0), wait))
        if heard is not None and (heard.arbitration_id, bytes(heard.data)) not in self._own:
            self.of_others += 1

    def _send(self, message: Any) -> None:
        try:
            self._bus.send(message)
        except self._can.CanError as error:
            raise OSError(f"the bus inside this machine does not carry: {error}") from None

    def _message(self, spoken: Spoken) -> Any:
        return self._can.Message(
            arbitration_id=spoken.id,
            is_extended_id=spoken.extended,
            data=spoken.data or bytes(8),
            is_error_frame=spoken.data is None,
            is_fd=spoken.data is not None and len(spoken.data) > 8,
        )

    def close(self) -> None:
        """Let go of the bus."""
        self._bus.shutdown()
