"""Where the work stands: the sheet beside the logbook's ticks and readings.

Gives: StepState, progress(), next_step(), tick_step(), tick_every(), hand_over(), strange_steps(), may_join(),
not_earthed(), before_match(). A step that was ticked, and whose ground in the bank file changed since, is open again
and says what changed. A step may wait for the record of Match, too.
Limits: nothing is stored here but through the logbook; the facts a step rested on when it was ticked are handed
over as a result of kind FACTS, so that the change can be told in words.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Literal

from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.sheets import MATCH_RECORD, ReadingWanted, Sheet, Step
from bankwright.forms.wording import amount_text

if TYPE_CHECKING:
    from bankwright.bank.model import Bank
    from bankwright.forms.readings import Instant
    from bankwright.logbook.entries import Stored, Ticked
    from bankwright.logbook.logbook import Logbook

__all__ = [
    "FACTS",
    "TORQUES",
    "StepState",
    "before_match",
    "hand_over",
    "may_join",
    "next_step",
    "not_earthed",
    "progress",
    "strange_steps",
    "tick_every",
    "tick_step",
]

FACTS, TORQUES = "build.facts", "build.torques"
State = Literal["open", "begun", "done", "open again"]


@dataclass(frozen=True, slots=True)
class StepState:
    """One step as it stands."""

    step: Step
    state: State
    ticked: tuple[str, ...]  # ids of boxes that stand
    wanting: tuple[str, ...]  # ids of boxes still to tick
    readings: tuple[ReadingWanted, ...]  # still to take
    why: tuple[str, ...] = ()  # what changed since it was ticked
    waits_for: tuple[str, ...] = ()  # steps before it that are not done
    outside: tuple[str, ...] = ()  # readings that were taken and lie outside what the step expects


def progress(sheet: Sheet, logbook: Logbook | None) -> tuple[StepState, ...]:
    """State of every step; without a logbook all are open."""
    ticks = logbook.ticks() if logbook is not None else {}
    facts = _facts(logbook)
    taken = _taken(logbook)
    matched = may_join(logbook)
    states: dict[str, StepState] = {}
    for step in sheet.steps:
        state = _state(step, ticks, facts, taken)
        waits = tuple(name for name in step.after if _waits(name, states, matched))
        states[step.id] = replace(state, waits_for=waits)
    return tuple(states.values())


def may_join(logbook: Logbook | None) -> bool:
    """True where the newest record of Match says that the modules may be joined."""
    record = None if logbook is None else logbook.latest_result(MATCH_RECORD)
    payload: Any = {} if record is None else record.payload
    return isinstance(payload, dict) and payload.get("may_join") in ("pass", "caution")


def _waits(name: str, states: Mapping[str, StepState], matched: bool) -> bool:
    return not matched if name == MATCH_RECORD else name in states and states[name].state != "done"


def strange_steps(sheet: Sheet, logbook: Logbook | None) -> tuple[str, ...]:
    """Steps of Build that were ticked and that this sheet has not: things taken out, or another bank's logbook."""
    known = {step.id for step in sheet.steps}
    ticks = logbook.ticks() if logbook is not None else {}
    return tuple(dict.fromkeys(step for step, _ in ticks if step.startswith("build.") and step not in known))


def _boxes(step: Step) -> tuple[str, ...]:
    return tuple(tick.id for tick in step.ticks) or ("",)


def _state(
    step: Step,
    ticks: Mapping[tuple[str, str], Ticked],
    facts: Mapping[tuple[str, str], Mapping[str, str]],
    taken: Mapping[tuple[str, str, str], float],
) -> StepState:
    boxes = _boxes(step)
    found = {box: ticks[step.id, box] for box in boxes if (step.id, box) in ticks and ticks[step.id, box].done}
    older = [tick for tick in found.values() if tick.digest != step.digest]
    standing = tuple(box for box in boxes if box in found and found[box].digest == step.digest)
    wanting = tuple(box for box in boxes if box not in standing)
    values = {w: taken.get((step.id, w.quantity, w.at)) for w in step.readings}
    readings = tuple(w for w, value in values.items() if value is None or not _inside(w, value))
    outside = tuple(
        _outside_words(w, value) for w, value in values.items() if value is not None and not _inside(w, value)
    )
    state = StepState(step, "open", standing, wanting, readings, outside=outside)
    if older:
        why = _changes(facts.get((step.id, older[0].digest), {}), step.rests)
        return replace(state, state="open again", why=why)
    if not wanting and not readings:
        return replace(state, state="done")
    begun = bool(standing) or any(value is not None for value in values.values())
    return replace(state, state="begun" if begun else "open")


def _inside(wanted: ReadingWanted, value: float) -> bool:
    return (wanted.low is None or value >= wanted.low) and (wanted.high is None or value <= wanted.high)


def _outside_words(wanted: ReadingWanted, value: float) -> str:
    return f"{wanted.at}: {amount_text(value, wanted.quantity)} lies outside what this step expects"


def _changes(before: Mapping[str, str], now: Mapping[str, str]) -> tuple[str, ...]:
    if not before:
        return ("The bank file changed what this step rests on.",)
    changed: dict[tuple[str | None, str | None], list[str]] = {}
    for key in dict.fromkeys((*before, *now)):
        if before.get(key) != now.get(key):
            changed.setdefault((before.get(key), now.get(key)), []).append(key)
    said = [f"{', '.join(keys)}: was {old or 'absent'}, is {new or 'absent'}" for (old, new), keys in changed.items()]
    return tuple(said) or ("The bank file changed what this step rests on.",)


def _facts(logbook: Logbook | None) -> dict[tuple[str, str], Mapping[str, str]]:
    """What each step rested on when it was ticked, by step and digest."""
    if logbook is None:
        return {}
    found: dict[tuple[str, str], Mapping[str, str]] = {}
    for entry in logbook.entries(kind="result", standing=True):
        if entry.body.get("kind") == FACTS:
            payload: Any = entry.body.get("payload", {})
            found[str(payload.get("step")), str(payload.get("digest"))] = dict(payload.get("rests", {}))
    return found


def _taken(logbook: Logbook | None) -> dict[tuple[str, str, str], float]:
    """The newest standing reading of each step, quantity and place."""
    if logbook is None:
        return {}
    entries = logbook.entries(kind="reading", standing=True)
    return {(e.step or "", e.quantity or "", e.at or ""): e.value for e in entries if e.value is not None}


def not_earthed(bank: Bank, logbook: Logbook | None) -> str:
    """One sentence until the tick of build.earth stands; empty where no pole is earthed by the file, or it is."""
    pole = bank.site.earthing.pole
    if pole not in ("minus", "plus"):
        return ""
    tick = None if logbook is None else logbook.ticks().get(("build.earth", "earthed"))
    earthed = tick is not None and tick.done
    return "" if earthed else f"The {pole} pole is not earthed yet: the main switch stays open."


def before_match(states: Sequence[StepState]) -> tuple[StepState, ...]:
    """The steps up to the hand-over; what stands after it waits for Match."""
    last = next((n for n, state in enumerate(states) if state.step.id == "build.handover"), len(states) - 1)
    return tuple(states[: last + 1])


def next_step(states: tuple[StepState, ...]) -> StepState | None:
    """The first step that is not done; None when all are."""
    return next((state for state in states if state.state != "done"), None)


def tick_step(
    logbook: Logbook,
    step: Step,
    box: str = "",
    *,
    who: str = "",
    done: bool = True,
    id_: str = "",
    when: Instant | None = None,
) -> Stored:
    """Tick a box of a step (or take the tick back), with the facts it rests on."""
    known = _boxes(step)
    if box not in known:
        right = "Boxes: " + ", ".join(known) if known != ("",) else "The step has one box: leave it out"
        raise QuestionError((Fault(step.id, "unknown-box", f'found "{box}"', right),), "the tick")
    joint = box.removeprefix("torque/")
    lacking = {name for f in step.findings if f.code == "BLD-TORQUE" for name in (*f.at, *f.more)}
    posts = {name.partition("@")[2] for name in lacking}  # two lugs on one post share its nut
    if done and joint != box and joint.partition("@")[2] in posts:
        right = "Ask the maker, and write it into the bank file"
        raise QuestionError(
            (Fault(step.id, "torque-unknown", f"the torque of {joint} is not known", right),), "the tick"
        )
    if done and step.rests and (step.id, step.digest) not in _facts(logbook):
        logbook.hand_over(FACTS, {"step": step.id, "digest": step.digest, "rests": dict(step.rests)}, who=who)
    return logbook.tick(step.id, box, done=done, digest=step.digest, who=who, id=id_, when=when)


def tick_every(logbook: Logbook, step: Step, *, who: str = "") -> tuple[QuestionError, ...]:
    """Tick all boxes of a step that may be ticked; what is refused comes back, each with its reason."""
    refused = []
    for box in _boxes(step):
        try:
            tick_step(logbook, step, box, who=who)
        except QuestionError as error:
            refused.append(error)
    return tuple(refused)


def hand_over(logbook: Logbook, sheet: Sheet, who: str = "") -> Stored:
    """Hand the torque log to the stages that come after; refused before every step up to the hand-over is done."""
    states = before_match(progress(sheet, logbook))
    left = [state.step.id for state in states if state.state != "done"]
    if left:
        fault = Fault("build", "steps-open", f"{len(left)} steps are not done", f"First: {left[0]}")
        raise QuestionError((fault,), "the hand-over")
    torqued = {
        tick.id.split("/", 1)[1]: tick.words
        for state in states
        for tick in state.step.ticks
        if tick.id.startswith("torque/")
    }
    return logbook.hand_over(TORQUES, {"torques": torqued}, who=who)
