"""All checks of Plan, in one explicit tuple; one file a subject, one function a check.

Gives: CHECKS. Limits: the tuple is written by hand; a test proves that every file is in it.
"""

from __future__ import annotations

from bankwright.forms.checks import Check
from bankwright.plan.checks import (
    bar,
    cable,
    cells,
    charge,
    clearing,
    device,
    device_volts,
    drop,
    earthing,
    fault,
    joint,
    number,
    order,
    place,
    post,
    precharge,
    reach,
    share,
    shunt,
    start,
    switching,
    trips,
    volts,
)

__all__ = ["CHECKS"]

CHECKS: tuple[Check, ...] = (
    *share.CHECKS,
    *trips.CHECKS,
    *cable.CHECKS,
    *drop.CHECKS,
    *post.CHECKS,
    *device.CHECKS,
    *device_volts.CHECKS,
    *fault.CHECKS,
    *reach.CHECKS,
    *clearing.CHECKS,
    *order.CHECKS,
    *joint.CHECKS,
    *bar.CHECKS,
    *charge.CHECKS,
    *cells.CHECKS,
    *precharge.CHECKS,
    *volts.CHECKS,
    *place.CHECKS,
    *number.CHECKS,
    *earthing.CHECKS,
    *shunt.CHECKS,
    *start.CHECKS,
    *switching.CHECKS,
)
