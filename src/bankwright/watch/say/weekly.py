"""When the listener tells the week by itself: once a week from a moment on that the bank file names, never twice.

Gives: Weekly. What it tells becomes an event of the logbook, and goes out by the ways of the file.
Limits: the moment is of the computer's own zone, and is looked for at the hourly look, so the week comes within the
hour after it. A listener that did not run then tells the last one when it runs again; the first ever waits for its
first moment. What was told is kept before it is sent: a program killed in between leaves the event and no message.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from bankwright.forms.readings import Instant
from bankwright.logbook.clocks import wall_seconds
from bankwright.logbook.telemetry.store import Telemetry

__all__ = ["TOLD", "Weekly"]

TOLD = "week-told"  # code of the event; its words are the message
_NAME, _FORM = "week-told", 1
DAY = 86400.0


@dataclass(frozen=True, slots=True)
class Weekly:
    """From `minute` of a week that begins with Monday on; `words` makes the message."""

    minute: int
    words: Callable[[], str]

    def tell(self, telemetry: Telemetry, now: Instant) -> str:
        """The message, where it is due now; an empty text where it is not."""
        due, present = self.due(now), wall_seconds(now)
        told = _told(telemetry)
        if told is None or told > present + DAY:  # the first ever, or a clock that stood in the future
            _keep(telemetry, due)
            return ""
        if due <= told:
            return ""
        words = self.words()
        _keep(telemetry, due)
        telemetry.event(TOLD, words=words)
        return words

    def due(self, now: Instant) -> float:
        """The last such moment, s since 1970."""
        here = datetime.fromisoformat(now.wall).replace(second=0, microsecond=0)
        past = (here.weekday() * 1440 + here.hour * 60 + here.minute - self.minute) % 10080
        return (here - timedelta(minutes=past)).timestamp()


def _told(telemetry: Telemetry) -> float | None:
    state = telemetry.state(_NAME)
    try:
        return None if state is None or state.version != _FORM else float(json.loads(state.blob))
    except (ValueError, TypeError):
        return None


def _keep(telemetry: Telemetry, due: float) -> None:
    telemetry.put_state(_NAME, _FORM, json.dumps(due).encode())
