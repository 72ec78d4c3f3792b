"""Readings and ticks of first power-up, typed at the bank: into the logbook, and facts out of it.

Gives: facts_of(), ticks_of(), keep_readings(), keep_ticks(), step_named(). All or none of one line is kept.
Limits: whether a value can be is logbook/plausible; judging is in sheet.py. A locked step takes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.bank.model import Bank
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.nearest import did_you_mean
from bankwright.forms.sheets import MATCH_RECORD
from bankwright.logbook.baseline import BASELINE
from bankwright.logbook.clocks import SystemClock
from bankwright.logbook.logbook import Logbook
from bankwright.logbook.typed import TypedReading, typed_reading
from bankwright.prove.sheet.due import Due, Facts
from bankwright.prove.sheet.service import SERVICE, SERVICE_BOX
from bankwright.prove.sheet.sheet import HANDED, PREFIX, ProveSheet, StepNow, wiring_digest
from bankwright.prove.sheet.survey import SURVEY, survey_of
from bankwright.prove.sheet.words import place_words

__all__ = ["facts_of", "keep_readings", "keep_ticks", "step_named", "ticks_of"]

TO_FRAME = " to frame"
RESULTS = ("share test", "millivolt test", "capacity test", BASELINE, HANDED[1])


def facts_of(bank: Bank, book: Logbook | None, not_earthed: str = "") -> Facts:
    """What the logbook holds for this sheet."""
    if book is None:
        return Facts(bank, not_earthed=not_earthed)
    taken = {
        (e.step.removeprefix(PREFIX), e.quantity or "", e.at or ""): e.value
        for e in book.entries(kind="reading", standing=True)
        if e.step is not None and e.step.startswith(PREFIX) and e.value is not None
    }
    record = book.latest_result(MATCH_RECORD)
    payload = record.payload if record is not None and isinstance(record.payload, dict) else {}
    names = {module.name for module in bank.modules}
    order = tuple(str(name) for name in payload.get("order") or () if name in names)
    results = frozenset(kind for kind in RESULTS if book.latest_result(kind) is not None)
    may = payload.get("may_join") in ("pass", "caution") or len(bank.modules) == 1
    surveyed = book.latest_result(SURVEY)
    told = () if surveyed is None else survey_of(surveyed.payload, surveyed.when.wall)
    served = book.ticks().get((PREFIX + SERVICE, SERVICE_BOX))
    day = served.when.wall[:10] if served is not None and served.done else ""
    return Facts(bank, taken, order if len(order) == len(names) else (), may, not_earthed, results, told, day)


def ticks_of(book: Logbook | None) -> dict[tuple[str, str], str]:
    """Digest of each standing tick of this sheet."""
    found = {} if book is None else book.ticks()
    return {key: tick.digest for key, tick in found.items() if tick.done and key[0].startswith(PREFIX)}


def step_named(sheet: ProveSheet, name: str | None) -> StepNow | None:
    """The step by its id, or the one in hand; QuestionError for a name that is none."""
    if name is None:
        return sheet.here
    known = {now.step.id: now for now in sheet.steps}
    found = known.get(name.strip().removeprefix(PREFIX).upper())
    if found is None:
        hint = did_you_mean(name, list(known), f"Steps: {', '.join(known)}", 3)
        raise QuestionError((Fault("--step", "unknown-step", f'there is no step "{name}"', hint=hint),), "the options")
    return found


def _open(now: StepNow) -> None:
    if now.state == "locked":
        hint = "; ".join(now.locked_by)
        raise QuestionError((Fault(now.step.id, "step-locked", "this step cannot be opened", hint=hint),), "the sheet")


def keep_readings(
    book: Logbook, bank: Bank, now: StepNow, texts: Sequence[str], *, who: str = "", meter: str | None = None
) -> None:
    """Keep "PLACE=VALUE" or "PLACE to frame=VALUE" texts of a step; QuestionError with all faults, none kept."""
    _open(now)
    known = (*bank.instruments, *(item for item in book.instruments() if item not in bank.instruments))
    typed: list[TypedReading] = []
    faults: list[Fault] = []
    for text in texts:
        at, _, value = (part.strip() for part in text.partition("="))
        try:
            due = _due(now, at, value)
            moment = SystemClock().now()
            typed.append(
                typed_reading(
                    due.at, value, moment, bank=bank, quantity=due.quantity, meter=meter, instruments=known, who=who
                )
            )
        except QuestionError as error:
            faults += error.faults
    if faults:
        raise QuestionError(tuple(faults), "the readings")
    for each in typed:
        book.append_reading(each.reading, each.instrument, step=PREFIX + now.step.id)


def _no_such_place(now: StepNow, at: str, dues: Sequence[Due]) -> Fault:
    """A reading without a value, or at a place that the step does not read."""
    if dues:
        return Fault(at, "no-value", "no value was given", hint=f'Write "{place_words(dues[0])}=VALUE"')
    places = list(dict.fromkeys(place_words(each.due) for each in now.readings))
    found = f'{now.step.id} reads nothing at "{at}"'
    near = did_you_mean(at, places, "", 3)
    reads = f"It reads at: {', '.join(places)}" if places else "It takes no readings, only ticks"
    return Fault(at or "--read", "which-place", found, near, reads)


def _due(now: StepNow, at: str, value: str) -> Due:
    place, frame = at.removesuffix(TO_FRAME).strip(), at.endswith(TO_FRAME)
    dues = [each.due for each in now.readings if each.due.at == place]
    if frame:
        dues = [due for due in dues if due.quantity == "frame_voltage"]
    dues.sort(key=lambda due: due.quantity == "frame_voltage")  # last, unless it says "to frame"
    if not dues or not value:
        raise QuestionError((_no_such_place(now, at, dues),), "")
    faults = []
    for due in dues:
        try:
            parse(value, due.quantity)
            return due
        except QuantityFault as fault:
            faults.append(Fault(at, fault.code, fault.found, hint=fault.hint))
    raise QuestionError(tuple(faults[:1]), "the readings")


def keep_ticks(
    book: Logbook, bank: Bank, now: StepNow, boxes: Sequence[str], *, who: str = "", done: bool = True
) -> None:
    """Tick boxes of a step ("all" for each), or take them back."""
    if done:
        _open(now)
    known = [box for box, _ in now.step.boxes]
    wanted = known if "all" in boxes else list(boxes)
    wrong = [
        Fault(now.step.id, "unknown-box", f'found "{box}"', ", ".join(known)) for box in wanted if box not in known
    ]
    if wrong:
        raise QuestionError(tuple(wrong), "the tick")
    for box in wanted:
        book.tick(PREFIX + now.step.id, box, done=done, digest=wiring_digest(bank), who=who)
