"""Bringing the write-ahead log into the file when nobody writes, so that a lost log costs little.

Gives: Settling. One second after the last commit, and every ten seconds of steady writing, what stands in
the log alone is copied into the file and synced. Who then loses the log loses what came after that.
Limits: a killed program has copied nothing since its last pause; the next one that opens the file to write does it.
Sources: SQLite documentation, PRAGMA wal_checkpoint(PASSIVE): waits for nobody [from memory].
"""

from __future__ import annotations

import sqlite3
import threading
import time
from contextlib import suppress

__all__ = ["IDLE", "STEADY", "Settling"]

IDLE, STEADY = 1.0, 10.0  # s without a commit; s of steady writing


def _settled(connection: sqlite3.Connection) -> None:
    """Copy the log into the file as far as nobody needs it; a busy or full disk is left to the next time."""
    with suppress(sqlite3.Error):
        connection.execute("PRAGMA wal_checkpoint(PASSIVE)")


class Settling:
    """Watches one connection, under the lock that its writers hold."""

    def __init__(self, connection: sqlite3.Connection, lock: threading.RLock) -> None:
        """Prepare; nothing runs before the first commit."""
        self._connection, self._lock = connection, lock
        self._timer: threading.Timer | None = None
        self._last, self._since = 0.0, 0.0

    def committed(self) -> None:
        """Something was stored; the caller holds the lock."""
        self._last = time.monotonic()
        if self._timer is None:
            self._since = self._last
            self._again(IDLE)

    def end(self) -> None:
        """No more; the caller holds the lock. Closing the last connection copies what is left."""
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None

    def _again(self, after: float) -> None:
        self._timer = threading.Timer(after, self._look)
        self._timer.daemon = True
        self._timer.start()

    def _look(self) -> None:
        with self._lock:
            if self._timer is None:
                return
            now = time.monotonic()
            rest = IDLE - (now - self._last)
            if rest > 0.05 and now - self._since < STEADY:
                self._again(rest)
                return
            _settled(self._connection)
            self._timer = None
