"""The millivolt test: every joint, link and device against the figure due, its like, and the terminal's temperature.

Gives: MillivoltTest, millivolt_test(), Wanted, wanted(), drops_for_fit(). Without readings it is the plan: where the
tips go, the figure due, the current that settles it with this meter. With readings: findings, resistances, and the
inverse over them.
Limits: advice; nothing is switched and no joint is undone here.
Sources: stand at each check; docs/prove.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from bankwright.bank.model import Bank
from bankwright.forms.checks import findings
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.finding import Finding, Missing
from bankwright.forms.grouping import ordered
from bankwright.forms.nearest import did_you_mean
from bankwright.forms.wording import Figure, Say
from bankwright.prove import millivolt_checks
from bankwright.prove.currents import Level
from bankwright.prove.millivolt_checks import OFFSET, Judged, judged
from bankwright.prove.millivolt_subject import MillivoltSubject
from bankwright.prove.share_subject import LACKING
from bankwright.prove.share_test import Part, next_words, outside, parts_of
from bankwright.prove.spots import LEAST_CURRENT, Spot, needed_current, settles
from bankwright.prove.which import Drop, Reads, Which, which

__all__ = ["CHECKS", "MillivoltTest", "Wanted", "drops_for_fit", "millivolt_test", "wanted"]

CHECKS = millivolt_checks.CHECKS


@dataclass(frozen=True, slots=True)
class Wanted:
    """A place to read: tips, current there, millivolts due with band, currents that tell it to 10, 20, 50 %."""

    place: Spot
    current: Figure
    due: Figure
    resistance: Figure
    tenth: float
    fifth: float
    half: float
    settles: bool  # with this meter at this current
    missing: tuple[Missing, ...] = ()  # then no figure is due


@dataclass(frozen=True, eq=False)
class MillivoltTest:
    """The answer."""

    bank: Bank
    subject: MillivoltSubject
    findings: tuple[Finding, ...]
    wanted: tuple[Wanted, ...]
    judged: tuple[Judged, ...]
    which: Which | None
    next: Say | None
    parts: tuple[Part, ...]

    @property
    def missing(self) -> tuple[Missing, ...]:
        """What stands in the way of any figure."""
        return tuple(dict.fromkeys(gap for level in self.subject.levels for gap in self.subject.lacking(level)))

    @property
    def not_read(self) -> tuple[str, ...]:
        """Places of the plan without a reading."""
        read = {each.at for each in self.subject.reads}
        return tuple(each.place.name for each in self.wanted if each.place.name not in read)

    def record(self) -> dict[str, Any]:
        """What the logbook keeps: every reading with its current and the age of its step, and the verdicts."""
        return {
            "meter": self.subject.meter.name,
            "step": self.subject.meter.step,
            "room_degc": self.subject.room_degc,
            "readings": [
                {
                    "at": each.place.name,
                    "load": each.read.level.load,
                    "off": sorted(each.read.level.off),
                    "millivolts": 1e3 * each.read.loaded,
                    "zero": None if each.read.zero is None else 1e3 * each.read.zero,
                    "age": each.read.age,
                    "current": each.flow.current,
                    "current_read": each.flow.read,
                    "ohms": each.ohms.value,
                    "low": each.ohms.low,
                    "high": each.ohms.high,
                    "settles": each.enough,
                    "typed": each.read.as_typed,
                }
                for each in self.judged
            ],
            "not_read": list(self.not_read),
            "findings": [{"code": f.code, "verdict": f.verdict, "at": list(f.at)} for f in self.findings],
        }


def wanted(subject: MillivoltSubject, level: Level) -> tuple[Wanted, ...]:
    """Every place that carries current at a load, with the figure due; CircuitError for what the file lacks."""
    found = []
    for place in subject.spots.values():
        flow = subject.flow(level, place)
        if flow.current < 1e-6:
            continue
        file = subject.resistance(level, place)
        half = flow.half if flow.half > 1e-6 * flow.current else 0.0
        amps = Figure(flow.current, "current", max(flow.current - half, 0.0), flow.current + half)
        found.append(_wanted(subject, place, amps, file))
    return tuple(found)


def _wanted(subject: MillivoltSubject, place: Spot, amps: Figure, file: Figure) -> Wanted:
    volts = file.value * amps.value
    low = max((file.low or 0.0) * (amps.low or 0.0) - subject.meter.half(volts), 0.0)
    high = (file.high or file.value) * (amps.high or amps.value) + subject.meter.half(volts)
    due = Figure(volts, "voltage_drop", low, high)
    needs = [max(needed_current(file.value, part, subject.meter), LEAST_CURRENT) for part in (0.1, 0.2, 0.5)]
    found = settles(volts, subject.meter)
    return Wanted(place, amps, due, file, needs[0], needs[1], needs[2], found, subject.left_out(place))


def millivolt_test(subject: MillivoltSubject) -> MillivoltTest:
    """Judge the readings, or plan them; QuestionError when there is neither a reading nor a load."""
    if not subject.levels:
        hint = "--load 200A for the plan; --readings FILE or --drop L3+@M3+=1.6mV for readings"
        raise QuestionError((Fault("load", "no-load", "no load was given", "the current out of the bank", hint),), "")
    _places_known(subject)
    found = tuple(findings(CHECKS, subject))
    told = _told(subject)
    if told is not None:
        found += outside(told)
    rows: tuple[Wanted, ...] = ()
    for level in subject.levels:
        if not subject.lacking(level):
            rows += tuple(row for row in wanted(subject, level) if row.place.name not in {r.place.name for r in rows})
    words = next_words(told) if told is not None and told.outcome.released else None
    parts = () if told is None else parts_of(told)
    return MillivoltTest(subject.bank, subject, ordered(found), rows, judged(subject), told, words, parts)


def _places_known(subject: MillivoltSubject) -> None:
    wrong = tuple(
        Fault(
            read.at,
            "place-unknown",
            f"{read.at} is no link, joint or device of this bank",
            hint=_near(subject, read.at),
        )
        for read in subject.reads
        if read.at not in subject.spots
    )
    if wrong:
        raise QuestionError(wrong, "the readings")


def _near(subject: MillivoltSubject, name: str) -> str:
    return did_you_mean(name, subject.spots, "The plan (--load) lists every place", 3)


def drops_for_fit(subject: MillivoltSubject) -> tuple[Drop, ...]:
    """Readings that settle something, as the inverse takes them."""
    meter = subject.meter
    return tuple(
        Drop(
            each.place.name,
            each.read.level,
            each.read.value,
            meter.digits * meter.step + (OFFSET if each.read.zero is None else 0.5 * meter.step),
            meter.gain,
            each.read.as_typed,
        )
        for each in judged(subject)
        if each.enough
    )


def _told(subject: MillivoltSubject) -> Which | None:
    """The inverse over the millivolts, with the currents that were read beside them."""
    drops = drops_for_fit(subject)
    if not drops:
        return None
    levels = tuple(dict.fromkeys(drop.level for drop in drops))
    rounds = tuple(each for each in subject.rounds if each.level in (*levels, Level(0.0)))
    try:
        due = {level: subject.due(level) for level in levels}
        return which(Reads(subject.bank, due, rounds, drops, subject.clamp, subject.bus, subject.meter))
    except LACKING:
        return None  # what it lacks is said by the checks
