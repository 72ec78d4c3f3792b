"""Match: two verdicts that are never merged, what they rest on, and what to do.

Gives: Match, match_of(). `joining` answers "may they be joined?", `charge` answers "are they equally charged?"; each is
a list of findings with its own verdict. A module with a stop takes part in neither.
Limits: advice from readings; nothing is switched. Bad readings raise QuestionError with all faults.
Sources: stand at each finding.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, Literal

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.forms.checks import findings
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.finding import Finding, Verdict
from bankwright.forms.grouping import ordered
from bankwright.forms.sheets import Sheet
from bankwright.forms.wording import Figure, say
from bankwright.match import cards, charge_checks, join_checks
from bankwright.match.charge_range import ChargeRange, charge_range
from bankwright.match.drift import drifting
from bankwright.match.entry import ModuleReading, faults_of_readings, stale
from bankwright.match.exchanged import exchanged
from bankwright.match.extend import Extension, extension, extension_findings, is_unlike
from bankwright.match.inrush import Inrush, inrush
from bankwright.match.levels import Level, level_findings
from bankwright.match.plans import plans
from bankwright.match.settle import Settled, settled, stand_ins
from bankwright.match.sources import RULE_OF_THUMB
from bankwright.match.stops import stops
from bankwright.match.subject import Subject
from bankwright.match.timed import Tools
from bankwright.match.uneven import uneven_sharing

__all__ = ["Match", "match_of", "verdict_of"]

BY_DIFFERENCE = ("M-JOIN-1", "M-JOIN-2", "M-JOIN-3", "M-JOIN-5", "M-JOIN-7", "M-MOST-1")
FAILS_LAST: tuple[Verdict, ...] = ("pass", "assumed", "caution", "unknown", "fail")


def verdict_of(found: Sequence[Finding]) -> Verdict:
    """The worst verdict of a list: fail, unknown, caution, pass."""
    return max((finding.verdict for finding in found), key=FAILS_LAST.index, default="pass")


@dataclass(frozen=True, eq=False)
class Match:
    """The answer."""

    bank: Bank
    readings: tuple[ModuleReading, ...]
    joining: tuple[Finding, ...]  # verdict 1
    charge: tuple[Finding, ...]  # verdict 2
    stopped: tuple[Finding, ...]
    unlike: tuple[Finding, ...]
    order: tuple[str, ...]
    ranges: tuple[ChargeRange, ...]
    plans: tuple[Sheet, ...]
    inrush: Inrush | None = None
    settled: Settled | None = None
    extension: Extension | None = None
    not_read: tuple[str, ...] = ()
    notes: tuple[str, ...] = field(default=())

    @property
    def may_join(self) -> Verdict:
        """Verdict 1; a stop anywhere is a fail of it; without a reading nothing is known."""
        if not self.readings:
            return "unknown"
        return verdict_of((*self.stopped, *self.joining))

    @property
    def equally_charged(self) -> Verdict:
        """Verdict 2."""
        if not self.charge:
            return "unknown"
        return verdict_of(self.charge)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, worst first, places of one kind put together, numbered."""
        return ordered((*self.stopped, *self.joining, *self.charge, *self.unlike))

    def about(self, part: Literal["joining", "charge", "sharing"]) -> tuple[Finding, ...]:
        """Those of `findings` that belong to verdict 1, to verdict 2, or to how unlike modules share."""
        parts = {"joining": (*self.stopped, *self.joining), "charge": self.charge, "sharing": self.unlike}
        codes = {finding.code for finding in parts[part]}
        return tuple(finding for finding in self.findings if finding.code in codes)

    @property
    def largest_difference(self) -> float | None:
        """Volts that this bank takes at once."""
        return None if self.inrush is None else self.inrush.most.least

    def record(self) -> dict[str, Any]:
        """What later stages read of it."""
        return {
            "may_join": self.may_join,
            "equally_charged": self.equally_charged,
            "order": list(self.order),
            "largest_difference": self.largest_difference,
            "readings": [
                {"module": r.module, "voltage": r.voltage, "rested": r.rested, "temperature_degc": r.temperature_degc}
                for r in self.readings
            ],
            "ranges": [{"module": r.module, "low": r.low, "high": r.high} for r in self.ranges],
            "findings": [{"code": f.code, "verdict": f.verdict, "at": list(f.at)} for f in self.findings],
        }


def _temperatures(bank: Bank, readings: Sequence[ModuleReading]) -> dict[str, tuple[float, float] | None]:
    """As read; else the room that the file names; else unknown."""
    low, high = bank.site.ambient_low_degc, bank.site.ambient_high_degc
    room = None if low is None or high is None else (low, high)
    return {
        r.module: room if r.temperature_degc is None else (r.temperature_degc, r.temperature_degc) for r in readings
    }


def match_of(
    bank: Bank,
    readings: Sequence[ModuleReading],
    *,
    tools: Tools | None = None,
    charging: Mapping[str, float] | None = None,
    discharging: Mapping[str, float] | None = None,
    levels: Sequence[Level] = (),
    cycle: bool | None = None,
) -> Match:
    """Judge the readings; `cycle` True or False runs the whole cycle or not, None runs it for unlike modules.

    `charging`, `discharging`: amperes by module at one moment, either sign; `levels`: further ones, plus discharges.
    """
    asked = charging is not None or discharging is not None or levels
    _refuse(bank, readings, needed=not asked)
    stopped = tuple(stops(bank, readings))
    bad = {f.at[0] for f in stopped if f.code.startswith("M-STOP-") and f.verdict not in ("pass", "caution")}
    good = tuple(reading for reading in readings if reading.module not in bad)
    not_read = tuple(m.name for m in bank.modules if m.name not in {r.module for r in readings})
    extended = _extended(bank, cycle)
    cycled = () if extended is None else extension_findings(bank, extended)
    unlike = (*cycled, *_shared(bank, charging, discharging, levels))
    found = Match(bank, tuple(readings), (), (), stopped, unlike, (), (), (), extension=extended, not_read=not_read)
    return _joined(found, good, bool(bad), tools or Tools()) if good else found


def _refuse(bank: Bank, readings: Sequence[ModuleReading], needed: bool) -> None:
    faults = tuple(faults_of_readings(bank, readings))
    if needed and not readings:
        faults = (
            Fault("readings", "no-readings", "no reading was given", "Give one voltage a module: --reading M1=52.6V"),
        )
    if faults:
        raise QuestionError(faults, "the readings")


def _joined(found: Match, good: tuple[ModuleReading, ...], some_bad: bool, tools: Tools) -> Match:
    """With what follows from joining the modules that may be: currents, charge, settling and plans."""
    bank, not_read = found.bank, found.not_read
    ranges = tuple(charge_range(bank.module(r.module), r) for r in good)
    flow = inrush(bank, good, _temperatures(bank, good)) if len(good) > 1 else None
    after = settled(bank, good) if len(good) > 1 else None
    joining = (*_joining(bank, good, flow, after, not_read), *exchanged(good, ranges))
    subject = charge_checks.ChargeSubject(good, ranges, after, not_read, stand_ins(bank))
    charge = tuple(findings(charge_checks.CHECKS, subject))
    may = verdict_of((*found.stopped, *joining)) in ("pass", "caution")
    sheets: tuple[Sheet, ...] = ()
    if flow is not None and not some_bad and all(f.code != "M-JOIN-6" for f in joining):
        same, apart = verdict_of([f for f in charge if f.code == "M-CHARGE-1"]) == "pass", _apart(joining, after)
        sheets = plans(bank, good, ranges, flow, after, may_join=may, apart=apart, equal=same, tools=tools)
    return replace(
        found,
        joining=joining,
        charge=charge,
        order=() if flow is None else flow.order.names,
        ranges=ranges,
        plans=sheets,
        inrush=flow,
        settled=after,
        notes=() if flow is None or not flow.note else (flow.note,),
    )


def _apart(joining: Sequence[Finding], after: Settled | None) -> bool:
    """Does the difference itself stand in the way; a module too cold for any current, or a missing limit, does not."""
    if after is not None and any(not words.endswith("cold") for words in after.opened):
        return True
    for found in joining:
        if found.code not in BY_DIFFERENCE or found.figure is None:
            continue
        over = found.verdict == "fail" or (found.verdict == "unknown" and not found.missing)
        too_cold = found.limits[1] == 0.0
        if over and not too_cold:
            return True
        if too_cold and found.code == "M-MOST-1" and found.figure.value > RULE_OF_THUMB[1]:
            return True  # what it takes once it is warm is not known here; so far apart it is no question
    return False


def _shared(
    bank: Bank, charging: Level | None, discharging: Level | None, levels: Sequence[Level]
) -> tuple[Finding, ...]:
    """What the currents of joined modules tell: a line through several levels, else a comparison at one."""
    given = [level for level in (_signed(charging, -1.0), _signed(discharging, 1.0)) if level]
    found = level_findings(bank, (*levels, *given))
    if found and found[0].missing and not levels:
        found = ()  # one charge, one discharge of nearly the same size: no line, and none was asked for
    told = any(level for level in levels) and found and not found[0].missing
    shared = None if told else uneven_sharing(charging, discharging)
    return (shared, *found) if shared else found


def _signed(level: Level | None, sign: float) -> Level | None:
    return None if not level else {name: sign * abs(amps) for name, amps in level.items()}


def _extended(bank: Bank, cycle: bool | None) -> Extension | None:
    wanted = is_unlike(bank.modules) if cycle is None else cycle
    return extension(bank) if wanted and len(bank.modules) > 1 else None


def _joining(
    bank: Bank,
    good: tuple[ModuleReading, ...],
    flow: Inrush | None,
    after: Settled | None,
    not_read: tuple[str, ...],
) -> tuple[Finding, ...]:
    found: list[Finding] = []
    if not_read:
        found.append(_unread(not_read))
    if old := stale(good):
        found.append(_old(good, old))
    if flow is not None:
        degc = _temperatures(bank, good)
        subject = Subject(flow.bank, flow.readings, flow, after, degc)
        found += findings(join_checks.CHECKS, subject)
        found += drifting(flow.bank, flow.readings, flow, degc)
    return tuple(found)


def _unread(names: tuple[str, ...]) -> Finding:
    how = "Open every breaker and the main switch, switch on one module alone, read its posts."
    missing = tuple(asking(f"readings.{name}.voltage", how) for name in names)
    return cards.READ.found(
        names[:1],
        None,
        (None, None),
        say("Not read: {names}", names=", ".join(names)),
        say("Read it before it is joined; leave its breaker open until then."),
        missing=missing,
        more=names[1:],
    )


def _old(readings: Sequence[ModuleReading], names: tuple[str, ...]) -> Finding:
    age = max(reading.age or 0.0 for reading in readings)
    how = "Read it again, alone at its posts, with the same meter as the others and right after them."
    return cards.READ_TOGETHER.found(
        names[:1],
        None,
        (None, None),
        say("Read {age} ago: {names}", age=Figure(age, "time"), names=", ".join(names)),
        say("Join nothing on old readings."),
        missing=tuple(asking(f"readings.{name}.voltage", how) for name in names),
        more=names[1:],
    )
