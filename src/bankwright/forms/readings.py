"""Measured values: a reading by hand, and the instrument it was taken with.

Gives: Reading, Instrument, Instant, band(). Telemetry is columns, never one object a value (Columns); each value has
a quality: GOOD, OUTSIDE (of its range, kept), NOT_AVAILABLE (the source said so), MISSING,
TIME_UNSURE (good, at a doubtful time).
Limits: storage is in logbook/, parsing of text in bank/file/quantity_text.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

__all__ = [
    "GOOD",
    "MISSING",
    "NOT_AVAILABLE",
    "OUTSIDE",
    "TIME_UNSURE",
    "Columns",
    "Instant",
    "Instrument",
    "Reading",
    "band",
]

GOOD, OUTSIDE, NOT_AVAILABLE, MISSING, TIME_UNSURE = range(5)


@dataclass(frozen=True, slots=True)
class Instant:
    """A moment: wall time with zone, and the machine's own clock, so that a jump can be told."""

    wall: str  # ISO 8601 with offset: "2026-11-25T14:02:11+01:00"
    boot: str = ""  # id of the boot that `monotonic` counts from
    monotonic: float | None = None  # s since boot
    clock_known: bool | None = None  # was the clock known to be right; None: not known


@dataclass(frozen=True, slots=True)
class Instrument:
    """A named meter with the accuracy of its data sheet on one range."""

    name: str
    quantity: str
    percent_of_reading: float | None = None  # fraction: 0.005 for 0.5 %
    digits: float | None = None  # counts of the last digit
    resolution: float | None = None  # one count, in SI
    low: float | None = None  # range
    high: float | None = None
    zero: float | None = None  # of a clamp: how far its zero may lie off; None: its digits
    place: float | None = None  # of a clamp: share by place in the jaws

    @property
    def accuracy_known(self) -> bool:
        """True when the data sheet's accuracy is given."""
        return self.percent_of_reading is not None


def band(value: float, instrument: Instrument | None) -> tuple[float, float] | None:
    """Limits of the true value: -+ (percent of reading + digits x resolution); None if the accuracy is not known."""
    if instrument is None or instrument.percent_of_reading is None:
        return None
    count = (instrument.digits or 0.0) * (instrument.resolution or 0.0)
    half = abs(value) * instrument.percent_of_reading + count
    return (value - half, value + half)


@dataclass(frozen=True, slots=True)
class Reading:
    """One value read by hand."""

    quantity: str
    at: str  # post, module, joint, link, cell: a name in the bank
    value: float
    low: float | None
    high: float | None
    instrument: str | None
    as_typed: str
    who: str
    when: Instant
    origin: str = "by hand"  # how known: "by hand", "from file readings.csv", "BMS display"
    id: str = ""
    corrects: str | None = None

    def __post_init__(self) -> None:
        """Refuse a value that is not a number."""
        if not math.isfinite(self.value):
            raise ValueError("a reading is a finite number")


@dataclass(frozen=True, slots=True)
class Columns:
    """Telemetry: one quantity at several places over time; NaN where missing, quality 0 = good."""

    quantity: str
    at: tuple[str, ...]
    time: np.ndarray  # (time,) s
    value: np.ndarray  # (time, at)
    quality: np.ndarray  # (time, at) uint8
