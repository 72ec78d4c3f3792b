"""Looks at joints once an hour, in a thread of its own with a connection of its own: no poll waits for it.

Gives: Looker, LOOK_EVERY. Days that are over are kept first, then joints are judged with the hours up to now, then the
week is told where it is due; what comes of it waits until the listener fetches it.
Limits: one look at a time; where one takes longer than an hour the next begins after it. A look that breaks is told
once as an event and tried again at the next. A full disk keeps no days, and joints are judged by those that are kept.
"""

from __future__ import annotations

import threading
from collections.abc import Collection
from contextlib import closing, suppress
from pathlib import Path
from queue import SimpleQueue

from bankwright.bank.model import Bank
from bankwright.logbook.clocks import Clock, wall_seconds
from bankwright.logbook.errors import LogbookDiskFull, LogbookError
from bankwright.logbook.telemetry.store import Telemetry
from bankwright.watch.alarms.rules import Judgement
from bankwright.watch.days import keep_days, may_take
from bankwright.watch.growing import joint_judgements
from bankwright.watch.joints.daily import keep_open_day
from bankwright.watch.joints.section import look
from bankwright.watch.report import asked_at
from bankwright.watch.say.weekly import Weekly

__all__ = ["LOOK_EVERY", "Looker"]

LOOK_EVERY = 3600.0  # s
SHOWN = 2 * 86400.0  # s before now that are judged


class Looker:
    """`look()` begins one beside the caller; `judgements` is what the last that ended said."""

    def __init__(self, bank: Bank, path: Path, clock: Clock, weekly: Weekly | None = None) -> None:
        """Nothing is looked at yet; `weekly` is asked after each look."""
        self.judgements: tuple[Judgement, ...] = ()
        self.weeks: SimpleQueue[str] = SimpleQueue()  # messages that wait to be sent
        self._weekly = weekly
        self._bank, self._path, self._clock = bank, path, clock
        self._thread: threading.Thread | None = None
        self._stopped = threading.Event()
        self._broken = ""

    def look(self, standing: Collection[str]) -> None:
        """Begin a look, unless one is under way; `standing`: places whose alarm stands."""
        if self._thread is None or not self._thread.is_alive():
            self._thread = threading.Thread(target=self._run, args=(frozenset(standing),), daemon=True, name="joints")
            self._thread.start()

    def wait(self, seconds: float) -> bool:
        """Whether the look under way ended within so long."""
        if self._thread is not None:
            self._thread.join(seconds)
        return self._thread is None or not self._thread.is_alive()

    def close(self, patience: float = 10.0) -> None:
        """End after the day that is being taken."""
        self._stopped.set()
        self.wait(patience)

    def _run(self, standing: Collection[str]) -> None:
        try:
            with Telemetry(self._path, clock=self._clock) as telemetry:
                self._look(telemetry, standing)
            self._broken = ""
        except Exception as error:  # the listener goes on whatever this comes to
            words = f"{type(error).__name__}: {error}"
            if words != self._broken:
                with suppress(LogbookError), Telemetry(self._path, clock=self._clock) as telemetry:
                    telemetry.event("look-broken", words=words)
                    self._broken = words

    def _look(self, telemetry: Telemetry, standing: Collection[str]) -> None:
        now = self._clock.now()
        with suppress(LogbookDiskFull):  # the listener tells of it
            self._take(telemetry, wall_seconds(now))
        if self._stopped.is_set():
            return
        if len(self._bank.modules) > 1:
            asked = asked_at(self._bank, telemetry, wall_seconds(now) - SHOWN, now)
            with suppress(LogbookDiskFull):
                keep_open_day(self._bank, telemetry, asked.until)
            self.judgements = tuple(joint_judgements(look(asked), asked.until, standing))
        if self._weekly is not None and (words := self._weekly.tell(telemetry, now)):
            self.weeks.put(words)

    def _take(self, telemetry: Telemetry, until: float) -> None:
        """Take the days that are over; whoever looks at the bank meanwhile leaves them to us, and we to them."""
        with may_take(telemetry) as free, closing(keep_days(self._bank, telemetry, until)) as days:
            while free and not self._stopped.is_set() and next(days, None) is not None:
                pass
