"""Instruments: which range of a meter a value was read on, and the limits that its accuracy leaves.

Gives: fitting_range(), limits_of(), described(). Limits follow from percent of reading plus digits; a count of the
last digit is that of the text as typed when the data sheet gives none.
Limits: one accuracy a range; temperature coefficients and the age of a calibration are not known here.
"""

from __future__ import annotations

import re
from dataclasses import replace

from bankwright.bank.file.quantity_text import QuantityFault, parse_range
from bankwright.forms.faults import Fault
from bankwright.forms.nearest import did_you_mean
from bankwright.forms.quantities import QUANTITIES
from bankwright.forms.readings import Instrument, band
from bankwright.logbook.errors import EntryRefused

__all__ = ["described", "fitting_range", "limits_of"]

_VALUE = re.compile(r"[+\-−]?\s*(\d*)(?:\.(\d*))?(?:[eE][+-]?\d+)?\s*(.*)", re.S)
_ACCURACY = re.compile(r"\s*(\d+(?:\.\d+)?)\s*%\s*(?:\+\s*(\d+)\s*(?:digits?|d|counts?)\s*)?")


def described(name: str, quantity: str, accuracy: str, span: str | None = None) -> Instrument:
    """Make an instrument of its data sheet's words: "0.5 % + 2 digits", "0 V to 60 V"."""
    match = _ACCURACY.fullmatch(accuracy)
    if match is None:
        fault = Fault("accuracy", "accuracy-unreadable", f'found "{accuracy}"', hint='Write "0.5 % + 2 digits"')
        raise EntryRefused(fault)
    try:
        low, high = parse_range(span, quantity) if span else (None, None)
    except QuantityFault as fault:
        raise EntryRefused(Fault("range", fault.code, fault.found, hint=fault.hint)) from fault
    return Instrument(name, quantity, float(match[1]) / 100, float(match[2]) if match[2] else None, None, low, high)


def fitting_range(meter: str, quantity: str, value: float, known: tuple[Instrument, ...]) -> Instrument:
    """The range of a named meter that holds the value: the smallest that does."""
    named = [item for item in known if item.name == meter]
    if not named:
        names = sorted({item.name for item in known})
        hint = did_you_mean(meter, names, f"Known: {', '.join(names) or 'none'}; write it down first")
        raise EntryRefused(Fault("meter", "instrument-unknown", f"there is no instrument {meter!r}", hint=hint))
    kin = {"cell_voltage": "voltage", "voltage_drop": "voltage", "cell_spread": "voltage", "frame_voltage": "voltage"}
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
    match = _VALUE.fullmatch(text.strip())
    unit = QUANTITIES[quantity].unit_named(match[3].strip()) if match else None
    if match is None or unit is None:
        return 0.0
    return float(10.0 ** -len(match[2] or "") * unit.factor)
