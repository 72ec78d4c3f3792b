"""Readings of the load tests as typed: options, or a file with a row a place.

Gives: Row, rows_from_csv(), rounds_of(), drops_of(), temperatures_of(), COLUMNS. A row is one place at one
load: `at` and `load`, and what was read there. All faults come together; nothing is guessed.
Columns: at, load, on, off, age, round, clamp, bus, volts, millivolts, zero, temperature. Load "0 A" is the zero
reading.
Limits: whether a value can be is judged by its unit, its size and its place; what it means is judged by the checks.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.bank.model import Bank
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.nearest import did_you_mean
from bankwright.prove.currents import CurrentRead, Level, Round
from bankwright.prove.millivolt_subject import Read
from bankwright.prove.which import volt_posts

__all__ = ["COLUMNS", "Row", "drops_of", "rounds_of", "rows_from_csv", "temperatures_of"]

COLUMNS = (
    "at", "load", "on", "off", "age", "round", "clamp", "bus", "volts", "millivolts", "zero", "temperature",
)  # fmt: skip
VALUES = {
    "load": "current", "age": "time", "clamp": "current", "bus": "current", "volts": "voltage",
    "millivolts": "voltage_drop", "zero": "voltage_drop", "temperature": "temperature_degc",
}  # fmt: skip
MOST_AMPS, MOST_DROP = 5000.0, 2.0  # A, V; beyond, a digit or a unit slipped; common practice, no source
CELL_VOLTS = (2.0, 3.8)  # V; as Match asks


@dataclass(frozen=True, slots=True)
class Row:
    """One place at one load, as text; `where` says where it was written."""

    at: str
    text: dict[str, str] = field(default_factory=dict)
    where: str = ""


def rows_from_csv(path: Path) -> tuple[Row, ...]:
    """Read a file parted by comma, semicolon or tab; QuestionError for columns that are not known."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        fault = Fault(path.name, "file-unreadable", str(error), hint="A text file with commas is expected")
        raise QuestionError((fault,), "the readings") from error
    head = next(iter(text.splitlines()), "")
    table = csv.DictReader(text.splitlines(), delimiter=max(",;\t", key=head.count), restkey="more")
    names = [(name or "").strip().casefold() for name in table.fieldnames or ()]
    table.fieldnames = names
    if not {"at", "load"} <= set(names) or set(names) - set(COLUMNS):
        strange = ", ".join(names) or "none"
        fault = Fault(path.name, "columns-unknown", f"found the columns {strange}", hint=f"Known: {','.join(COLUMNS)}")
        raise QuestionError((fault,), "the readings")
    return tuple(_csv_rows(path.name, list(table)))


def _csv_rows(name: str, table: Sequence[dict[str, str]]) -> Iterator[Row]:
    for number, line in enumerate(table, 2):
        if line.get("more"):
            fault = Fault(f"{name}:{number}", "row-too-long", "more values than columns", hint="Quote commas")
            raise QuestionError((fault,), "the readings")
        text = {key: (line.get(key) or "").strip() for key in COLUMNS}
        if any(text.values()):
            yield Row(text["at"], {key: value for key, value in text.items() if value}, f"{name}:{number}")


class _Reader:
    """Parses rows and keeps every fault."""

    def __init__(self, bank: Bank) -> None:
        self.bank = bank
        self.modules = {module.name for module in bank.modules}
        inverters, chargers, loads = bank.inverters, bank.chargers, bank.loads
        self.loads = [*(i.name for i in inverters), *(c.name for c in chargers), *(one.name for one in loads)]
        self.faults: list[Fault] = []

    def fault(self, row: Row, key: str, code: str, found: str, hint: str = "") -> None:
        place = f"{row.where} {row.at}".strip()
        self.faults.append(Fault(f"{place} {key}".strip(), code, found, hint=hint))

    def value(self, row: Row, key: str) -> float | None:
        """A value in SI; None where nothing was written."""
        text = row.text.get(key)
        if text is None:
            return None
        try:
            found = parse(text, VALUES[key]).nominal
        except QuantityFault as fault:
            self.fault(row, key, fault.code, fault.found, fault.hint)
            return None
        if words := self._odd(row, key, found):
            self.fault(row, key, "value-out-of-range", f"found {text}; {words}", "Look at the reading and its unit")
            return None
        return found

    def _odd(self, row: Row, key: str, value: float) -> str:
        if not math.isfinite(value):
            return "a reading is a finite number"
        if key in ("load", "clamp", "bus") and abs(value) > MOST_AMPS:
            return f"no bank here carries more than {MOST_AMPS:g} A"
        if key in ("millivolts", "zero") and abs(value) > MOST_DROP:
            return f"a drop over a joint, link or device is below {MOST_DROP:g} V; write mV"
        if key == "age" and value < 0.0:
            return "an age is not negative"
        if key == "temperature" and not -40.0 <= value <= 80.0:
            return "cells lie between -40 °C and 80 °C"
        if key == "volts":
            kinds = {module.name: module.kind for module in self.bank.modules}
            cells = kinds.get(row.at, self.bank.modules[0].kind).cells
            if not CELL_VOLTS[0] * cells <= value <= CELL_VOLTS[1] * cells:
                return f"{cells} LFP cells lie between {CELL_VOLTS[0] * cells:g} V and {CELL_VOLTS[1] * cells:g} V"
        return ""

    def level(self, row: Row) -> Level | None:
        load = self.value(row, "load")
        if load is None:
            if "load" not in row.text:
                self.fault(row, "load", "load-missing", "this row has no load", 'Write "0 A" for the zero reading')
            return None
        on = tuple(row.text.get("on", "").split())
        off = frozenset(row.text.get("off", "").split())
        for name in (*(n for n in on if n not in self.loads), *(n for n in off if n not in self.modules)):
            known = ", ".join(self.loads if name in on else sorted(self.modules))
            self.fault(row, "", "name-unknown", f"{name} is not in this bank", f"Known: {known}")
        if self.modules <= off:
            self.fault(row, "off", "all-off", "every module is off", "Leave one on")
        return Level(load, () if load == 0.0 else on, off)

    def number(self, row: Row) -> int:
        text = row.text.get("round", "1")
        if text.isdigit() and int(text) > 0:
            return int(text)
        self.fault(row, "round", "round-unreadable", f"found {text!r}", "Write 1, 2, 3")
        return 1

    def place(self, row: Row, kind: Literal["current", "drop", "volts"]) -> bool:
        """Is the place one that such a reading is made at?"""
        links = {link.name for link in self.bank.links}
        drops = links | {joint.name for joint in self.bank.joints} | {device.name for device in self.bank.devices}
        drops |= {f"{d.name}@{link}" for d in self.bank.devices for link in d.also_on}
        known = {"current": self.modules | links, "drop": drops, "volts": set(volt_posts(self.bank))}[kind]
        if row.at in known:
            return True
        words = {
            "current": "a module or a link",
            "drop": "a joint, link or device",
            "volts": "a module, an inverter or `bank` (where the mains meet it), no part",
        }[kind]
        hint = did_you_mean(row.at, sorted(known), f"Known: {', '.join(sorted(known)[:8])} ...", 3)
        self.fault(row, "at", "place-unknown", f"{row.at or 'nothing'} is not {words} of this bank", hint)
        return False

    def done(self) -> None:
        if self.faults:
            raise QuestionError(tuple(self.faults), "the readings")


def rounds_of(bank: Bank, rows: Sequence[Row]) -> tuple[Round, ...]:
    """Rounds of currents and volts; QuestionError with all faults."""
    reader = _Reader(bank)
    currents: dict[tuple[Level, int], list[CurrentRead]] = {}
    volts: dict[tuple[Level, int], dict[str, float]] = {}
    for row in rows:
        if not {"clamp", "bus", "volts"} & set(row.text):
            continue
        level, number = reader.level(row), reader.number(row)
        only_volts = not {"clamp", "bus"} & set(row.text)
        if not reader.place(row, "volts" if only_volts else "current") or level is None:
            continue
        key = (level, number)
        currents.setdefault(key, []).extend(_currents(reader, row, currents.get(key, [])))
        found = reader.value(row, "volts")
        if found is not None and reader.place(row, "volts"):
            volts.setdefault(key, {})[row.at] = found
    reader.done()
    return tuple(Round(level, number, tuple(reads), volts.get((level, number), {}))
                 for (level, number), reads in currents.items())  # fmt: skip


def _currents(reader: _Reader, row: Row, before: Sequence[CurrentRead]) -> Iterator[CurrentRead]:
    age = reader.value(row, "age")
    for by in ("clamp", "bus"):
        value = reader.value(row, by)
        if value is None:
            continue
        if by == "bus" and row.at not in reader.modules:
            reader.fault(row, "bus", "place-unknown", "the data bus tells the currents of modules", "Use clamp here")
        elif any(read.at == row.at and read.by == by for read in before):
            reader.fault(row, by, "reading-doubled", f"two readings of {row.at}", "Number the rounds: 1, 2, 3")
        else:
            yield CurrentRead(row.at, by, value, age, row.text[by])


def drops_of(bank: Bank, rows: Sequence[Row]) -> tuple[Read, ...]:
    """Readings of millivolts; QuestionError with all faults."""
    reader = _Reader(bank)
    found: dict[tuple[str, Level], Read] = {}
    for row in rows:
        if "millivolts" not in row.text:
            continue
        level, value, zero = reader.level(row), reader.value(row, "millivolts"), reader.value(row, "zero")
        if not reader.place(row, "drop") or level is None or value is None:
            continue
        if level.load == 0.0:
            reader.fault(row, "load", "no-load", "millivolts are read under load", "Write the zero in its own column")
        elif (row.at, level) in found:
            reader.fault(row, "millivolts", "reading-doubled", f"two readings of {row.at}", "Keep the later one")
        else:
            age = reader.value(row, "age")
            found[row.at, level] = Read(row.at, level, value, zero, age, row.text["millivolts"])
    reader.done()
    return tuple(found.values())


def temperatures_of(bank: Bank, rows: Sequence[Row]) -> dict[str, float]:
    """Temperatures of the cells by module, the last one written. [degC]"""
    reader = _Reader(bank)
    found = {}
    for row in rows:
        value = reader.value(row, "temperature")
        if value is not None and row.at in reader.modules:
            found[row.at] = value
    reader.done()
    return found
