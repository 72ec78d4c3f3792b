"""One whole first power-up on a pretend bank: every step read, judged, and mended where it did not pass.

Gives: Rehearsal, Found, Survey, rehearse(). The sheet is the real one; only the hand and the bank are pretended.
Limits: what a survey hears is asked of the pretend rack by whoever calls; nothing is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from types import MappingProxyType

from bankwright.bank.model import Bank
from bankwright.circuit.steady import steady
from bankwright.forms.finding import Finding
from bankwright.prove.currents import CurrentRead, Level, Round
from bankwright.prove.millivolt_subject import MillivoltSubject, Read
from bankwright.prove.millivolt_test import millivolt_test, wanted
from bankwright.prove.rehearse.hand import Hand
from bankwright.prove.rehearse.planted import Planted
from bankwright.prove.sheet.due import Facts, SurveyTold
from bankwright.prove.sheet.sheet import PARTS, StepNow, one_step

__all__ = ["Found", "Rehearsal", "Survey", "rehearse"]

Survey = Callable[[tuple[Planted, ...]], tuple[SurveyTold, ...]]
PASSES = 4  # times that a step is read anew: readings rest on each other, and a mended fault is read again


@dataclass(frozen=True, slots=True)
class Found:
    """A finding that did not pass, and the planted fault that it names."""

    step: str
    finding: Finding
    fault: Planted | None


@dataclass(frozen=True, slots=True)
class Rehearsal:
    """The walk: steps and readings taken, what was found, faults that nothing named."""

    steps: int
    readings: int
    found: tuple[Found, ...]
    missed: tuple[Planted, ...]


def rehearse(bank: Bank, faults: tuple[Planted, ...], survey: Survey | None = None) -> Rehearsal:
    """Walk the whole sequence; a fault that is found is mended at once, and its step read again."""
    walk = _Walk(bank, faults, survey)
    for name in _names(bank):
        walk.take(name)
    return Rehearsal(walk.steps, len(walk.taken), tuple(walk.found), walk.faults)


def _names(bank: Bank) -> Iterator[str]:
    """Ids of the steps that this bank has."""
    for part in PARTS.values():
        yield from (step.id for step in part(Facts(bank)))


class _Walk:
    """The state of a walk."""

    def __init__(self, bank: Bank, faults: tuple[Planted, ...], survey: Survey | None) -> None:
        self.bank, self.faults, self.survey = bank, faults, survey
        self.order = tuple(module.name for module in bank.modules)
        self.hand = Hand(bank, faults, self.order)
        self.taken: dict[tuple[str, str, str], float] = {}
        self.found: list[Found] = []
        self.steps = 0

    def facts(self) -> Facts:
        told = self.survey(self.faults) if self.survey is not None and self.bank.bus else ()
        return Facts(self.bank, MappingProxyType(dict(self.taken)), self.order, may_join=True, survey=told)

    def take(self, name: str) -> None:
        """Read a step until nothing more is due, then judge it; again while it names a planted fault."""
        self.steps += 1
        for _ in range(len(self.faults) + 1):
            now = self._read(name)
            named = [each for each in self._judged(now) if each.finding.verdict != "pass"]
            self.found += named
            mended = {each.fault for each in named if each.fault is not None}
            if not mended:
                return
            self.faults = tuple(fault for fault in self.faults if fault not in mended)
            self.hand = Hand(self.bank, self.faults, self.order)
            self.taken = {key: value for key, value in self.taken.items() if key[0] != name}

    def _read(self, name: str) -> StepNow:
        """Read what can be read; what rests on another reading of the step comes after it."""
        for _ in range(PASSES):
            now = self._now(name)
            open_ = [each.due for each in now.readings if each.value is None]
            ready = [due for due in open_ if not any(gap.key.startswith("readings.") for gap in due.missing)] or open_
            shown = {(name, due.quantity, due.at): self.hand.shows(name, due) for due in ready}
            fresh = {key: value for key, value in shown.items() if value is not None}
            if not fresh:
                return now
            self.taken |= fresh
        return self._now(name)

    def _now(self, name: str) -> StepNow:
        now = one_step(self.facts(), name)
        assert now is not None
        return now

    def _judged(self, now: StepNow) -> Iterator[Found]:
        findings = now.findings if now.step.id != "E3" else (*now.findings, *self._millivolts())
        for finding in findings:
            yield Found(now.step.id, finding, self._fault(finding))

    def _fault(self, finding: Finding) -> Planted | None:
        if finding.verdict not in ("fail", "caution"):
            return None  # what settles nothing names nothing
        places = {*finding.at, *finding.more}
        return next((fault for fault in self.faults if fault.names(self.bank) & places), None)

    def _millivolts(self) -> tuple[Finding, ...]:
        """The millivolt test of every place that carries current, with the branch currents read beside it."""
        level, hand = Level(self.hand.load), self.hand
        zero = tuple(CurrentRead(name, "clamp", 0.0, None, "0 A") for name in self.order)
        read = tuple(CurrentRead(name, "clamp", hand.current(name), 40.0, "") for name in self.order)
        rounds = (Round(Level(0.0), 1, zero, {}), Round(level, 1, read, {}))
        plan = MillivoltSubject(self.bank, steady(self.bank), (), plan_level=level)
        spots = [row.place.name for row in wanted(plan, level) if not row.missing]
        reads = tuple(Read(at, level, hand.drop(at), 0.0, 40.0, "") for at in spots)
        return millivolt_test(MillivoltSubject(self.bank, plan.steady, reads, rounds=rounds)).findings
