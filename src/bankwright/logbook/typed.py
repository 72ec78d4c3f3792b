"""A reading as one would say it: `M1`, `52.6 V`, with the clamp meter.

Gives: typed_reading() -> TypedReading, limits_of(), moment(). The unit tells the quantity, the place narrows it:
volts at a module are its voltage, at a cell a cell voltage, at a joint or link a drop. Limits follow from the
instrument's accuracy; a count of its last digit is that of the text when the data sheet gives none.
Limits: whether the value can be is judged when it is appended (plausible.py); nothing is stored here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from difflib import get_close_matches

from bankwright.bank.model import Bank, BarPiece, Device, Joint, Link
from bankwright.bank.quantity_text import QuantityFault, parse
from bankwright.forms.faults import Fault
from bankwright.forms.quantities import QUANTITIES
from bankwright.forms.readings import Instant, Instrument, Reading, band
from bankwright.logbook.errors import EntryRefused
from bankwright.logbook.plausible import cell_place, thing_at

__all__ = ["TypedReading", "limits_of", "moment", "quantity_of", "typed_reading"]

# the quantity that a unit speaks of when none is named; volts depend on the place
_MEANT = ("voltage", "current", "resistance", "temperature_degc", "torque", "soc", "capacity_ah", "mass", "time",
          "frequency", "power", "energy_kwh", "length")  # fmt: skip
_NUMBER = re.compile(r"[+\-−]?\s*(\d*)(?:\.(\d*))?(?:[eE][+-]?\d+)?\s*(.*)", re.S)


@dataclass(frozen=True, slots=True)
class TypedReading:
    """A reading ready to be appended, with the instrument it was taken with."""

    reading: Reading
    instrument: Instrument | None


def typed_reading(
    at: str,
    text: str,
    when: Instant,
    *,
    bank: Bank | None = None,
    quantity: str | None = None,
    meter: str | None = None,
    instruments: Iterable[Instrument] = (),
    who: str = "",
    origin: str = "by hand",
    id: str = "",  # noqa: A002
    corrects: str | None = None,
) -> TypedReading:
    """Read a place, a text and the name of a meter; EntryRefused says what is wrong with them."""
    name = quantity or quantity_of(text, at, bank)
    if name not in QUANTITIES:
        near = get_close_matches(name, QUANTITIES, 1)
        raise EntryRefused(
            Fault(
                "quantity",
                "quantity-unknown",
                f"{name!r} is no quantity",
                hint=f"Did you mean {near[0]}?" if near else "",
            )
        )
    try:
        value = parse(text, name)
    except QuantityFault as fault:
        raise EntryRefused(Fault(at, fault.code, fault.found, hint=fault.hint)) from fault
    instrument = _instrument(meter, name, value.nominal, tuple(instruments)) if meter else None
    limits = (value.low, value.high) if not value.is_exact else limits_of(value.nominal, text, name, instrument)
    reading = Reading(
        name, at, value.nominal, limits[0] if limits else None, limits[1] if limits else None, meter, text.strip(),
        who, when, origin, id, corrects,
    )  # fmt: skip
    return TypedReading(reading, instrument)


def quantity_of(text: str, at: str, bank: Bank | None = None) -> str:
    """The quantity that a text speaks of, by its unit and the place; refused when there is no unit that tells it."""
    match = _NUMBER.fullmatch(text.strip().replace(",", "."))  # parse() names the comma
    symbol = re.split(r"\s*(?:\+-|\+/-|±)|\s+to\s", match[3])[0].strip() if match else ""
    found = next((name for name in _MEANT if symbol and QUANTITIES[name].unit_named(symbol)), None)
    if found is None:
        code, words = (
            ("unit-unknown", f'"{symbol}" is no unit here') if symbol else ("unit-missing", "a unit is missing")
        )
        hint = 'Write "52.6 V", "64 A", "2.3 mV", "92 uohm", "10 N m", "21 degC" or "40 %"'
        raise EntryRefused(Fault(at, code, f'found "{text}"; {words}', hint=hint))
    return _at_place(found, at, bank)


def _at_place(name: str, at: str, bank: Bank | None) -> str:
    if name != "voltage" or bank is None:
        return name
    if cell_place(bank, at):
        return "cell_voltage"
    return "voltage_drop" if isinstance(thing_at(at, bank), Joint | Link | Device | BarPiece) else name


def _instrument(meter: str, quantity: str, value: float, known: tuple[Instrument, ...]) -> Instrument | None:
    """The range of a named meter that holds the value: the smallest that does."""
    named = [item for item in known if item.name == meter]
    if not named:
        names = sorted({item.name for item in known})
        near = get_close_matches(meter, names, 1)
        hint = f"Did you mean {near[0]}?" if near else f"Known: {', '.join(names) or 'none'}; write it down first"
        raise EntryRefused(Fault("meter", "instrument-unknown", f"there is no instrument {meter!r}", hint=hint))
    kin = {"cell_voltage": "voltage", "voltage_drop": "voltage", "cell_spread": "voltage"}
    fitting = [item for item in named if kin.get(item.quantity, item.quantity) == kin.get(quantity, quantity)]
    if not fitting:
        reads = ", ".join(sorted({item.quantity for item in named}))
        raise EntryRefused(
            Fault(
                "meter",
                "instrument-of-another-quantity",
                f"{meter} reads {reads}, not {quantity}",
                hint="Name the meter that was used, or write this range down",
            )
        )
    holding = [item for item in fitting if _holds(item, value)]
    if not holding:
        unit = QUANTITIES[quantity].unit
        ranges = ", ".join(f"{_end(item.low)} to {_end(item.high)} {unit}" for item in fitting)
        raise EntryRefused(
            Fault(
                "meter",
                "beyond-range",
                f"{meter} reads {ranges}; {value:g} {unit} is beyond it",
                hint="Look at the point and the unit, or name another meter",
            )
        )
    return min(holding, key=lambda item: item.high if item.high is not None else float("inf"))


def _end(value: float | None) -> str:
    return "no end" if value is None else f"{value:g}"


def _holds(instrument: Instrument, value: float) -> bool:
    low = instrument.low if instrument.low is not None else float("-inf")
    high = instrument.high if instrument.high is not None else float("inf")
    return low <= value <= high or (low >= 0 and low <= -value <= high)  # leads swapped: the range holds for both signs


def limits_of(value: float, text: str, quantity: str, instrument: Instrument | None) -> tuple[float, float] | None:
    """Limits by the instrument's accuracy; a count is the last digit typed if its resolution is not known."""
    if instrument is None:
        return None
    if instrument.resolution is None:
        instrument = replace(instrument, resolution=_last_digit(text, quantity))
    return band(value, instrument)


def _last_digit(text: str, quantity: str) -> float:
    """One count of the last digit as typed, in SI: "52.60 V" -> 0.01."""
    match = _NUMBER.fullmatch(text.strip())
    unit = QUANTITIES[quantity].unit_named(match[3].strip()) if match else None
    if match is None or unit is None:
        return 0.0
    return float(10.0 ** -len(match[2] or "") * unit.factor)


def moment(text: str, now: Instant) -> Instant:
    """Read a time given by hand: "14:02" today, "2026-11-24 18:30", with or without zone; not ahead of now."""
    try:
        local = datetime.fromisoformat(now.wall)
        if re.fullmatch(r"\d{1,2}:\d{2}", text.strip()):
            hours, minutes = text.strip().split(":")
            given = local.replace(hour=int(hours), minute=int(minutes), second=0, microsecond=0)
        else:
            given = datetime.fromisoformat(text.strip())
    except ValueError as error:
        fault = Fault("when", "time-unreadable", f'found "{text}"', hint='Write "14:02" or "2026-11-24 18:30"')
        raise EntryRefused(fault) from error
    given = given if given.tzinfo else given.astimezone()
    if given > local:
        raise EntryRefused(Fault("when", "time-ahead", f'found "{text}"; it lies ahead of now, {now.wall}'))
    return Instant(given.isoformat(timespec="seconds"))
