"""What the modules' own readings may never tell of how a bank runs, and the reading by hand that stands in.

Gives: NO_WARMTH, NO_HEAT, NO_DRAW, NO_ROUND_TRIP, NO_SHARE.
Limits: each is told only while its finding is unknown.
Sources: intervals: common practice, no source.
"""

from __future__ import annotations

from bankwright.forms.origin import Source
from bankwright.watch.section import StandIn

__all__ = ["NO_DRAW", "NO_HEAT", "NO_ROUND_TRIP", "NO_SHARE", "NO_WARMTH"]

QUARTER, YEAR = 91 * 86400.0, 365 * 86400.0
PRACTICE = Source("interval", how_known="common practice, no source")

NO_WARMTH = StandIn(
    "temperatures", "no line tells them", "temperatures by hand",
    "Read a thermometer on every module, with the load on and at rest, and write them down.",
    QUARTER, PRACTICE, "quarterly", ("W-WARM-1",),
)  # fmt: skip
NO_HEAT = StandIn(
    "warmth under load", "the load hardly warms the modules", "a look under load",
    "Load the bank for some hours at a quarter of its capacity an hour, and read every module's temperature.",
    YEAR, PRACTICE, "quarterly", ("W-WARM-2",),
)  # fmt: skip
NO_DRAW = StandIn(
    "the standing draw", "small currents are within what the sensors may be off", "a meter for small currents",
    "Read a clamp meter for small currents on the main cable, with everything idle.",
    YEAR, PRACTICE, "standing draw", ("W-STAND-1",),
)  # fmt: skip
NO_ROUND_TRIP = StandIn(
    "the round trip", "both ends are not known well enough", "a capacity test",
    "Test the capacity: full, down to the end at a fifth of the capacity an hour, and back (bankwright prove).",
    YEAR, PRACTICE, "capacity test", ("W-ROUND-1",),
)  # fmt: skip
NO_SHARE = StandIn(
    "shares under load", "the bank carries too little", "currents under load",
    "Load the bank and read a clamp meter at every module.",
    YEAR, PRACTICE, "quarterly", ("W-TRIP-3",),
)  # fmt: skip
