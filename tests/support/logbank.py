"""A bank of two modules for tests of the logbook, its clock, and short hands to enter things. All values are invented.

Gives: two_modules(), StepClock, clamp(), volts(), CLAMP.
"""

from __future__ import annotations

from datetime import datetime, timedelta, timezone
from functools import cache

from bankwright.bank.model import Bank
from bankwright.forms.readings import Instant, Instrument, Reading, band
from support.banks import bank_with, only

__all__ = ["CLAMP", "StepClock", "two_modules", "volts"]

CLAMP = Instrument("clamp", "voltage", percent_of_reading=0.005, digits=2, resolution=0.1, low=0.0, high=60.0)
_START = datetime(2026, 3, 1, 9, 0, 0, tzinfo=timezone(timedelta(hours=1)))


class StepClock:
    """A clock that is set by hand: `wall` and `monotonic` are moved apart by a test."""

    def __init__(self, known: bool | None = True) -> None:
        self.wall, self.monotonic, self.boot, self.known = 0.0, 100.0, "boot-a", known

    def passes(self, seconds: float) -> None:
        self.wall += seconds
        self.monotonic += seconds

    def now(self) -> Instant:
        wall = (_START + timedelta(seconds=self.wall)).isoformat(timespec="milliseconds")
        return Instant(wall, self.boot, self.monotonic, self.known)


@cache
def two_modules() -> Bank:
    module = only("cells", "discharge.continuous", posts={"stud": "M8", "torque": "10 N m"})
    wiring = {"pattern": "chain", "feed": "same end", "link": {"length": "320 mm"}}
    clamp = {
        "name": "clamp", "quantity": "voltage", "accuracy": "0.5 % + 2 digits", "resolution": "0.1 V",
        "range": "0 V to 60 V",
    }  # fmt: skip
    return bank_with(2, module, wiring=wiring, more={"instruments": [clamp]})


def volts(at: str, value: float, id_: str = "", when: Instant | None = None, corrects: str | None = None) -> Reading:
    limits = band(value, CLAMP)
    assert limits is not None
    moment = when or Instant("2026-03-01T09:00:00+01:00", "boot-a", 100.0, True)
    return Reading("voltage", at, value, *limits, "clamp", f"{value:g} V", "Kim", moment, id=id_, corrects=corrects)
