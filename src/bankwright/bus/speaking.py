"""Buses that speak by themselves, as the bank file names them: the joint between the sources and the faces.

Gives: Speaking (map, modules, how to open, how to survey), speaking_of().
Limits: one bus of one bank; each source is a room of its own beside this file.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from bankwright.bank.model import Bank
from bankwright.bus.can.of_bank import can_map_of, can_source, can_targets
from bankwright.bus.can.survey import explain_can, survey_can
from bankwright.bus.mqtt.of_bank import keeps_clear, mqtt_map_of, mqtt_source, mqtt_targets, texts_of
from bankwright.bus.mqtt.survey import explain_mqtt, survey_mqtt
from bankwright.bus.overheard.facts import Overheard
from bankwright.bus.passive import Source
from bankwright.bus.poll import Target
from bankwright.bus.source import Listing
from bankwright.bus.survey.explain.told import Explanation

__all__ = ["Speaking", "speaking_of"]

EVERY = 1.0  # s of a cycle where the file says nothing
Tell = Callable[[str], None]
Surveyed = tuple[Overheard, tuple[Explanation, ...]]


@dataclass(frozen=True, slots=True)
class Speaking:
    """One bus that is only listened to."""

    listing: Listing
    targets: tuple[Target, ...]
    every: float  # s
    open: Callable[[str | None], Source]  # port or host of the file, or another; WireGone
    survey: Callable[[str | None, float, Tell], Surveyed]  # port or host, s


def speaking_of(bank: Bank, folder: Path) -> Speaking | None:
    """What the bank file says of it; None for a line that is asked. QuestionError with what is wrong."""
    if bank.bus is not None and bank.bus.wire == "can":
        return _can(bank, folder)
    if bank.bus is not None and bank.bus.wire == "mqtt":
        return _mqtt(bank, folder)
    return None


def _every(bank: Bank) -> float:
    return EVERY if bank.bus is None or bank.bus.every is None else bank.bus.every


def _can(bank: Bank, folder: Path) -> Speaking:
    can_map, every = can_map_of(bank, folder), _every(bank)
    targets = can_targets(bank, can_map)

    def survey(port: str | None, seconds: float, tell: Tell) -> Surveyed:
        source = can_source(bank, can_map, port, every)
        try:
            facts, tally = survey_can(source, can_map, targets, seconds, tell)
            rate = None if bank.bus is None else bank.bus.can.bit_rate
            return facts, explain_can(facts, tally, can_map, source.port.status, rate)
        finally:
            source.close()

    return Speaking(can_map, targets, every, lambda port: can_source(bank, can_map, port, every), survey)


def _mqtt(bank: Bank, folder: Path) -> Speaking:
    mqtt_map, every = mqtt_map_of(bank, folder), _every(bank)
    keeps_clear(bank, mqtt_map)
    targets = mqtt_targets(bank, texts_of(bank, mqtt_map))

    def survey(host: str | None, seconds: float, tell: Tell) -> Surveyed:
        source = mqtt_source(bank, folder, mqtt_map, host, every)
        try:
            facts, tally = survey_mqtt(source, mqtt_map, targets, seconds, tell)
            return facts, explain_mqtt(facts, tally, mqtt_map)
        finally:
            source.close()

    return Speaking(mqtt_map, targets, every, lambda host: mqtt_source(bank, folder, mqtt_map, host, every), survey)
