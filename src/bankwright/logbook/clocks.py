"""Time as it was known: wall clock with zone, the machine's own clock,
and whether the wall clock was known to be right.

Gives: Clock, SystemClock, jump(), corrected(), wall_seconds().
A step of the wall clock is told by comparing both clocks.
Limits: nothing stored is ever rewritten; corrected() only says what the time of an earlier row of the same boot
must have been. Without a boot id (other systems than Linux) only a wall clock that runs backwards is told.
Sources: clock_gettime(2), CLOCK_BOOTTIME counts suspend and is slewed, not stepped; adjtimex(2), returned
TIME_ERROR (5) means not synchronised [both from memory].
"""

from __future__ import annotations

import ctypes
import time
from dataclasses import replace
from datetime import datetime, timedelta
from functools import lru_cache
from pathlib import Path
from typing import Protocol

from bankwright.forms.readings import Instant

__all__ = ["Clock", "SystemClock", "corrected", "jump", "wall_seconds"]

STEP = 0.5  # s, a smaller difference of the two clocks is not called a jump; common practice, no source
_TIME_ERROR = 5


class Clock(Protocol):
    """Whatever can say what time it is."""

    def now(self) -> Instant:
        """Return the present moment."""
        ...


class SystemClock:
    """The clocks of this machine."""

    def now(self) -> Instant:
        """Read wall clock and machine clock."""
        wall = datetime.now().astimezone().isoformat(timespec="milliseconds")
        return Instant(wall, _boot_id(), round(_since_boot(), 6), _synchronised())


def _since_boot() -> float:
    boottime = getattr(time, "CLOCK_BOOTTIME", None)
    return time.monotonic() if boottime is None else time.clock_gettime(boottime)


@lru_cache(maxsize=1)
def _boot_id() -> str:
    try:
        return Path("/proc/sys/kernel/random/boot_id").read_text("ascii").replace("-", "").strip()[:12]
    except OSError:
        return ""


@lru_cache(maxsize=1)
def _adjtimex() -> object | None:
    if not _boot_id():
        return None
    try:
        return getattr(ctypes.CDLL(None), "adjtimex", None)
    except OSError:
        return None


def _synchronised() -> bool | None:
    """Ask the kernel whether its clock is disciplined; None where it cannot be asked."""
    ask = _adjtimex()
    if ask is None:
        return None
    state = ask(ctypes.create_string_buffer(512))  # type: ignore[operator]  # modes = 0: reads, sets nothing
    return None if state < 0 else state != _TIME_ERROR


def wall_seconds(moment: Instant) -> float:
    """Return the wall time in seconds since 1970, whatever its zone. [s]"""
    return datetime.fromisoformat(moment.wall).timestamp()


def jump(before: Instant, after: Instant) -> float | None:
    """Seconds that the wall clock stepped between two rows; None when it ran on.

    Within one boot both clocks are compared. Across boots only a wall clock that went backwards can be told.
    """
    wall = wall_seconds(after) - wall_seconds(before)
    same = before.boot and before.boot == after.boot
    if same and before.monotonic is not None and after.monotonic is not None:
        step = wall - (after.monotonic - before.monotonic)
        return step if abs(step) > STEP else None
    return wall if wall < -STEP else None


def corrected(row: Instant, known: Instant) -> Instant | None:
    """What the time of `row` must have been, from a later moment of the same boot whose clock was known to be right."""
    if not known.clock_known or not row.boot or row.boot != known.boot:
        return None
    if row.monotonic is None or known.monotonic is None:
        return None
    wall = datetime.fromisoformat(known.wall) - timedelta(seconds=known.monotonic - row.monotonic)
    return replace(row, wall=wall.isoformat(timespec="milliseconds"), clock_known=True)
