"""The sheet of first power-up with its state: which step is open, what stopped it, what may not be opened.

Gives: ProveSheet, StepNow, Taken, prove_sheet(), one_step(), PARTS, wiring_digest(), way_back(), PREFIX,
HANDED.
A limit that fails stops its step; every step that waits for it is locked until it is read again and passes.
Limits: any change of wiring, modules or inverters opens the ticks of all steps again, not of one branch alone; readings
are judged anew each time.
Source: order of the sequence: common practice, no source.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from bankwright.bank.model import Bank
from bankwright.forms.finding import Finding
from bankwright.forms.grouping import in_order
from bankwright.forms.sheets import MATCH_RECORD
from bankwright.prove.sheet.ac import island_steps, state_steps
from bankwright.prove.sheet.alone import alone_steps
from bankwright.prove.sheet.dead import dead_steps
from bankwright.prove.sheet.drawn import sum_finding
from bankwright.prove.sheet.due import Due, Facts, StepOf
from bankwright.prove.sheet.first import first_steps, joint_step
from bankwright.prove.sheet.heat import heat_step, like_findings
from bankwright.prove.sheet.judge import detector_finding, frame_finding, judged_due, rest_finding
from bankwright.prove.sheet.legs import STATE_OF, triangle_findings
from bankwright.prove.sheet.load import charge_step, load_steps, path_findings
from bankwright.prove.sheet.service import service_steps
from bankwright.prove.sheet.stops import stop_steps
from bankwright.prove.sheet.sun import string_findings, sun_steps
from bankwright.prove.sheet.survey import survey_findings

__all__ = [
    "HANDED",
    "PARTS",
    "PREFIX",
    "ProveSheet",
    "StepNow",
    "Taken",
    "one_step",
    "prove_sheet",
    "way_back",
    "wiring_digest",
]

PREFIX = "prove."
GROUPED = ("V-FRAME-1", "V-SUM-2", "V-SAG-1", "V-WARM-1")  # of these the bare values are only kept
HANDED = ("build.handover", "build.torques")  # a step of Build, and the result that says it is done
State = Literal["open", "begun", "done", "stopped", "locked"]
PARTS: Mapping[str, Callable[[Facts], Iterable[StepOf]]] = {  # in the order of the sequence
    "A": dead_steps, "B": alone_steps, "C": first_steps, "D": island_steps, "E": load_steps, "E3": joint_step,
    "E4": heat_step, "F": charge_step, "G": state_steps, "H": sun_steps, "I": stop_steps, "J": service_steps,
}  # fmt: skip
BACK = (
    "Pre-charge released, main switch open and locked.",
    "Inverters off by their own button; loads, chargers, AC and sun open.",
    "Every module off, one after the other.",
    "Wait until the inverters' terminals stand below 10 V; then absence of voltage at three pairs (A2).",
)


@dataclass(frozen=True, slots=True)
class Taken:
    """A due reading, what was read, and its finding; None before it is taken."""

    due: Due
    value: float | None
    finding: Finding | None


@dataclass(frozen=True, slots=True)
class StepNow:
    """One step as it stands."""

    step: StepOf
    state: State
    readings: tuple[Taken, ...]
    ticked: tuple[str, ...]
    waits: tuple[str, ...]  # what is not done yet before it
    locked_by: tuple[str, ...]  # what stopped before it, or may not be passed
    more: tuple[Finding, ...]  # of several readings together

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings of what was read here."""
        return (*(each.finding for each in self.readings if each.finding is not None), *self.more)


@dataclass(frozen=True, slots=True)
class ProveSheet:
    """All steps, and what this file has no keys for."""

    title: str
    steps: tuple[StepNow, ...]
    absent: tuple[str, ...] = ()
    not_earthed: str = ""  # the sentence while a pole that is to be earthed is not

    @property
    def findings(self) -> tuple[Finding, ...]:
        """All findings, worst first and numbered."""
        return in_order(finding for step in self.steps for finding in step.findings)

    @property
    def here(self) -> StepNow | None:
        """The step in hand: the first that stopped, else the first that is neither done nor locked."""
        stopped = next((step for step in self.steps if step.state == "stopped"), None)
        return stopped or next((step for step in self.steps if step.state in ("open", "begun")), None)


def way_back(step: StepNow) -> tuple[str, ...]:
    """From this step back to dead, in order."""
    return BACK[3:] if step.step.id.startswith("A") else BACK[2:] if step.step.id.startswith("B") else BACK


def wiring_digest(bank: Bank) -> str:
    """Changes with wiring, modules, inverters and devices; nothing else of the file opens a tick again."""
    rows = [f"{m.name} {m.kind.path} {m.posts}" for m in bank.modules]
    rows += [f"{k.name} {k.a} {k.b} {k.cable and k.cable.size} {k.length} {k.devices}" for k in bank.links]
    rows += [f"{i.name} {i.kind.path} {i.posts}" for i in bank.inverters]
    rows += [f"{d.name} {d.kind.path} {d.on}" for d in bank.devices]
    return hashlib.sha256("\n".join(rows).encode()).hexdigest()[:16]


def prove_sheet(facts: Facts, ticks: Mapping[tuple[str, str], str]) -> ProveSheet:
    """The sheet; `ticks`: digest of each standing tick by (step, box)."""
    digest, found = wiring_digest(facts.bank), dict[str, StepNow]()
    for step in (step for part in PARTS.values() for step in part(facts)):
        ticked = tuple(box for box, _ in step.boxes if ticks.get((PREFIX + step.id, box)) == digest)
        found[step.id] = _now(facts, step, ticked, found)
    title = f"First power-up: {facts.bank.title or facts.bank.file}"
    return ProveSheet(title, tuple(found.values()), _absent(facts.bank), facts.not_earthed)


def _absent(bank: Bank) -> tuple[str, ...]:
    """Parts of the sequence for which this file has nothing."""
    parts = {"D, G: AC side, no inverter": bank.inverters, "F: charge, no charger": bank.chargers}
    parts |= {"H: sun, no strings": bank.strings, "B5: data bus": (bank.bus,) if bank.bus else ()}
    return tuple(words for words, things in parts.items() if not things)


def one_step(facts: Facts, name: str) -> StepNow | None:
    """One step without those before it, nothing ticked; None where this bank has no such step."""
    part = PARTS.get(name) or PARTS.get(name[:1])
    step = next((each for each in part(facts) if each.id == name), None) if part else None
    return None if step is None else _now(facts, step, (), {})


def _now(facts: Facts, step: StepOf, ticked: tuple[str, ...], before: Mapping[str, StepNow]) -> StepNow:
    taken = tuple(_taken(facts, step, due) for due in step.dues)
    more = _together(facts, step)
    locked = tuple(dict.fromkeys(word for name in step.waits for word in _locks(facts, name, before)))
    waits = tuple(name for name in step.waits if name in before and before[name].state != "done")
    if HANDED[0] in step.waits and HANDED[1] not in facts.results:
        waits = (*waits, HANDED[0])
    state = _state(step, taken, more, ticked)
    if locked:
        state = "locked"
    return StepNow(step, state, taken, ticked, waits, locked, more)


def _together(facts: Facts, step: StepOf) -> tuple[Finding, ...]:
    """Findings of several readings of a step."""
    found = {"B3": frame_finding, "B6": rest_finding}.get(step.id)
    one = found(facts) if found else sum_finding(facts, step.id) if step.id in ("E2", "F1") else None
    beside = detector_finding(facts, one) if step.id == "B3" else None
    return (*(each for each in (one, beside) if each is not None), *_rows_together(facts, step))


def _rows_together(facts: Facts, step: StepOf) -> tuple[Finding, ...]:
    if step.id == "E4":
        return like_findings(facts)
    if step.id == "B5":
        return survey_findings(facts.survey, tuple(module.name for module in facts.bank.modules))
    if step.id in ("H1", "H2"):
        return string_findings(facts, step.id)
    if step.id in STATE_OF:
        return triangle_findings(facts, step.id)
    return path_findings(facts, step.dues) if step.id == "E2" else ()


def _taken(facts: Facts, step: StepOf, due: Due) -> Taken:
    value = facts.read(step.id, due.quantity, due.at)
    recorded = due.window == (None, None) and due.code in GROUPED and not due.missing
    if value is None or recorded:  # several readings together make that finding
        return Taken(due, value, None)
    return Taken(due, value, judged_due(due, value))


def _locks(facts: Facts, name: str, before: Mapping[str, StepNow]) -> tuple[str, ...]:
    if name == MATCH_RECORD:
        return () if facts.may_join else ("Match has not said yes: bankwright match FILE",)
    if name not in before:
        return (name,) if name == facts.not_earthed else ()
    step = before[name]
    if step.state == "stopped":
        return (f"{name} stopped: {step.step.title}",)
    return step.locked_by if step.state == "locked" else ()


def _state(step: StepOf, taken: tuple[Taken, ...], more: tuple[Finding, ...], ticked: tuple[str, ...]) -> State:
    found = [*(each.finding for each in taken if each.finding is not None), *more]
    if any(finding.verdict == "fail" for finding in found):
        return "stopped"
    kinds = {id(each.finding): each.due.kind for each in taken}
    unsettled = any(f.verdict == "unknown" and kinds.get(id(f), "limit") != "expectation" for f in found)
    wanting = any(each.value is None and not each.due.optional for each in taken)
    if len(ticked) == len(step.boxes) and not wanting and not unsettled:
        return "done"
    return "begun" if ticked or any(each.value is not None for each in taken) else "open"
