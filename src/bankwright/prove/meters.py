"""Errors of the instruments of the load tests, by kind: what cancels between two readings, and what does not.

Gives: Clamp, Bus, Millivolts, clamp_of(), millivolts_of(), current_errors(), observed_current().
A clamp has a gain common to all its readings, an error by place in the jaws, a zero that drifts (the digits of its data
sheet as it is, ZEROED after zeroing in place) and half a count. A module's own sensor has a gain and an offset of its
own, which stay, and half a step. A millivoltmeter has a gain and digits.
Limits: flat errors; stray field and ripple are the hand's matter (docs/prove.md).
Sources: place in the jaws 1 %, zero 0.2 A when zeroed in place, sensors of modules 1 % and 0.3 A, hand meter 0.5 % + 5
digits where its sheet is not known [common practice, no source]; errors flat, JCGM 100:2008, 4.3.7 [from memory].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from bankwright.bank.model import Bank
from bankwright.circuit.inverse.looks import Look, Observation
from bankwright.forms.faults import Fault
from bankwright.forms.readings import Instrument
from bankwright.logbook.errors import EntryRefused
from bankwright.logbook.meters import described

__all__ = [
    "Bus",
    "By",
    "Clamp",
    "Millivolts",
    "clamp_of",
    "current_errors",
    "millivolts_of",
    "observed_current",
]

By = Literal["clamp", "bus"]
PLACE, ZEROED = 0.01, 0.2  # share of the reading, A
PLAIN_CLAMP = (0.02, 5.0, 0.1)  # gain, digits, A a count: least that is enough
PLAIN_MILLIVOLTS = (0.005, 5.0, 1e-4)  # gain, digits, V a count


@dataclass(frozen=True, slots=True)
class Clamp:
    """A clamp meter for direct current."""

    name: str = "clamp"
    gain: float = PLAIN_CLAMP[0]
    zero: float = PLAIN_CLAMP[1] * PLAIN_CLAMP[2]  # A
    step: float = PLAIN_CLAMP[2]  # A
    place: float = PLACE
    assumed: bool = True  # its data sheet is not known


@dataclass(frozen=True, slots=True)
class Bus:
    """The modules' own current sensors, as the data bus or the display tells them."""

    gain: float = 0.01
    offset: float = 0.3  # A
    step: float = 0.1  # A


@dataclass(frozen=True, slots=True)
class Millivolts:
    """A voltmeter on its millivolt range."""

    name: str = "millivoltmeter"
    gain: float = PLAIN_MILLIVOLTS[0]
    digits: float = PLAIN_MILLIVOLTS[1]
    step: float = PLAIN_MILLIVOLTS[2]  # V
    assumed: bool = True

    def half(self, volts: float) -> float:
        """Limits of a reading. [V]"""
        return self.gain * abs(volts) + self.digits * self.step


def _sheet(text: str, quantity: str, bank: Bank, known: Sequence[Instrument]) -> Instrument:
    """A meter by its name in the bank file or the logbook, or by the words of its data sheet."""
    named = [item for item in (*bank.instruments, *known) if item.name == text and item.quantity == quantity]
    if named:
        return min(named, key=lambda item: item.resolution or float("inf"))
    if "%" in text:
        return described(quantity, quantity, text)
    names = ", ".join(sorted({i.name for i in (*bank.instruments, *known) if i.quantity == quantity})) or "none"
    hint = f'Known for {quantity}: {names}; or write its accuracy, for example "2 % + 5 digits"'
    raise EntryRefused(Fault("meter", "instrument-unknown", f"there is no instrument {text!r}", hint=hint))


def clamp_of(
    text: str | None, bank: Bank, known: Sequence[Instrument] = (), *, zeroed: bool = False, step: float | None = None
) -> Clamp:
    """The clamp by name or data sheet; the least one that is enough where none is named (marked)."""
    if text is None:
        gain, digits, count = PLAIN_CLAMP
        count = step or count
        return Clamp("clamp", gain, ZEROED if zeroed else digits * count, count)
    sheet = _sheet(text, "current", bank, known)
    gain, digits = sheet.percent_of_reading or 0.0, sheet.digits or 0.0
    count = step or sheet.resolution or PLAIN_CLAMP[2]
    name = sheet.name if sheet.name == text else "clamp"
    zero = max(digits, 0.5) * count if sheet.zero is None else sheet.zero
    place = PLACE if sheet.place is None else sheet.place
    return Clamp(name, gain, min(ZEROED, zero) if zeroed else zero, count, place, assumed=False)


def millivolts_of(
    text: str | None, bank: Bank, known: Sequence[Instrument] = (), *, step: float | None = None
) -> Millivolts:
    """The millivoltmeter by name or data sheet; `step` [V] is a count of its last digit on the range that is used."""
    if text is None:
        gain, digits, count = PLAIN_MILLIVOLTS
        return Millivolts("millivoltmeter", gain, digits, step or count)
    sheet = _sheet(text, "voltage", bank, known)
    count = step or sheet.resolution or PLAIN_MILLIVOLTS[2]
    name = sheet.name if sheet.name == text else "millivoltmeter"
    return Millivolts(name, sheet.percent_of_reading or 0.0, sheet.digits or 0.5, count, assumed=False)


def current_errors(by: By, at: str, value: float, key: str, clamp: Clamp, *, bus: Bus) -> dict[str, float]:
    """Errors of one current reading by name [A]; names that two readings share are one error. `key`: this reading's."""
    if by == "bus":
        return {
            f"bus gain {at}": bus.gain * value,
            f"bus offset {at}": bus.offset,
            f"bus step {at} {key}": bus.step / 2,
        }
    return {
        "clamp gain": clamp.gain * value,
        f"clamp place {at} {key}": clamp.place * value,
        f"clamp zero {at} {key}": clamp.zero,
        f"clamp count {at} {key}": clamp.step / 2,
    }


def observed_current(look: Look, value: float, errors: dict[str, float]) -> Observation:
    """A current as the inverse takes it: the last error is the reading's own."""
    *shared, own = errors.items()
    return Observation(look, value, own[1], dict(shared))
