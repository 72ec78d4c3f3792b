"""The share test: do the modules take what was computed, is a limit near, and which branch is it?

Gives: ShareTest, share_test(). Findings of all checks, what the inverse says of the branches, and the one next reading.
It says whether a limit is near; it hardly finds a bad joint: the millivolt test follows, whatever the shares say.
Limits: advice from readings; nothing is switched, no joint is undone here.
Sources: stand at each check; docs/prove.md.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from bankwright.bank.model import Bank
from bankwright.circuit.inverse.band import half_width
from bankwright.forms.card import Card
from bankwright.forms.checks import findings
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.finding import Finding
from bankwright.forms.grouping import ordered
from bankwright.forms.wording import Figure, Say, amount_text, say
from bankwright.prove import module_checks, share_checks
from bankwright.prove.closures import open_closures
from bankwright.prove.currents import Round
from bankwright.prove.share_subject import LACKING, Due, ShareSubject
from bankwright.prove.sources import INVERSE
from bankwright.prove.which import Drop, Reads, Which, which

__all__ = ["CHECKS", "Part", "ShareTest", "next_words", "outside", "parts_of", "share_test"]

CHECKS = (*share_checks.CHECKS, *module_checks.CHECKS)
_WHICH = Card("V-WHICH-1", "Everything lies inside its tolerance", "growth of one element", INVERSE, ends_at="caution")


_AT_A_JOINT = (
    "Look at this first. Undo nothing with the main switch open alone: take the sheet of taking apart for it "
    "(bankwright build FILE --apart {name}). {next}"
)
_AT_A_MODULE = (
    "Read the cells' temperature of {name} beside the others'; if it is as warm as they are, ask the maker. {next}"
)


@dataclass(frozen=True, slots=True)
class Part:
    """A module or a link as measured: resistance with its 95 % band, and what its file says. [ohm]

    `settled`: the readings leave less than half of the file's tolerance open, or put it outside.
    """

    name: str
    resistance: Figure
    due: Figure
    settled: bool


@dataclass(frozen=True, eq=False)
class ShareTest:
    """The answer."""

    bank: Bank
    subject: ShareSubject
    findings: tuple[Finding, ...]
    which: Which | None
    next: Say | None
    parts: tuple[Part, ...]

    def record(self) -> dict[str, Any]:
        """What the logbook keeps: every reading with the age of its step, and the verdicts."""
        return {
            "rounds": [
                {
                    "load": each.level.load,
                    "on": list(each.level.on),
                    "off": sorted(each.level.off),
                    "round": each.number,
                    "currents": [
                        {"at": r.at, "by": r.by, "value": r.value, "age": r.age, "typed": r.as_typed}
                        for r in each.currents
                    ],
                    "volts": dict(each.volts),
                }
                for each in self.subject.rounds
            ],
            "cells_degc": dict(self.subject.cells_degc or {}),
            "room_degc": self.subject.room_degc,
            "parts": [
                {"name": p.name, "value": p.resistance.value, "low": p.resistance.low, "high": p.resistance.high}
                for p in self.parts
                if p.settled
            ],
            "findings": [{"code": f.code, "verdict": f.verdict, "at": list(f.at)} for f in self.findings],
        }


def share_test(subject: ShareSubject, drops: tuple[Drop, ...] = ()) -> ShareTest:
    """Judge the readings; QuestionError when there is none."""
    if not subject.rounds:
        hint = "--zero M1=0.1A --current M1=40.1A --load 200A --age 40s, or --readings FILE"
        fault = Fault("readings", "no-readings", "no current was given", "one at zero and one under load", hint)
        raise QuestionError((fault,), "the readings")
    found = tuple(findings(CHECKS, subject))
    sensors = frozenset(f.at[0] for f in found if f.code.startswith("V-SENSOR-") and f.verdict != "pass")
    told = _told(subject, drops, sensors)
    if told is not None:
        found += outside(told)
    words = None if told is None or not (told.outcome.released or _odd(subject)) else next_words(told)
    return ShareTest(subject.bank, subject, ordered(found), told, words, () if told is None else parts_of(told))


def _told(subject: ShareSubject, drops: tuple[Drop, ...], sensors: frozenset[str]) -> Which | None:
    """The inverse, where zero and load were read and every closure closes; without the sensors that are off."""
    due = {each.taken.level: each.expected for each in subject.dues if each.expected is not None and not each.lacking}
    if not due or open_closures(subject):
        return None
    kept = tuple(drop for drop in drops if drop.level in due)
    rounds = tuple(_without(each, sensors) for each in subject.rounds)
    try:
        return which(Reads(subject.bank, due, rounds, kept, subject.clamp, subject.bus))
    except LACKING:
        return None  # what it lacks is said by the checks


def _without(each: Round, sensors: frozenset[str]) -> Round:
    return replace(each, currents=tuple(r for r in each.currents if r.by != "bus" or r.at not in sensors))


def _odd(subject: ShareSubject) -> bool:
    """Does any share lie farther from what was due than the meters leave open? By the clamp, where it was used."""
    dues = [each for each in subject.dues if each.expected is not None and not each.lacking]
    best = [each for each in dues if each.taken.by == "clamp"] or dues
    return any(_off(each, place, half) for each in best for place, half in enumerate(_halves(each)))


def _halves(due: Due) -> list[float]:
    return [float(half) for half in half_width(due.taken.share_errors, 0.99)]


def _off(due: Due, place: int, half: float) -> bool:
    module = due.taken.modules[place]
    return abs(float(due.taken.shares[place]) - due.of(module).share(module).value) > half


def outside(told: Which) -> tuple[Finding, ...]:
    """What the readings put outside its tolerance, with the group that they cannot tell from it."""
    found = []
    modules = set(told.estimate.prior.unknowns.network.module_names)
    for each in told.outcome.released:
        value = told.estimate.value(each.name)
        low, high = told.estimate.band(each.name)
        figure = Figure(value, "resistance", low, high)
        text = say(
            "{name} has {value}, {growth} {more} than its file says" + (": it, or {alike}" if each.alike else ""),
            name=each.name,
            value=figure,
            growth=Figure(abs(each.growth), "resistance"),
            more="more" if each.growth > 0.0 else "less",
            **({"alike": ", ".join(each.alike)} if each.alike else {}),
        )
        do = say(_AT_A_MODULE if each.name in modules else _AT_A_JOINT, name=each.name, next=_text(next_words(told)))
        found.append(_WHICH.found(each.name, figure, (None, None), text, do, forced="caution", more=each.alike))
    return tuple(found)


def _text(words: Say | None) -> str:
    return "" if words is None else words.text()


def next_words(told: Which) -> Say | None:
    """The next reading in words: what to read where, and what it shows if each of the candidates is the one."""
    choice = told.next
    if choice is None or told.first is None:
        return None
    kind = {"drop": "voltage_drop", "voltage": "voltage", "current": "current"}[choice.look.kind]
    what = {"drop": "Read the millivolts over", "voltage": "Read the volts at", "current": "Read the current of"}
    shown = [f"{amount_text(abs(value), kind, digits=4)} if {name}" for name, value in choice.shown.items()]
    where = " and ".join(choice.look.at)
    if not choice.parts:
        return say(
            "No reading of these meters parts {names}: a finer meter or more current is needed.",
            names=", ".join(choice.shown),
        )
    return say(
        "{what} {where}: {shown}; the meter leaves {half} open.",
        what=what[choice.look.kind],
        where=where,
        shown=", ".join(shown),
        half=Figure(choice.half, kind),
    )


def parts_of(told: Which) -> tuple[Part, ...]:
    """Every module and link as measured, beside what was due."""
    estimate = told.estimate
    network = estimate.prior.unknowns.network
    found = []
    for edge in network.edges:
        names = [element.name for element in edge.elements]
        if not names or any(element.resistance is None for element in edge.elements) or edge.kind == "load":
            continue
        low, high = estimate.band(*names)
        ends = [sum(getattr(e.resistance, end) for e in edge.elements) for end in ("nominal", "low", "high")]
        if ends[1] == ends[2] and len(names) == 1:
            continue
        figure = Figure(estimate.value(*names), "resistance", low, high)
        told_more = estimate.half(*names) < 0.5 * _known_before(told, names)
        settled = told_more or bool(set(names) & set(told.outcome.outside))
        found.append(Part(edge.name, figure, Figure(ends[0], "resistance", ends[1], ends[2]), settled))
    return tuple(found)


def _known_before(told: Which, names: list[str]) -> float:
    """Half of the 95 % band of a sum before anything was read: its tolerances alone. [ohm]"""
    places = [told.prior.unknowns.place[name] for name in names]
    return float(half_width(told.prior.causes()[places].sum(axis=0))[0])
