"""Readings of the load tests from options and a file, and a subject made of them.

Gives: Typed, share_subject_of(), millivolt_subject_of(), due_of(), plan_level(). Options speak of one load; a file may
hold many.
Limits: texts are parsed in entry.py; nothing is judged here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.bank.model import Bank
from bankwright.circuit.of_bank.at_age import READ_FROM
from bankwright.circuit.steady import Steady
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.finding import Missing
from bankwright.forms.readings import Instrument
from bankwright.prove.currents import Level
from bankwright.prove.entry import Row, drops_of, rounds_of, rows_from_csv, temperatures_of
from bankwright.prove.expected import Conditions, loads_of
from bankwright.prove.meters import Bus, By, clamp_of, millivolts_of
from bankwright.prove.millivolt_subject import MillivoltSubject
from bankwright.prove.share_plan import ShareDue, share_due
from bankwright.prove.share_subject import LACKING, ShareSubject, missing_of

__all__ = ["Typed", "due_of", "millivolt_subject_of", "plan_level", "share_subject_of"]


@dataclass(frozen=True, slots=True)
class Typed:
    """What a person wrote: lists of "M1=text", one load, and a file."""

    zero: tuple[str, ...] = ()  # currents without load
    current: tuple[str, ...] = ()
    drop: tuple[str, ...] = ()  # millivolts under load, place=text
    drop_zero: tuple[str, ...] = ()  # millivolts without load
    temperature: tuple[str, ...] = ()
    load: str | None = None
    age: str | None = None
    on: str = ""
    off: str = ""
    by: By = "clamp"
    file: Path | None = None
    meter: str | None = None  # the clamp
    millivolts: str | None = None  # the millivoltmeter
    step: str | None = None  # a count of the millivoltmeter
    bus_step: str | None = None
    zeroed: bool = False
    room: str | None = None


def _parts(texts: Sequence[str], what: str) -> list[tuple[str, str]]:
    found, faults = [], []
    for text in texts:
        name, equals, value = text.partition("=")
        if not equals or not name.strip():
            faults.append(Fault(what, "name-missing", f"found {text!r}", hint="Write M1=40.6A"))
        found.append((name.strip(), value.strip()))
    if faults:
        raise QuestionError(tuple(faults), "the readings")
    return found


def _rows(typed: Typed) -> tuple[Row, ...]:
    """Rows of the file, then those of the options."""
    rows = list(rows_from_csv(typed.file)) if typed.file else []
    beside = {key: value for key, value in (("on", typed.on), ("off", typed.off), ("age", typed.age or "")) if value}
    load = {} if typed.load is None else {"load": typed.load}
    rows += [Row(at, {"load": "0 A", typed.by: text}, "--zero") for at, text in _parts(typed.zero, "--zero")]
    under = {**load, **beside}
    rows += [Row(at, {**under, typed.by: text}, "--current") for at, text in _parts(typed.current, "--current")]
    zeros = dict(_parts(typed.drop_zero, "--zero-drop"))
    for at, text in _parts(typed.drop, "--drop"):
        zero = {"zero": zeros[at]} if at in zeros else {}
        rows.append(Row(at, {**under, "millivolts": text, **zero}, "--drop"))
    rows += [Row(at, {"load": "0 A", "temperature": t}, "--temperature") for at, t in _for_all(typed.temperature)]
    return tuple(rows)


def _for_all(texts: Sequence[str]) -> list[tuple[str, str]]:
    return [(name.strip() if equals else "", (value if equals else name).strip())
            for name, equals, value in (text.partition("=") for text in texts)]  # fmt: skip


def _amount(text: str | None, quantity: str, what: str) -> float | None:
    if text is None:
        return None
    try:
        return parse(text, quantity).nominal
    except QuantityFault as fault:
        raise QuestionError((Fault(what, fault.code, fault.found, hint=fault.hint),), "the options") from fault


def _degc(bank: Bank, rows: Sequence[Row]) -> dict[str, float]:
    """Temperatures by module; one without a name is that of all."""
    every = [Row(module.name, row.text, row.where) for row in rows if row.at == "" for module in bank.modules]
    return temperatures_of(bank, (*every, *(row for row in rows if row.at)))


def share_subject_of(bank: Bank, steady: Steady, typed: Typed, known: Sequence[Instrument] = ()) -> ShareSubject:
    """A share test of what was typed; QuestionError with all faults."""
    rows = _rows(typed)
    step = _amount(typed.bus_step, "current", "--bus-step")
    return ShareSubject(
        bank,
        steady,
        rounds_of(bank, rows),
        clamp_of(typed.meter, bank, known, zeroed=typed.zeroed),
        Bus() if step is None else Bus(step=step),
        _amount(typed.room, "temperature_degc", "--room"),
        _degc(bank, rows) or None,
    )


def due_of(bank: Bank, typed: Typed) -> tuple[tuple[ShareDue, ...], tuple[Missing, ...]]:
    """What is due under the load, age, modules and temperatures that were typed, or what the file lacks for it."""
    level, age = plan_level(bank, typed), _amount(typed.age, "time", "--age")
    if level is None:
        return (), ()
    room, cells = _amount(typed.room, "temperature_degc", "--room"), _degc(bank, _rows(typed))
    loads = loads_of(bank, level.load, level.on)
    try:
        return share_due(bank, [Conditions(loads, READ_FROM if age is None else age, level.off, room, cells)]), ()
    except LACKING as error:
        return (), missing_of(error)


def plan_level(bank: Bank, typed: Typed) -> Level | None:
    """The load that a plan is made for; QuestionError for a name that is not in the bank."""
    load = _amount(typed.load, "current", "--load")
    if load is None:
        return None
    if load == 0.0:
        raise QuestionError((Fault("--load", "no-load", f"found {typed.load}", hint="Give a load other than 0 A"),), "")
    text = {"load": typed.load or "", "clamp": "0 A", "on": typed.on, "off": typed.off}
    text |= {"age": typed.age} if typed.age else {}
    rounds_of(bank, [Row(bank.modules[0].name, text)])  # its names are looked up as those of readings
    return Level(load, tuple(typed.on.split()), frozenset(typed.off.split()))


def millivolt_subject_of(
    bank: Bank, steady: Steady, typed: Typed, known: Sequence[Instrument] = ()
) -> MillivoltSubject:
    """A millivolt test of what was typed; QuestionError with all faults."""
    rows = _rows(typed)
    step = _amount(typed.step, "voltage_drop", "--step")
    return MillivoltSubject(
        bank,
        steady,
        drops_of(bank, rows),
        rounds_of(bank, rows),
        millivolts_of(typed.millivolts, bank, known, step=step),
        clamp_of(typed.meter, bank, known, zeroed=typed.zeroed),
        Bus(),
        _amount(typed.room, "temperature_degc", "--room"),
        plan_level(bank, typed),
        READ_FROM if typed.age is None else _amount(typed.age, "time", "--age") or 0.0,
    )
