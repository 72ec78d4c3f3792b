"""A reading as one would say it: `M1`, `52.6 V`, with the clamp meter.

Gives: typed_reading() -> TypedReading, quantity_of(), moment(). The unit tells the quantity, the place narrows it:
volts at a module are its voltage, at a cell a cell voltage, at a joint or link a drop. Limits follow from the
instrument's accuracy; a count of its last digit is that of the text when the data sheet gives none.
Limits: whether the value can be is judged when it is appended (plausible.py); nothing is stored here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.bank.model import Bank, BarPiece, Device, Joint, Link
from bankwright.forms.faults import Fault
from bankwright.forms.nearest import did_you_mean
from bankwright.forms.quantities import QUANTITIES
from bankwright.forms.readings import Instant, Instrument, Reading
from bankwright.forms.toleranced import Toleranced
from bankwright.logbook.errors import EntryRefused
from bankwright.logbook.meters import fitting_range, limits_of
from bankwright.logbook.plausible import ac_place, cell_place, place_faults, thing_at

__all__ = ["TypedReading", "moment", "quantity_of", "typed_reading"]

# the quantity that a unit speaks of when none is named; volts depend on the place
_MEANT = ("voltage", "current", "resistance", "temperature_degc", "torque", "soc", "capacity_ah", "mass", "time",
          "frequency", "power", "energy_kwh", "length", "irradiance")  # fmt: skip
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
    """Read a place, a text and the name of a meter; EntryRefused says all that is wrong with them."""
    nowhere = list(place_faults(at, bank)) if bank is not None else []
    try:
        name = quantity or quantity_of(text, at, bank)
        value = _parsed(text, name, at)
    except EntryRefused as refused:
        raise EntryRefused(*nowhere, *refused.faults) from refused
    if nowhere:
        raise EntryRefused(*nowhere)
    instrument = fitting_range(meter, name, value.nominal, tuple(instruments)) if meter else None
    limits = (value.low, value.high) if not value.is_exact else limits_of(value.nominal, text, name, instrument)
    reading = Reading(
        name, at, value.nominal, limits[0] if limits else None, limits[1] if limits else None, meter, text.strip(),
        who, when, origin, id, corrects,
    )  # fmt: skip
    return TypedReading(reading, instrument)


def _parsed(text: str, name: str, at: str) -> Toleranced:
    if name not in QUANTITIES:
        hint = did_you_mean(name, QUANTITIES)
        raise EntryRefused(Fault("quantity", "quantity-unknown", f"{name!r} is no quantity", hint=hint))
    try:
        return parse(text, name)
    except QuantityFault as fault:
        raise EntryRefused(Fault(at, fault.code, fault.found, hint=fault.hint)) from fault


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
    if bank is not None and ac_place(bank, at):
        return {"voltage": "ac_voltage", "current": "ac_current"}.get(name, name)
    if name != "voltage" or bank is None:
        return name
    if cell_place(bank, at):
        return "cell_voltage"
    return "voltage_drop" if isinstance(thing_at(at, bank), Joint | Link | Device | BarPiece) else name


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
