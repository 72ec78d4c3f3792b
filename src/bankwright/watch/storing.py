"""Storing while the disk may be full or another program may hold the logbook: polls and alarms go on without it.

Gives: Storing. What could not be stored is lost and said, once an outage; the first thing that is stored again is the
event of how much that was.
Limits: what is read while nothing can be stored is judged, and told to whoever is told of alarms; it is not kept.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from bankwright.forms.readings import Columns
from bankwright.logbook.errors import LogbookError
from bankwright.logbook.telemetry.store import Telemetry

__all__ = ["LOST", "Storing"]

LOST = "not-stored"  # event after an outage: how many times nothing could be stored, and why


class Storing:
    """The logbook as the listener writes it; `broken(words)` is called when an outage begins."""

    def __init__(self, telemetry: Telemetry, broken: Callable[[str], None]) -> None:
        """Nothing was lost yet."""
        self.why = ""
        self._telemetry, self._broken, self._lost = telemetry, broken, 0

    def append(self, *columns: Columns) -> bool:
        """Store what was read; whether it was."""
        return self.tried(lambda: self._telemetry.append(*columns))

    def event(self, code: str, *, at: str = "", **detail: Any) -> bool:
        """Store that something happened; whether it was."""
        return self.tried(lambda: self._telemetry.event(code, at=at, **detail))

    def tried(self, act: Callable[[], object]) -> bool:
        """Whether something could be done with the logbook."""
        try:
            if self._lost:
                self._telemetry.event(LOST, times=self._lost, words=self.why)
                self.why, self._lost = "", 0
            act()
        except LogbookError as error:
            is_new, self.why = not self._lost, str(error)
            self._lost += 1
            if is_new:
                self._broken(self.why)
            return False
        return True
