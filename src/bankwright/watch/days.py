"""Days that are over, taken once by every room of Watch that keeps something.

Gives: keep_days(). Each step is on the disk when it is given: whoever stops goes on there.
Limits: how a day is taken is each room's own matter.
"""

from __future__ import annotations

from collections.abc import Iterator

from bankwright.bank.model import Bank
from bankwright.logbook.telemetry.store import Telemetry
from bankwright.watch.charge.daily import daily as charge_daily
from bankwright.watch.charge.facts import facts_of
from bankwright.watch.joints.daily import daily as joints_daily

__all__ = ["keep_days"]


def keep_days(bank: Bank, telemetry: Telemetry, until: float) -> Iterator[tuple[str, int]]:
    """Take what waits, a day at a time: of which room, and how many days of it are done."""
    if len(bank.modules) > 1:
        for done, _ in joints_daily(bank, telemetry, until):
            yield "joints", done
    facts, _ = facts_of(bank)
    done = 0
    while facts is not None and charge_daily(facts, telemetry, until, most=1):
        done += 1
        yield "charge", done
