"""What this bank's readings can never tell, and the reading by hand that stands in for it.

Gives: with_stand_ins(), HALF_YEAR, QUARTER, YEAR. A section may bring its own; the rest is told here from what the
sections found: joints of one module or behind coarse voltages, a state of charge on the flat of the curve, cells that
no line tells, a capacity whose two ends are not visited, the warmth of one module alone.
Limits: what may still come by listening longer is no stand-in; it stays unknown and is named as missing.
Sources: half a year for millivolts, a quarter for cells: intervals of the schedule (handbook/data/upkeep.toml, each row
with its own); a year for the capacity, a month for a full charge: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from bankwright.forms.finding import Finding
from bankwright.forms.origin import Source
from bankwright.watch.cells.section import SPREAD
from bankwright.watch.charge.daily import kept_estimator
from bankwright.watch.charge.facts import facts_of
from bankwright.watch.charge.section import TOLD
from bankwright.watch.joints.cards import READY
from bankwright.watch.section import Asked, Section, StandIn

__all__ = ["HALF_YEAR", "QUARTER", "YEAR", "with_stand_ins"]

MONTH, QUARTER, HALF_YEAR, YEAR = 30 * 86400.0, 91 * 86400.0, 182 * 86400.0, 365 * 86400.0
TABLE = Source("IEEE 450 and IEEE 1188 practice for lead-acid batteries, carried over", how_known="read in part")
PRACTICE = Source("interval", how_known="common practice, no source")
FLAT, ALONE = "flat of the curve", "nothing to lay its temperature beside"  # in what such a finding lacks
COARSE = "bus.map"  # key of what a voltage too coarse asks for


def with_stand_ins(asked: Asked, sections: Sequence[Section]) -> Iterator[Section]:
    """The same sections with what stands in for what they can never tell."""
    heard = tuple(row.name for section in sections if section.name == "heard" for row in section.rows if row.figure)
    for section in sections:
        found = (*section.stand_ins, *_made(asked, section, heard)) if heard else ()  # nothing heard: nothing stands in
        yield replace(section, stand_ins=found)


def _made(asked: Asked, section: Section, heard: tuple[str, ...]) -> Iterator[StandIn]:
    match section.name:
        case "joints":
            yield from _joints(asked, section)
        case "charge":
            yield from _charge(asked, section)
        case "cells":
            yield from _cells(asked, section, heard)
        case "capacity" if not section.findings:
            yield _capacity()
        case "temperature" if len(asked.bank.modules) == 1:
            yield from _warmth(section)


def _unknown(section: Section, code: str) -> Iterable[Finding]:
    return (f for f in section.findings if f.code == code and f.verdict == "unknown")


def _lacks(finding: Finding, words: str) -> bool:
    return any(words in item.lacks for item in finding.missing)


def _joints(asked: Asked, section: Section) -> Iterator[StandIn]:
    why = ""
    if len(asked.bank.modules) == 1:
        why = "one module alone"
    elif any(item.key == COARSE for f in _unknown(section, READY.code) for item in f.missing):
        why = "voltage too coarse"
    if why:
        act = "Read millivolts over every joint at a known current, and write them into the logbook."
        yield StandIn("joints", why, "millivolts", act, HALF_YEAR, TABLE, "millivolts", (READY.code,))


def _charge(asked: Asked, section: Section) -> Iterator[StandIn]:
    if any(_lacks(f, FLAT) for f in _unknown(section, TOLD.code)):
        yield _full(asked, "the state of charge", (TOLD.code,))


def _full(asked: Asked, what: str, codes: tuple[str, ...]) -> StandIn:
    act = "Charge until the highest cell stands at 3.45 V and the current falls under a twentieth of the capacity."
    why, last = "the flat of the curve", _last_full(asked)
    return StandIn(what, why, "a full charge", act, MONTH, PRACTICE, "full charge", codes, last)


def _last_full(asked: Asked) -> float | None:
    """When the bank was last full, by the anchors that are kept. [s since 1970]"""
    facts, _ = facts_of(asked.bank)
    found = None if facts is None else kept_estimator(facts, asked.telemetry)
    return None if found is None else max((one.time for one in found.anchors if one.is_top), default=None)


def _cells(asked: Asked, section: Section, heard: tuple[str, ...]) -> Iterator[StandIn]:
    flat = [f for f in _unknown(section, SPREAD.code) if _lacks(f, FLAT)]
    if flat:
        names = sorted({name for f in flat for name in (*f.at, *f.more)})
        yield _full(asked, f"what the spread of {_several(names)} means", (SPREAD.code,))
    read = {row.name for row in section.rows}
    silent = [name for name in heard if name not in read]
    if silent:
        act = (
            f"Near a full charge read every cell of {', '.join(silent)}, by the module's own display or a meter where "
            "it reaches, and write them down."
        )
        why = "no line tells them"
        yield StandIn(f"cells of {_several(silent)}", why, "cells by hand", act, QUARTER, TABLE, "quarterly")


def _warmth(section: Section) -> Iterator[StandIn]:
    codes = tuple(f.code for f in section.findings if f.verdict == "unknown" and _lacks(f, ALONE))
    if codes:
        act = "Read a thermometer on the module and one in the air beside it, with the load on and at rest."
        yield StandIn("warmth", "one module alone", "a thermometer", act, QUARTER, TABLE, "quarterly", codes)


def _several(names: Sequence[str]) -> str:
    return ", ".join(names) if len(names) <= 3 else f"{len(names)} modules"


def _capacity() -> StandIn:
    act = "Test the capacity: full, down to the end at a fifth of the capacity an hour, and back (bankwright prove)."
    why = "not often full and empty within two days"
    return StandIn("the capacity", why, "a capacity test", act, YEAR, PRACTICE, "capacity test")
