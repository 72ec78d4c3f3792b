"""What was read at each module, and what about a reading cannot be: named, asked for, never guessed.

Gives: ModuleReading, CellReading, Meter, meter_of(), module_reading(), faults_of_readings().
One meter on one range: its gain error is the same for all and falls out of differences; its last digits do not.
Limits: a reversed or far too low module is a finding (match/stops), not a fault of the entry.
Sources: cell limits 2.0 to 3.65 V, data sheets of LFP cells [published range]; other bounds stand beside their numbers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.bank.model import Bank, Module
from bankwright.forms.faults import Fault
from bankwright.forms.readings import Instant, Instrument, Reading
from bankwright.forms.wording import amount_text
from bankwright.logbook.errors import EntryRefused
from bankwright.logbook.meters import described, fitting_range, limits_of

__all__ = [
    "CellReading",
    "Last",
    "Meter",
    "ModuleReading",
    "faults_of_readings",
    "meter_of",
    "module_reading",
    "same_meter",
    "stale",
]

Last = Literal["charged", "discharged"]
CELL_LEAST, CELL_MOST = 2.0, 3.8  # V; nothing that rests lies beyond, a little room above 3.65 V for a fresh charge
DEAD = 5.0  # V a module; below it the posts are switched off rather than the cells empty; common practice, no source
DEGC = (-40.0, 80.0)  # temperatures beyond are typed wrong; common practice, no source
STALE = 12 * 3600.0  # s; common practice, no source
EMPTY_CELL = 1.0  # V; a lower mean is asked about before anything is said of it; common practice, no source
STAND_IN_GAIN = 0.005  # of the reading, for a meter that is not named; a plain hand meter; common practice, no source


@dataclass(frozen=True, slots=True)
class Meter:
    """The instrument of the readings; `gain` is the share of the reading, `digits` counts of the last digit."""

    name: str
    gain: float | None
    instrument: Instrument | None = None


@dataclass(frozen=True, slots=True)
class CellReading:
    """One cell of a module, as read at it or as the module's display says."""

    number: int  # counted from the module's negative post
    voltage: float
    age: float  # s


@dataclass(frozen=True, slots=True)
class ModuleReading:
    """One module, read alone at its posts."""

    module: str
    voltage: float
    digit: float  # V that does not cancel against another reading of the same meter
    gain: float | None  # share of the reading; None: the meter's accuracy is not known
    meter: str | None
    as_typed: str
    rested: float | None = None  # s without current
    temperature_degc: float | None = None
    last: Last | None = None
    soc: float | None = None  # as the module's own display says
    when: Instant | None = None
    earlier: tuple[tuple[float, float], ...] = ()  # (s before this reading, V), the oldest first
    age: float | None = None  # s since it was read, where that is known; None: just now
    who: str = ""
    span: tuple[float | None, float | None] | None = None  # range of the meter it was read on, where that is known
    cells: tuple[CellReading, ...] = ()  # newest reading of each of its cells
    before: float | None = None  # V of an earlier occasion, to tell exchanged readings by

    @property
    def half(self) -> float:
        """Half of the band of the true voltage; with a stand-in where the meter's accuracy is not known."""
        return abs(self.voltage) * (STAND_IN_GAIN if self.gain is None else self.gain) + self.digit

    @property
    def low(self) -> float:
        """Lowest true voltage."""
        return self.voltage - self.half

    @property
    def high(self) -> float:
        """Highest true voltage."""
        return self.voltage + self.half

    def as_reading(self, when: Instant) -> Reading:
        """The reading as the logbook keeps it."""
        known = self.gain is not None
        low, high = (self.low, self.high) if known else (None, None)
        return Reading(
            "voltage", self.module, self.voltage, low, high, self.meter, self.as_typed, self.who, self.when or when
        )


def meter_of(text: str | None, bank: Bank, known: Sequence[Instrument] = ()) -> Meter | None:
    """A meter by its name in the bank or logbook, or by the words of its data sheet: "0.5 % + 2 digits"."""
    if text is None:
        return None
    every = (*bank.instruments, *known)
    if any(item.name == text for item in every):
        return Meter(text, None)
    if "%" in text:
        made = described("meter", "voltage", text)
        return Meter("meter", made.percent_of_reading, made)
    names = ", ".join(sorted({item.name for item in every})) or "none"
    hint = f'Known: {names}; or write its accuracy, for example "0.5 % + 2 digits"'
    raise EntryRefused(Fault("meter", "instrument-unknown", f"there is no instrument {text!r}", hint=hint))


def module_reading(
    module: str,
    text: str,
    meter: Meter | None = None,
    bank: Bank | None = None,
    known: Sequence[Instrument] = (),
) -> ModuleReading:
    """Read "52.6 V" at a module; EntryRefused for a text that is no voltage."""
    try:
        value = parse(text, "voltage").nominal
    except QuantityFault as fault:
        raise EntryRefused(Fault(module, fault.code, fault.found, hint=fault.hint)) from fault
    instrument = None if meter is None else meter.instrument
    every = (*(bank.instruments if bank else ()), *known)
    if meter is not None and instrument is None and any(item.name == meter.name for item in every):
        instrument = fitting_range(meter.name, "voltage", value, tuple(every))
    count = limits_of(value, text, "voltage", _only_digits(instrument))
    digit = (count[1] - count[0]) / 2 if count else 0.0
    gain = instrument.percent_of_reading if instrument else None
    span = (instrument.low, instrument.high) if instrument else None
    return ModuleReading(module, value, digit, gain, meter.name if meter else None, text.strip(), span=span)


def _only_digits(instrument: Instrument | None) -> Instrument:
    """The part of the accuracy that does not cancel; half a count of the text where no data sheet is known."""
    if instrument is None:
        return Instrument("unnamed", "voltage", 0.0, 0.5)
    return replace(instrument, percent_of_reading=0.0, digits=instrument.digits or 0.5)


def same_meter(readings: Sequence[ModuleReading]) -> bool:
    """Were all readings taken with one meter on one range: then its gain error falls out of differences.

    Readings that name no meter count as one, which is said beside them.
    """
    return len({(reading.meter, reading.span) for reading in readings}) <= 1


def stale(readings: Sequence[ModuleReading]) -> tuple[str, ...]:
    """Modules whose reading is older than half a day: since then they may have been charged or used."""
    return tuple(r.module for r in readings if r.age is not None and r.age > STALE)


def faults_of_readings(bank: Bank, readings: Sequence[ModuleReading]) -> Iterator[Fault]:
    """All that cannot be: places without a module, two readings of one, volts of another battery or unit."""
    modules = {module.name: module for module in bank.modules}
    seen: set[str] = set()
    for reading in readings:
        module = modules.get(reading.module)
        if module is None:
            hint = f"Modules: {', '.join(modules)}"
            yield Fault(reading.module, "module-unknown", f"{reading.module} is no module of this bank", hint=hint)
            continue
        if reading.module in seen:
            yield Fault(
                reading.module, "reading-doubled", f"two readings of {reading.module}", hint="Keep the later one"
            )
        seen.add(reading.module)
        yield from _voltage_faults(module, reading)
        if reading.rested is not None and reading.rested < 0:
            yield Fault(reading.module, "rest-negative", "the time of rest lies ahead", hint="Write how long ago")
        yield from _beside_faults(reading)


def _beside_faults(reading: ModuleReading) -> Iterator[Fault]:
    """A display beyond 0 to 100 %, a temperature at which nobody reads a meter."""
    if reading.soc is not None and not 0.0 <= reading.soc <= 1.0:
        found = f"found a display of {100 * reading.soc:g} %"
        yield Fault(reading.module, "soc-out-of-range", found, "0 % to 100 %", "Read the display again")
    degc = reading.temperature_degc
    if degc is not None and not DEGC[0] <= degc <= DEGC[1]:
        found = f"found {degc:g} °C"
        span = f"{DEGC[0]:g} °C to {DEGC[1]:g} °C"
        yield Fault(reading.module, "temperature-out-of-range", found, span, "Is the unit right?")
    if reading.age is not None and reading.age < -60.0:
        yield Fault(reading.module, "time-ahead", "the time of the reading lies ahead", hint="Check date and zone")


def _voltage_faults(module: Module, reading: ModuleReading) -> Iterator[Fault]:
    cells, volts = module.kind.cells, reading.voltage
    size = abs(volts)
    most, least = CELL_MOST * cells, CELL_LEAST * cells
    span = (
        f"{cells} LFP cells in series rest between {amount_text(least, 'voltage')} and {amount_text(most, 'voltage')}"
    )
    found = f"found {reading.as_typed}"
    again = f"Measure {module.name} again at its posts"
    if size < 0.2 and size > 0 and "m" in reading.as_typed and least <= size * 1e3 <= most:
        hint = f"If {size * 1e3:.4g} V was meant, write it so. {again}"
        yield Fault(module.name, "millivolts-for-volts", found, f"{span}", hint)
    elif size < min(DEAD, least):
        hint = "Posts may be dead while a module is off: switch it on alone, nothing else connected, and read again"
        yield Fault(module.name, "posts-dead", f"{found}: no voltage of {cells} cells", span, hint)
    elif size > most and least <= size / 1e3 <= most:
        yield Fault(module.name, "volts-for-millivolts", found, span, f"If millivolts were meant, write mV. {again}")
    elif size > most or size < least:
        fits = _other_counts(size, cells)
        if not fits and EMPTY_CELL * cells <= size <= most:
            return  # a module of this bank, far too low: match/stops says what follows
        slip = f"; was {size * 10:.4g} V meant?" if least <= size * 10 <= most and not fits else ""
        words = f"{found}; {fits}" if fits else found + slip
        hint = f"{again}; is it the module of this file, and is its number of cells right ({module.kind.path}.cells)?"
        low = "" if size > most else " If it is confirmed, the module is far too low: neither charge nor join it"
        yield Fault(module.name, "reading-of-another-battery", words, span, hint + low)


def _other_counts(volts: float, cells: int) -> str:
    counts = [n for n in (4, 8, 12, 15, 16, 20, 24) if n != cells and 2.9 * n <= volts <= 3.6 * n]
    return f"it would fit {' or '.join(map(str, counts))} cells" if counts else ""
