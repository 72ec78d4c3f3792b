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

from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.bank.model import Bank
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.readings import Instant, Reading
from bankwright.logbook.logbook import Logbook
from bankwright.logbook.plausible import cell_place
from bankwright.match.entry import (
    STALE,
    CellReading,
    Last,
    Meter,
    ModuleReading,
    faults_of_readings,
    meter_of,
    module_reading,
)
from bankwright.match.verdicts import Match

__all__ = ["Typed", "collected", "from_csv", "keep"]

T = TypeVar("T")
COLUMNS = ("module", "voltage", "rested", "temperature", "last", "soc", "when")


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
    when: tuple[str, ...] = ()
    faults: tuple[Fault, ...] = field(default=())


def from_csv(path: Path) -> Typed:
    """Read a file with columns of COLUMNS, parted by comma, semicolon or tab; the first two must be filled."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        fault = Fault(str(path.name), "file-unreadable", str(error), hint="A text file with commas is expected")
        raise QuestionError((fault,), "the readings") from error
    head = next(iter(text.splitlines()), "")
    found = csv.DictReader(text.splitlines(), delimiter=max(",;\t", key=head.count), restkey="more")
    names = [(name or "").strip().casefold() for name in found.fieldnames or ()]
    found.fieldnames = names
    if "module" not in names or "voltage" not in names or set(names) - set(COLUMNS):
        strange = ", ".join(names) or "none"
        fault = Fault(path.name, "columns-unknown", f"found the columns {strange}", hint=f"Known: {','.join(COLUMNS)}")
        raise QuestionError((fault,), "the readings")
    return _rows(path.name, list(found))


def _rows(file: str, rows: Sequence[dict[str, str]]) -> Typed:
    """Columns as lists of "M1=text"; a row with a value but without module or voltage is a fault."""
    lists: dict[str, list[str]] = {name: [] for name in COLUMNS[1:]}
    faults = []
    for number, row in enumerate(rows, 2):
        values = {name: (row.get(name) or "").strip() for name in COLUMNS}
        if row.get("more"):
            faults.append(Fault(f"{file}:{number}", "row-too-long", "more values than columns", hint="Quote commas"))
        elif any(values.values()) and not (values["module"] and values["voltage"]):
            gap = "voltage" if values["module"] else "module"
            faults.append(
                Fault(f"{file}:{number}", f"{gap}-missing", f"this row has no {gap}", hint="Fill it or drop it")
            )
        for name in COLUMNS[1:]:
            if values["module"] and values[name]:
                lists[name].append(f"{values['module']}={values[name]}")
    columns = {name: tuple(values) for name, values in lists.items()}
    return Typed(**columns, faults=tuple(faults))  # type: ignore[arg-type]


def _split(texts: Sequence[str], what: str, faults: list[Fault]) -> tuple[dict[str, str], str | None]:
    """By module, and the one for all; two texts for one module are a fault, never the later one silently."""
    by_module: dict[str, str] = {}
    for_all: str | None = None
    for text in texts:
        name, equals, value = text.partition("=")
        if not equals:
            for_all = text.strip()
        elif by_module.get(name.strip(), value.strip()) != value.strip() or (what == "voltage" and name in by_module):
            found = f"two texts for its {what}: {by_module[name.strip()]!r} and {value.strip()!r}"
            faults.append(Fault(name.strip(), "reading-doubled", found, hint="Keep the later one"))
        else:
            by_module[name.strip()] = value.strip()
    return by_module, for_all


def collected(
    bank: Bank, typed: Typed, logbook: Logbook | None = None, now: datetime | None = None
) -> tuple[ModuleReading, ...]:
    """Gather everything; QuestionError with all faults. `now` with its zone: how old the logbook's readings are."""
    now = now or datetime.now().astimezone()
    faults: list[Fault] = list(typed.faults)
    known = logbook.instruments() if logbook is not None else ()
    meter = _tried(faults, lambda: meter_of(typed.meter, bank, known))
    volts, alone = _split(typed.voltage, "voltage", faults)
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
        readings = {**_from_log(bank, logbook, now, meter), **readings}
    if logbook is not None:
        readings = _known_of(bank, logbook, now, readings)
    beside = _Beside(typed, faults, now)
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

    def __init__(self, typed: Typed, faults: list[Fault], now: datetime) -> None:
        self.faults, self.now = faults, now
        self.rested, self.rested_all = _split(typed.rested, "rest", faults)
        self.degc, self.degc_all = _split(typed.temperature, "temperature", faults)
        self.last, self.last_all = _split(typed.last, "last direction", faults)
        self.soc, self.soc_all = _split(typed.soc, "display", faults)
        self.when, self.when_all = _split(typed.when, "time", faults)

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
            age=self._age(self.when.get(name, self.when_all), name, reading.age),
        )

    def _age(self, text: str | None, name: str, known: float | None) -> float | None:
        """Seconds since the time in the file; only a date that can be read one way is taken."""
        if text is None:
            return known
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            hint = "Write the year first, 2026-11-24 18:00: otherwise nobody can tell the day from the month"
            self.faults.append(Fault(name, "time-unreadable", f"found {text!r}", hint=hint))
            return known
        return (self.now - (moment if moment.tzinfo else moment.replace(tzinfo=self.now.tzinfo))).total_seconds()

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


def _from_log(bank: Bank, logbook: Logbook, now: datetime, named: Meter | None = None) -> dict[str, ModuleReading]:
    """The newest voltage of each module, with earlier ones, temperature and display from the logbook."""
    found: dict[str, ModuleReading] = {}
    newest, known = logbook.latest_readings("voltage"), logbook.instruments()
    degc, soc = (
        {name: r for name, r in logbook.latest_readings(quantity).items() if _age(r, now) <= STALE}
        for quantity in ("temperature_degc", "soc")
    )
    for module in bank.modules:
        reading = newest.get(module.name)
        if reading is None:
            continue
        meter = Meter(reading.instrument, None) if reading.instrument else named
        text = reading.as_typed or f"{reading.value:g} V"
        made = module_reading(module.name, text, meter, bank, known)
        found[module.name] = replace(
            made,
            when=reading.when,
            who=reading.who,
            age=_age(reading, now),
            earlier=_earlier(logbook.readings(module.name, "voltage"), reading),
            temperature_degc=degc[module.name].value if module.name in degc else None,
            soc=soc[module.name].value if module.name in soc else None,
        )
    return found


def _known_of(
    bank: Bank, logbook: Logbook, now: datetime, readings: dict[str, ModuleReading]
) -> dict[str, ModuleReading]:
    """What the logbook knows of modules however they were read now: their cells, and their volts of another day."""
    cells: dict[str, list[CellReading]] = {}
    for at, found in logbook.latest_readings("cell_voltage").items():
        place = cell_place(bank, at)
        if place is not None:
            cells.setdefault(place[0].name, []).append(CellReading(place[1], found.value, _age(found, now)))
    return {
        name: replace(
            reading,
            cells=tuple(sorted(cells.get(name, ()), key=lambda cell: cell.number)),
            before=_before(logbook.readings(name, "voltage"), reading, now),
        )
        for name, reading in readings.items()
    }


def _before(every: Sequence[Reading], reading: ModuleReading, now: datetime) -> float | None:
    """The newest voltage of an earlier occasion: more than half a day before this one."""
    old = [found.value for found in every if _age(found, now) - (reading.age or 0.0) > STALE]
    return old[-1] if old else None


def _age(reading: Reading, now: datetime) -> float:
    return max((now - datetime.fromisoformat(reading.when.wall)).total_seconds(), 0.0)


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
