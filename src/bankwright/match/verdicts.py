"""Match: two verdicts that are never merged, what they rest on, and what to do.

Gives: Match, match_of(). `joining` answers "may they be joined?", `charge` answers "are they equally charged?"; each is
a list of findings with its own verdict. A module with a stop takes part in neither.
Limits: advice from readings; nothing is switched. Bad readings raise QuestionError with all faults.
Sources: stand at each finding.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from bankwright.bank.model import Bank
from bankwright.forms.checks import findings
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.finding import Finding, Missing, Verdict, worst_first
from bankwright.forms.sheets import Sheet
from bankwright.forms.wording import Figure, say
from bankwright.match import charge_checks, join_checks
from bankwright.match.charge_range import ChargeRange, charge_range
from bankwright.match.entry import ModuleReading, faults_of_readings, stale
from bankwright.match.extend import Extension, extension, extension_findings, is_unlike
from bankwright.match.inrush import Inrush, inrush
from bankwright.match.plans import plans
from bankwright.match.settle import Settled, settled
from bankwright.match.sources import PRACTICE, RULE_OF_THUMB
from bankwright.match.stops import stops
from bankwright.match.subject import Subject
from bankwright.match.timed import Tools
from bankwright.match.uneven import uneven_sharing

__all__ = ["Match", "match_of", "together", "verdict_of"]

BY_DIFFERENCE = ("M-JOIN-1", "M-JOIN-2", "M-JOIN-3", "M-JOIN-5", "M-JOIN-7", "M-MOST-1")
FAILS_LAST: tuple[Verdict, ...] = ("pass", "caution", "unknown", "fail")


def verdict_of(found: Sequence[Finding]) -> Verdict:
    """The worst verdict of a list: fail, unknown, caution, pass."""
    return max((finding.verdict for finding in found), key=FAILS_LAST.index, default="pass")


def together(found: Sequence[Finding]) -> tuple[Finding, ...]:
    """Findings of one code and verdict as one, the worst in front; what is missing of each is kept."""
    groups: dict[tuple[str, Verdict], list[Finding]] = {}
    for finding in found:
        groups.setdefault((finding.code, finding.verdict), []).append(finding)
    made = []
    for group in groups.values():
        first, *rest = worst_first(tuple(group))
        more = tuple(dict.fromkeys([*first.more, *(place for item in rest for place in item.at)]))
        missing = tuple(dict.fromkeys([*first.missing, *(gap for item in rest for gap in item.missing)]))
        made.append(replace(first, more=more, missing=missing) if rest else first)
    return tuple(made)


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

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, worst first, places of one kind put together."""
        return worst_first(together((*self.stopped, *self.joining, *self.charge, *self.unlike)))

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
    cycle: bool | None = None,
) -> Match:
    """Judge the readings; `cycle` True or False runs the whole cycle or not, None runs it for unlike modules."""
    faults = tuple(faults_of_readings(bank, readings))
    if not readings and charging is None:
        faults = (
            Fault("readings", "no-readings", "no reading was given", "one voltage a module", "--reading M1=52.6V"),
        )
    if faults:
        raise QuestionError(faults, "the readings")
    stopped = tuple(stops(bank, readings))
    bad = {finding.at[0] for finding in stopped if finding.code.startswith("M-STOP")}
    good = tuple(reading for reading in readings if reading.module not in bad)
    not_read = tuple(m.name for m in bank.modules if m.name not in {r.module for r in readings})
    shared = uneven_sharing(charging, discharging) if charging else None
    extended = _extended(bank, cycle)
    unlike = (() if extended is None else extension_findings(bank, extended)) + ((shared,) if shared else ())
    if not good:
        return Match(bank, tuple(readings), (), (), stopped, unlike, (), (), (), extension=extended, not_read=not_read)
    ranges = tuple(charge_range(bank.module(r.module), r) for r in good)
    flow = inrush(bank, good, _temperatures(bank, good)) if len(good) > 1 else None
    after = settled(bank, good) if len(good) > 1 else None
    joining = _joining(bank, good, flow, after, not_read)
    charge = tuple(findings(charge_checks.CHECKS, charge_checks.ChargeSubject(good, ranges, after, not_read)))
    may = verdict_of((*stopped, *joining)) in ("pass", "caution")
    sheets: tuple[Sheet, ...] = ()
    if flow is not None and not stopped and all(f.code != "M-JOIN-6" for f in joining):
        same = verdict_of([f for f in charge if f.code == "M-CHARGE-1"]) == "pass"
        sheets = plans(bank, good, ranges, flow, after, may, _apart(joining, after), same, tools or Tools())
    notes = () if flow is None or not flow.note else (flow.note,)
    order = () if flow is None else flow.order.names
    return Match(
        bank,
        tuple(readings),
        joining,
        charge,
        stopped,
        unlike,
        order,
        ranges,
        sheets,
        flow,
        after,
        extended,
        not_read,
        notes,
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
    return tuple(found)


def _unread(names: tuple[str, ...]) -> Finding:
    how = "Open every breaker and the main switch, switch on one module alone, read its posts."
    missing = tuple(Missing(f"readings.{name}.voltage", how, "measure") for name in names)
    return Finding(
        "M-READ-1",
        "Every module was read",
        names[:1],
        None,
        (None, None),
        PRACTICE,
        say("Read it before it is joined; leave its breaker open until then."),
        missing=missing,
        more=names[1:],
        text=say("Not read: {names}", names=", ".join(names)),
    )


def _old(readings: Sequence[ModuleReading], names: tuple[str, ...]) -> Finding:
    age = max(reading.age or 0.0 for reading in readings)
    how = "Read it again, alone at its posts, with the same meter as the others and right after them."
    return Finding(
        "M-READ-2",
        "All read on one occasion",
        names[:1],
        None,
        (None, None),
        PRACTICE,
        say("Join nothing on old readings."),
        missing=tuple(Missing(f"readings.{name}.voltage", how, "measure") for name in names),
        more=names[1:],
        text=say("Read {age} ago: {names}", age=Figure(age, "time"), names=", ".join(names)),
    )
