"""A step of a survey: who answers is asked for the mark of SunSpec, and its chain of models is walked.

Gives: walk_devices(). Where the bank file names no map, so that a device that tells its own registers is seen; and
where it says that the devices do.
Limits: facts only; conclusions are in survey/explain/sunspec.py. Reading requests alone.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

from bankwright.bus.exchange import Exchange, Outcome, Patience, exchange
from bankwright.bus.modbus.request import Request
from bankwright.bus.sunspec.discover import Device, discovered
from bankwright.bus.sunspec.signals import Whose
from bankwright.bus.survey.facts import Facts
from bankwright.bus.wire.wire import Wire

__all__ = ["walk_devices"]

MOST = 8  # addresses that are walked where the file does not say that they speak SunSpec
TRIES = 3  # of each request


def walk_devices(wire: Wire, facts: Facts, patience: Patience, tell: Callable[[str], None]) -> Facts:
    """Walk those that answered, as far as they speak Modbus."""
    if facts.expected.language != "modbus":
        return facts
    speakers = {speaker.unit: speaker.whose for speaker in facts.expected.speakers}
    there = [unit for unit, asked in facts.asked.items() if asked.is_there]
    units = [unit for unit in there if unit in speakers] if speakers else there[:MOST]
    count = 0

    def once(request: Request) -> Exchange:
        nonlocal count
        for _ in range(TRIES):
            count += 1
            done = exchange(wire, request, patience, facts.echo)
            if done.outcome in (Outcome.ANSWER, Outcome.LATE, Outcome.REFUSAL):
                break
        return done

    found: dict[int, Device] = {}
    asked = dict(facts.asked)
    for unit in units:
        tell(f"looking for SunSpec at {unit}")
        name = facts.expected.names.get(unit, f"address {unit}")
        device = discovered(once, unit, speakers.get(unit, Whose(name)), facts.expected.positive)
        if device is None and not speakers:
            break  # the first that has no mark: those beside it are of its kind
        if device is not None:
            found[unit] = device
            serials = device.serials
            asked[unit] = dataclasses.replace(asked[unit], serials=serials if len(serials) == 1 else ())
    return dataclasses.replace(facts, asked=asked, devices=found, walked=tuple(units), requests=facts.requests + count)
