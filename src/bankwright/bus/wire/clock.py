"""The machine's own clock, as the logbook's telemetry takes it: seconds since the start, suspended time included.

Gives: machine_time(). Limits: steps of the wall clock do not touch it; where the system has no such clock, time in
suspend is not counted. Source: clock_gettime(2), CLOCK_BOOTTIME, from memory.
"""

from __future__ import annotations

import time

__all__ = ["machine_time"]


def machine_time() -> float:
    """Seconds since the machine started. [s]"""
    clock = getattr(time, "CLOCK_BOOTTIME", None)
    return time.monotonic() if clock is None else time.clock_gettime(clock)
