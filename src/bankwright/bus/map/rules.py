"""What joins the keys of a register map: each rule yields faults with their place.

Gives: faults_of(), quantity_faults() (for maps of other sources too), Meaning.
Limits: single values are judged in map/written.py.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Protocol

from bankwright.bank.file.quantity_text import QuantityFault, parse_range
from bankwright.bank.file.spans import Path
from bankwright.bank.file.whereabouts import Whereabouts
from bankwright.bus.map.registers import FLAGS, TEXTS
from bankwright.bus.map.written import MapW, SignalW
from bankwright.forms.faults import Fault
from bankwright.forms.nearest import did_you_mean
from bankwright.forms.quantities import QUANTITIES

__all__ = ["QUANTITY_WORDS", "Meaning", "faults_of", "quantity_faults"]

QUANTITY_WORDS = (*QUANTITIES, FLAGS, *sorted(TEXTS))
SIGNED = frozenset({"current", "power", "charge_moved_ah"})
WIDE = frozenset({"u32", "i32", "f32"})
MOST_SIGNALS = 2000


def faults_of(written: MapW, where: Whereabouts) -> Iterator[Fault]:
    """All faults of the rules."""
    if not written.signals:
        yield where.fault(("signals",), "key-missing", "the map has no signals", "", "Write a [[signals]] block each")
    if written.counts_from is None:
        hint = 'Write counts_from = 0, 1 or "30001/40001": the number that the manual gives the first register'
        yield where.fault(("counts_from",), "key-missing", 'the key "counts_from" is missing', "", hint)
    if sum(signal.repeat for signal in written.signals) > MOST_SIGNALS:
        yield where.fault(("signals",), "out-of-range", f"more than {MOST_SIGNALS} values")
    seen: dict[str, int] = {}
    for number, signal in enumerate(written.signals):
        path: Path = ("signals", number)
        if signal.name in seen:
            found = f'found "{signal.name}" twice'
            yield where.fault((*path, "name"), "double-name", found, "", "", also=("signals", seen[signal.name]))
        seen.setdefault(signal.name, number)
        yield from quantity_faults(signal, path, where)
        yield from _coding(written, signal, path, where)
        yield from _place(written, signal, path, where)


class Meaning(Protocol):
    """The keys of a signal that say what it is, the same in every kind of map."""

    @property
    def quantity(self) -> str | None:
        """What it is."""

    @property
    def unit(self) -> str | None:
        """Of the scaled value."""

    @property
    def positive(self) -> str | None:
        """What a positive value means."""

    @property
    def range(self) -> str | None:
        """What can be."""


def quantity_faults(signal: Meaning, path: Path, where: Whereabouts, *, needs_unit: bool = True) -> Iterator[Fault]:
    """What is wrong with quantity, unit, sign and range of a signal."""
    if signal.quantity is None or signal.quantity not in QUANTITY_WORDS:
        known = "Known: " + ", ".join(QUANTITY_WORDS)
        hint = known if signal.quantity is None else did_you_mean(signal.quantity, QUANTITY_WORDS, known)
        found = "the quantity is missing" if signal.quantity is None else f'found "{signal.quantity}"'
        code = "key-missing" if signal.quantity is None else "not-allowed"
        yield where.fault((*path, "quantity"), code, found, "", hint)
        return
    row = QUANTITIES.get(signal.quantity)
    if needs_unit and row is not None and signal.unit is None and row.unit != "1":
        hint = f'Write the unit of the scaled value, such as unit = "{row.units[0].symbol}"'
        yield where.fault((*path, "unit"), "key-missing", "the unit is missing", "", hint)
    if signal.unit is not None and (row is None or row.unit_named(signal.unit) is None):
        known = ", ".join(f'"{unit.symbol}"' for unit in row.units) if row else "none: it is no number"
        yield where.fault((*path, "unit"), "not-allowed", f'found "{signal.unit}"', f"Units here: {known}")
    if (signal.quantity in SIGNED) != (signal.positive is not None):
        needs = signal.quantity in SIGNED
        found = "the sign is not said" if needs else f"a {signal.quantity} has no direction"
        hint = 'Write positive = "charging" or "discharging": the manual says it' if needs else "Leave it out"
        yield where.fault((*path, "positive"), "key-missing" if needs else "not-here", found, "", hint)
    if signal.range is not None and row is not None:
        try:
            parse_range(signal.range, signal.quantity)
        except QuantityFault as bad:
            yield where.fault((*path, "range"), bad.code, bad.found, "", bad.hint)


def _coding(written: MapW, signal: SignalW, path: Path, where: Whereabouts) -> Iterator[Fault]:
    is_text = signal.quantity in TEXTS
    if is_text != (signal.type == "text"):
        yield where.fault((*path, "type"), "not-allowed", f'found "{signal.type}" for {signal.quantity}')
    if (signal.type == "text") != (signal.length is not None):
        hint = "Write how many registers the text has" if signal.type == "text" else "Leave it out: the type says it"
        yield where.fault((*path, "length"), "key-missing", "the length belongs to a text, and to it alone", "", hint)
    if signal.type in WIDE and (signal.word_order or written.word_order) is None:
        hint = 'Write word_order = "high first" or "low first": the standard leaves it open'
        yield where.fault((*path, "word_order"), "key-missing", "two registers, and no word order", "", hint)
    if (signal.quantity == FLAGS) != (signal.bits is not None):
        yield where.fault((*path, "bits"), "key-missing", "flags and bits go together", "", 'bits = { 0 = "..." }')
    if (signal.shift is None) != (signal.width is None):
        yield where.fault((*path, "width"), "key-missing", "a field inside a register has a shift and a width")
    yield from _fits(signal, path, where)


def _fits(signal: SignalW, path: Path, where: Whereabouts) -> Iterator[Fault]:
    size = 32 if signal.type in WIDE else 16
    if signal.shift is not None and signal.width is not None and signal.shift + signal.width > size:
        yield where.fault((*path, "width"), "out-of-range", f"a field beyond bit {size - 1}")
    if signal.shift is not None and signal.type in ("f32", "text"):
        yield where.fault((*path, "shift"), "not-here", f"no fields inside {signal.type}")
    for place in (signal.bits or {}).keys() - set(range(size)):
        yield where.fault((*path, "bits"), "out-of-range", f"bit {place} of {size}")
    for raw in signal.not_available:
        if not 0 <= raw < 2 ** (signal.width or size):
            hint = "Write it as the register shows it, without sign: -1 is 65535"
            yield where.fault((*path, "not_available"), "out-of-range", f"found {raw}", "", hint)
    if signal.scale == 0:
        yield where.fault((*path, "scale"), "out-of-range", "a scale of 0 makes every value alike")


def _place(written: MapW, signal: SignalW, path: Path, where: Whereabouts) -> Iterator[Fault]:
    place, number = (*path, "register"), signal.number
    if written.counts_from == "30001/40001":
        base = 100000 if number > 65536 else 10000
        table = {3: "input", 4: "holding"}.get(number // base)
        if table is None or number % base == 0:
            yield where.fault(place, "out-of-range", f"found {number}", "30001 to 39999, or 40001 to 49999")
        elif (signal.table or table) != table:
            yield where.fault((*path, "table"), "not-allowed", f"{number} is a register of {table}")
        return
    if (signal.table or written.table) is None:
        hint = 'Write table = "holding" (function 03) or "input" (04)'
        yield where.fault((*path, "table"), "key-missing", "the table is not said", "", hint)
    if written.counts_from == 1 and number < 1:
        yield where.fault(place, "out-of-range", f"found {number}; the manual counts from 1")
    if number > 65535 + (written.counts_from == 1):
        yield where.fault(place, "out-of-range", f"found {number}", "Registers end at 65535")
