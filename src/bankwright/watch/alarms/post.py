"""The post: messages wait for each way by itself, are tried again, and are never more than so many an hour.

Gives: Post, MESSAGES, TRIES, WAITS. The listener hands messages in and goes on; a thread delivers. What could not be
delivered after all tries, and what was left out because there were too many, is told to the logbook by `lost`.
Limits: what waits is in memory: a killed program loses it, the event of the alarm itself stands in the logbook.
"""

from __future__ import annotations

import queue
import threading
import time
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import replace

from bankwright.watch.alarms.ways import Message, NotDelivered, Way

__all__ = ["MESSAGES", "TRIES", "WAITS", "Post"]

TRIES, WAITS = 4, (2.0, 10.0, 60.0)  # tries, and s between them; common practice, no source
MESSAGES = 12  # an hour, each way
HOUR = 3600.0


class Post:
    """Delivers messages by every way; `lost(way, message, why)` is called for what did not arrive."""

    def __init__(
        self,
        ways: Sequence[Way],
        lost: Callable[[str, Message, str], None],
        most: int = MESSAGES,
        waits: Sequence[float] = WAITS,
    ) -> None:
        """Start a thread for each way."""
        self._lost, self._most, self._waits = lost, most, tuple(waits)
        self._stopped = threading.Event()
        self._boxes: list[queue.Queue[Message | None]] = []
        self._threads = []
        for way in ways:
            box: queue.Queue[Message | None] = queue.Queue(1000)
            thread = threading.Thread(target=self._serve, args=(way, box), daemon=True)
            self._boxes.append(box)
            self._threads.append(thread)
            thread.start()

    def send(self, message: Message) -> None:
        """Hand a message in; it does not wait."""
        for box in self._boxes:
            try:
                box.put_nowait(message)
            except queue.Full:
                self._lost("post", message, "too many wait already")

    def close(self, patience: float = 5.0) -> None:
        """Deliver what waits, for so long at most, and end."""
        for box in self._boxes:
            box.put(None)
        end = time.monotonic() + patience
        for thread in self._threads:
            thread.join(max(end - time.monotonic(), 0.0))
        self._stopped.set()

    def _serve(self, way: Way, box: queue.Queue[Message | None]) -> None:
        sent: deque[float] = deque()
        left_out = 0
        while (message := box.get()) is not None:
            now = time.monotonic()
            while sent and now - sent[0] > HOUR:
                sent.popleft()
            if len(sent) >= self._most:
                left_out += 1
                self._lost(way.name, message, f"more than {self._most} messages an hour")
                continue
            if left_out:
                message = replace(message, words=f"{message.words} ({left_out} messages before it were left out)")
                left_out = 0
            sent.append(now)
            self._deliver(way, message)

    def _deliver(self, way: Way, message: Message) -> None:
        why = ""
        for number in range(TRIES):
            try:
                way.deliver(message)
                return
            except NotDelivered as error:
                why = str(error)
            except Exception as error:  # a way that breaks must not end the post
                why = f"{type(error).__name__}: {error}"
            if number < TRIES - 1 and self._stopped.wait(self._waits[min(number, len(self._waits) - 1)]):
                break
        self._lost(way.name, message, why)
