"""Readings gathered from what was typed, from a file, or from the logbook, with what is known beside them.

Gives: Typed, collected(), from_csv(), keep(). A value for all modules is written alone ("6 h"), one for a module with
its name ("M3=20 min"). All faults come together.
Limits: nothing is guessed: what was not said stays unknown, and the findings ask for it.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import TypeVar, cast

from bankwright.bank.model import Bank
from bankwright.bank.quantity_text import QuantityFault, parse
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.readings import Instant, Reading
from bankwright.logbook.logbook import Logbook
from bankwright.match.entry import Last, Meter, ModuleReading, faults_of_readings, meter_of, module_reading
from bankwright.match.verdicts import Match

__all__ = ["Typed", "collected", "from_csv", "keep"]

T = TypeVar("T")
COLUMNS = ("module", "voltage", "rested", "temperature", "last", "soc")


@dataclass(frozen=True, slots=True)
class Typed:
    """What a person wrote, each a list of "M1=text" or of a text for all."""

    voltage: tuple[str, ...] = ()
    rested: tuple[str, ...] = ()
    temperature: tuple[str, ...] = ()
    last: tuple[str, ...] = ()
    soc: tuple[str, ...] = ()
    meter: str | None = None
    who: str = ""
    from_log: bool = False
    faults: tuple[Fault, ...] = field(default=())


def from_csv(path: Path) -> Typed:
    """Read a file with the columns module, voltage, rested, temperature, last, soc; the first two must be filled."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        fault = Fault(str(path.name), "file-unreadable", str(error), hint="A text file with commas is expected")
        raise QuestionError((fault,), "the readings") from error
    found = csv.DictReader(text.splitlines())
    names = tuple((name or "").strip() for name in found.fieldnames or ())
    if "module" not in names or "voltage" not in names:
        hint = f"First line: {','.join(COLUMNS)}"
        fault = Fault(path.name, "columns-missing", f"found the columns {', '.join(names) or 'none'}", hint=hint)
        raise QuestionError((fault,), "the readings")
    lists: dict[str, list[str]] = {name: [] for name in COLUMNS[1:]}
    for row in found:
        module = (row.get("module") or "").strip()
        for name in COLUMNS[1:]:
            value = (row.get(name) or "").strip()
            if module and value:
                lists[name].append(f"{module}={value}")
    columns = {name: tuple(values) for name, values in lists.items()}
    return Typed(columns["voltage"], columns["rested"], columns["temperature"], columns["last"], columns["soc"])


def _split(texts: Sequence[str]) -> tuple[dict[str, str], str | None]:
    """By module, and the one for all."""
    by_module, for_all = {}, None
    for text in texts:
        name, equals, value = text.partition("=")
        if equals:
            by_module[name.strip()] = value.strip()
        else:
            for_all = text.strip()
    return by_module, for_all


def collected(bank: Bank, typed: Typed, logbook: Logbook | None = None) -> tuple[ModuleReading, ...]:
    """Gather everything; QuestionError with all faults."""
    faults: list[Fault] = list(typed.faults)
    known = logbook.instruments() if logbook is not None else ()
    meter = _tried(faults, lambda: meter_of(typed.meter, bank, known))
    volts, alone = _split(typed.voltage)
    if alone is not None:
        faults.append(Fault("reading", "module-missing", f"found {alone!r}", "MODULE=VOLTAGE", "Write M1=52.6V"))
    readings = {}
    for name, text in volts.items():
        if name not in {module.name for module in bank.modules}:
            names = ", ".join(module.name for module in bank.modules)
            faults.append(Fault(name, "module-unknown", f"{name} is no module of this bank", hint=f"Modules: {names}"))
            continue
        made = _tried(faults, lambda name=name, text=text: module_reading(name, text, meter, bank, known))  # type: ignore[misc]
        if made is not None:
            readings[name] = made
    if typed.from_log and logbook is not None:
        readings = {**_from_log(bank, logbook), **readings}
    beside = _Beside(typed, faults)
    finished = tuple(beside.added(readings[m.name], typed.who) for m in bank.modules if m.name in readings)
    faults += faults_of_readings(bank, finished)
    if faults:
        raise QuestionError(tuple(faults), "the readings")
    return finished


def _tried(faults: list[Fault], make: Callable[[], T]) -> T | None:
    try:
        return make()
    except QuestionError as error:
        faults.extend(error.faults)
        return None


class _Beside:
    """What is known beside the voltage."""

    def __init__(self, typed: Typed, faults: list[Fault]) -> None:
        self.faults = faults
        self.rested, self.rested_all = _split(typed.rested)
        self.degc, self.degc_all = _split(typed.temperature)
        self.last, self.last_all = _split(typed.last)
        self.soc, self.soc_all = _split(typed.soc)

    def added(self, reading: ModuleReading, who: str) -> ModuleReading:
        """The reading with rest, temperature, direction and display."""
        name = reading.module
        return replace(
            reading,
            rested=self._value(self.rested.get(name, self.rested_all), "time", name, reading.rested),
            temperature_degc=self._value(
                self.degc.get(name, self.degc_all), "temperature_degc", name, reading.temperature_degc
            ),
            soc=self._value(self.soc.get(name, self.soc_all), "soc", name, reading.soc),
            last=self._direction(self.last.get(name, self.last_all), name, reading.last),
            who=who or reading.who,
        )

    def _value(self, text: str | None, quantity: str, name: str, known: float | None) -> float | None:
        if text is None or text.casefold() in ("unknown", "?"):
            return known
        try:
            return parse(text, quantity).nominal
        except QuantityFault as fault:
            self.faults.append(Fault(name, fault.code, fault.found, hint=fault.hint))
            return known

    def _direction(self, text: str | None, name: str, known: Last | None) -> Last | None:
        if text is None or text.casefold() in ("unknown", "?"):
            return known
        if text not in ("charged", "discharged"):
            self.faults.append(Fault(name, "direction-unknown", f"found {text!r}", "charged or discharged"))
            return known
        return cast(Last, text)


def _from_log(bank: Bank, logbook: Logbook) -> dict[str, ModuleReading]:
    """The newest voltage of each module, with earlier ones, temperature and display from the logbook."""
    found: dict[str, ModuleReading] = {}
    newest, known = logbook.latest_readings("voltage"), logbook.instruments()
    degc, soc = logbook.latest_readings("temperature_degc"), logbook.latest_readings("soc")
    for module in bank.modules:
        reading = newest.get(module.name)
        if reading is None:
            continue
        meter = Meter(reading.instrument, None) if reading.instrument else None
        text = reading.as_typed or f"{reading.value:g} V"
        made = module_reading(module.name, text, meter, bank, known)
        found[module.name] = replace(
            made,
            when=reading.when,
            who=reading.who,
            earlier=_earlier(logbook.readings(module.name, "voltage"), reading),
            temperature_degc=degc[module.name].value if module.name in degc else None,
            soc=soc[module.name].value if module.name in soc else None,
        )
    return found


def _earlier(every: Sequence[Reading], newest: Reading) -> tuple[tuple[float, float], ...]:
    moment = datetime.fromisoformat(newest.when.wall)
    before = [(moment - datetime.fromisoformat(r.when.wall), r.value) for r in every]
    pairs = [(gap.total_seconds(), value) for gap, value in before if gap.total_seconds() > 0]
    return tuple(sorted(pairs, reverse=True))


def keep(logbook: Logbook, found: Match, now: Instant, fresh: Sequence[str]) -> int:
    """Write typed readings and the match record down; the number of the record's entry."""
    new = [r.as_reading(now) for r in found.readings if r.module in fresh]
    if new:
        logbook.append_readings(new, step="match")
    return logbook.hand_over("match record", found.record()).seq
