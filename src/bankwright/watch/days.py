"""Days that are over, taken once by every room of Watch that keeps something: growth of joints, state of charge.

Gives: keep_days(), look_again(), waiting(), Step, may_take(). A listener takes them as they close; whoever looks where
none did takes them then. Whoever stops goes on there: a day of joints is on the disk when it is given, of the state of
charge at most a second of work is done again.
Limits: how a day is taken is each room's own matter. Cells, temperature, draw, limits and trips keep nothing of their
own: they are judged from the sums of the telemetry each time, and from the anchors that the state of charge keeps.
"""

from __future__ import annotations

import json
from collections.abc import Generator
from contextlib import AbstractContextManager
from dataclasses import dataclass

from bankwright.bank.model import Bank
from bankwright.logbook.hold import held
from bankwright.logbook.telemetry.store import Telemetry
from bankwright.watch.charge import daily as charge
from bankwright.watch.charge.facts import facts_of
from bankwright.watch.joints import daily as joints

__all__ = ["Step", "keep_days", "look_again", "may_take", "waiting"]

_AGAIN, _FORM = "looks-again", 1  # rooms that an interrupted look from the first day on is through with


@dataclass(frozen=True, slots=True)
class Step:
    """A day that was taken: for which room, how many are done, and of how many."""

    room: str
    done: int
    of: int


def may_take(telemetry: Telemetry) -> AbstractContextManager[bool]:
    """Hold the days of a logbook while they are taken; False where another program takes them now."""
    return held(telemetry.path, "days")


def waiting(bank: Bank, telemetry: Telemetry, until: float) -> int:
    """How many days are over and were not taken yet by some room."""
    facts, _ = facts_of(bank)
    counts = [0 if facts is None else charge.waiting(facts, telemetry, until)]
    if len(bank.modules) > 1:
        counts.append(joints.waiting(telemetry, until))
    return max(counts)


def keep_days(bank: Bank, telemetry: Telemetry, until: float) -> Generator[Step, None, None]:
    """Take what waits, a day at a time."""
    if len(bank.modules) > 1:
        for done, of in joints.daily(bank, telemetry, until):
            yield Step("joints", done, of)
    facts, _ = facts_of(bank)
    if facts is not None:
        for done, of in charge.taken(facts, telemetry, until):
            yield Step("state of charge", done, of)


def look_again(bank: Bank, telemetry: Telemetry, until: float) -> Generator[Step, None, None]:
    """Take every day anew from the raw telemetry, for every room; whoever stops goes on there."""
    past = _through(telemetry)
    if len(bank.modules) > 1 and "joints" not in past:
        for done, of in joints.rebuilt(bank, telemetry, until):
            yield Step("joints", done, of)
        telemetry.put_state(_AGAIN, _FORM, json.dumps(["joints"]).encode())
    facts, _ = facts_of(bank)
    if facts is not None:
        for done, of in charge.rebuilt(facts, telemetry, until):
            yield Step("state of charge", done, of)
    telemetry.put_state(_AGAIN, _FORM, b"[]")


def _through(telemetry: Telemetry) -> tuple[str, ...]:
    state = telemetry.state(_AGAIN)
    try:
        return () if state is None or state.version != _FORM else tuple(map(str, json.loads(state.blob)))
    except (ValueError, TypeError):
        return ()
