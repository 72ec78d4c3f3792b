"""Sensors that others contradict, and what is said from them all the same.

Gives: CONTRADICTED, Doubt, doubts_of(), doubted(), modules_in(), with_doubts(). A finding of contradiction names a
module and what its sensor measures; every section that rests on such a sensor says so in a note, and so does the
sentence on top.
Limits: which of two sensors that contradict each other is right is not told here; the finding says what would tell it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from bankwright.bank.model import Bank
from bankwright.forms.codes import place_text
from bankwright.forms.finding import Finding
from bankwright.forms.wording import say
from bankwright.watch.alarms.section import STANDS
from bankwright.watch.cells.section import READS
from bankwright.watch.charge.section import SENSORS
from bankwright.watch.joints.cards import STRAY
from bankwright.watch.running.temperature import BELIEVED
from bankwright.watch.section import Section

__all__ = ["CONTRADICTED", "Doubt", "doubted", "doubts_of", "modules_in", "with_doubts"]

SENSOR = {STRAY.code: "voltage", SENSORS.code: "current", READS.code: "cell_voltage",
          BELIEVED.code: "temperature_degc"}  # fmt: skip
WORDS = {"voltage": "voltage sensor", "current": "current sensor", "cell_voltage": "sense of cell voltages",
         "temperature_degc": "sense of temperatures"}  # fmt: skip
RESTS = {
    "heard": (),
    "alarms": ("voltage", "current", "cell_voltage"),
    "joints": ("current", "voltage"),
    "charge": ("current", "voltage"),
    "cells": ("cell_voltage",),
    "capacity": ("current",),
    "due": (),
}
CONTRADICTED = "{sensor} is contradicted ({place}): what is said here of {module} and of the bank rests on it."
_PARTS = re.compile(r"[^\w]+")


@dataclass(frozen=True, slots=True)
class Doubt:
    """A module's sensor that another one contradicts, and where that is said."""

    module: str
    quantity: str
    code: str

    @property
    def words(self) -> str:
        """As it stands in a sentence: "the current sensor of M3"."""
        return f"the {WORDS[self.quantity]} of {self.module}"


def modules_in(bank: Bank, places: Sequence[str]) -> tuple[str, ...]:
    """Modules whose names stand in these places: "M3", "M3.c4", "L1+@M1+"."""
    parts = {part for place in places for part in _PARTS.split(place)}
    return tuple(module.name for module in bank.modules if module.name in parts)


def doubts_of(bank: Bank, findings: Sequence[Finding]) -> tuple[Doubt, ...]:
    """Collect them from what was found."""
    found = []
    for finding in findings:
        if finding.verdict in ("pass", "unknown"):
            continue
        quantity = SENSOR.get(finding.code)
        if finding.code == STANDS.code and finding.case == "contradiction":
            quantity = "voltage"
        if quantity is not None:
            names = modules_in(bank, (*finding.at, *finding.more))
            found += [Doubt(name, quantity, finding.code) for name in names]
    return tuple(dict.fromkeys(found))


def doubted(bank: Bank, section: Section, finding: Finding, doubts: Sequence[Doubt]) -> tuple[Doubt, ...]:
    """Those that one finding rests on, itself left out; one that names no module rests on all."""
    names = modules_in(bank, (*finding.at, *finding.more)) or tuple(module.name for module in bank.modules)
    return tuple(
        doubt
        for doubt in doubts
        if doubt.module in names and doubt.code != finding.code and rests_on(section, doubt.quantity)
    )


def rests_on(section: Section, quantity: str) -> bool:
    """Whether what a section says comes from this quantity; one that does not tell rests on all."""
    own = section.rests_on if section.rests_on is not None else RESTS.get(section.name)
    return own is None or quantity in own


def with_doubts(sections: Sequence[Section], doubts: Sequence[Doubt]) -> Iterator[Section]:
    """The same sections, each saying on which contradicted sensor it rests."""
    for section in sections:
        notes = tuple(
            say(
                CONTRADICTED,
                sensor=doubt.words[0].upper() + doubt.words[1:],
                place=place_text(doubt.code),
                module=doubt.module,
            )
            for doubt in doubts
            if rests_on(section, doubt.quantity) and (section.rows or section.lanes)
        )
        yield replace(section, notes=(*section.notes, *notes)) if notes else section
