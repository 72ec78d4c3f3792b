"""The data line as the bank file describes it: cable order, pins, terminators, rest level, lengths, what to measure.

Gives: LinePlan, Remark, Cable, line_plan(), cable_order(), ohm_words(). A pure function of
the bank; Build's sheet and the address sheet use it.
Limits: what is not in the file is a remark that names the key; nothing is heard here.
Sources: MODBUS over Serial Line V1.02 (20 Dec 2006), 3.4.1, 3.4.3, 3.4.5, 3.4.6, 3.5.1, 3.6, read; pairs of the
eight-pin connector: T568A/T568B table, read (both have 4-5, 7-8, 1-2 and 3-6).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from bankwright.bank.heard_line import Remark, broker_remarks, can_remarks
from bankwright.bank.model import Bank
from bankwright.bank.model_bus import Bus, Pins
from bankwright.bank.places import standing_order
from bankwright.forms.wording import Figure, Say
from bankwright.physics.data_line import IDLE_LEAST, LOAD_LEAST, idle_voltage, pair_resistance, round_trip

__all__ = ["TERMINATOR", "Cable", "LinePlan", "Remark", "cable_order", "line_plan", "ohm_words"]

TERMINATOR = 120.0  # ohm: the usual one for cable of 120 ohm, from memory
PAIRS = frozenset({frozenset({1, 2}), frozenset({3, 6}), frozenset({4, 5}), frozenset({7, 8})})
MOST_STUB, MOST_LENGTH, MOST_LENGTH_CAT5 = 20.0, 1000.0, 600.0  # m; 1000 m up to 9600 bit/s
SHORT_IN_BITS = 0.05  # round trip over a bit: below it terminators hardly matter (derived)
MOST_DEVICES, FEWER_IF_POLARISED = 32, 4
DAY = 24 * 3600.0
SPOKEN = {
    "modbus": "Modbus RTU", "ascii frames": "ASCII frames (YD/T 1363)", "sunspec": "Modbus RTU, SunSpec models",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Cable:
    """One piece of data cable."""

    a: str  # "computer" or a module
    b: str


@dataclass(frozen=True, slots=True)
class LinePlan:
    """The line and what is to be said of it."""

    order: tuple[str, ...]
    cables: tuple[Cable, ...]
    terminators: int | None
    ohm: float | None  # between the data wires with everything off; infinite without terminators; None: not known
    remarks: tuple[Remark, ...]


def cable_order(bank: Bank) -> tuple[str, ...]:
    """Modules along the data cable, the one nearest to the computer first; those not named come behind, as stacked."""
    named = bank.bus.order if bank.bus is not None else ()
    return (*named, *(m.name for m in standing_order(bank) if m.name not in named))


def line_plan(bank: Bank) -> LinePlan:
    """The line of the bank; without [bus] in the file only its order."""
    order, line = cable_order(bank), bank.bus
    cables = tuple(Cable(a, b) for a, b in pairwise(("computer", *order)))
    if line is None:
        says = Say("The bank file has no [bus]: nothing is said of the line.")
        return LinePlan(order, cables, None, None, (Remark("unknown", says, "bus"),))
    if line.wire == "tcp":
        return LinePlan(order, cables, None, None, tuple(_computer(line)))
    if line.wire == "mqtt":
        return LinePlan(order, cables, None, None, (*broker_remarks(line), *_computer(line)))
    if line.wire == "can":
        return _can_plan(line, order, cables)
    count = None if line.terminators is None else len(line.terminators)
    ohm = None if count is None else pair_resistance(count, line.terminator or TERMINATOR)
    remarks = (
        *_spoken(line),
        *_ends(line, order),
        *_rest(line, count),
        *_lengths(line, len(order)),
        *_pins(line),
        *_computer(line),
    )
    return LinePlan(order, cables, count, ohm, remarks)


def _can_plan(line: Bus, order: tuple[str, ...], cables: tuple[Cable, ...]) -> LinePlan:
    count = None if line.terminators is None else len(line.terminators)
    ohm = None if count is None else pair_resistance(count, line.terminator or TERMINATOR)
    remarks = (*can_remarks(line.can.bit_rate, line.length, line.terminators, order), *_pins(line), *_computer(line))
    return LinePlan(order, cables, count, ohm, remarks)


def _spoken(line: Bus) -> Iterator[Remark]:
    missing = [key for key in ("baud", "parity") if getattr(line, key) is None]
    if missing:
        says = Say(
            "Speed or parity is not given: the manual says it; a survey begins at 9600 8N1 and tries the others."
        )
        yield Remark("unknown", says, f"bus.{missing[0]}")
    else:
        parity = "no parity" if line.parity == "none" else f"{line.parity} parity"
        spoken = {
            "modbus": "Modbus RTU",
            "ascii frames": "ASCII frames (YD/T 1363)",
            "sunspec": "Modbus RTU, SunSpec models",
        }[line.protocol]
        says = Say(f"Spoken: {spoken} at {line.baud} bit/s, {parity}.")
        yield Remark("pass", says, "bus.baud")


def _ends(line: Bus, order: tuple[str, ...]) -> Iterator[Remark]:
    if line.terminators is None:
        says = Say("Which terminators are switched on is not given: the meter test below tells.")
        yield Remark("unknown", says, "bus.terminators")
        return
    ends = {"computer", "end", order[-1]} if order else {"computer", "end"}
    inside = [name for name in line.terminators if name not in ends]
    far = [name for name in line.terminators if name in ("end", order[-1] if order else "end")]
    if len(line.terminators) > 2:
        load = pair_resistance(len(line.terminators), line.terminator or TERMINATOR)
        says = Say(
            f"{len(line.terminators)} terminators are on: {{load}} between the wires, where a driver is specified for "
            "{least}. Switch off all but two, one at each end.",
            {"load": Figure(load, "resistance"), "least": Figure(LOAD_LEAST, "resistance")},
        )
        yield Remark("fail", says, "bus.terminators")
    elif inside or len(far) > 1:
        where = ", ".join(inside or far)
        yield Remark("fail", Say(f"A terminator at {where}: they belong to the two ends only."), "bus.terminators")
    elif len(line.terminators) == 2:
        yield Remark("pass", Say("Two terminators, one at each end."), "bus.terminators")
    elif line.length is not None and line.baud is not None and round_trip(line.length) * line.baud < SHORT_IN_BITS:
        says = Say(
            f"{len(line.terminators)} terminators: optional at {line.baud} bit/s on {{length}}, where a reflection is "
            "over long before a bit is read.",
            {"length": Figure(line.length, "length")},
        )
        yield Remark("pass", says, "bus.terminators")
    else:
        says = Say(f"{len(line.terminators)} terminators: enough on a short line only; a long one has one at each end.")
        yield Remark("caution", says, "bus.terminators")


def _rest(line: Bus, count: int | None) -> Iterator[Remark]:
    if line.polarised_at is None or (line.polarised_at != "none" and line.bias is None):
        key = "bus.polarised_at" if line.polarised_at is None else "bus.bias"
        says = Say("Whether resistors hold the line at rest, and how large they are, is not given. Many adapters do.")
        yield Remark("unknown", says, key)
    elif line.polarised_at == "none" or line.bias is None:
        says = Say("No resistors hold the line at rest: receivers that decide only at 200 mV may hear noise.")
        yield Remark("caution", says, "bus.polarised_at")
    elif count is not None:
        volts = idle_voltage(count, line.terminator or TERMINATOR, line.bias)
        says = Say(
            "At rest the wires should be {volts} apart, D1 above D0; a receiver needs {least}.",
            {"volts": Figure(volts, "voltage"), "least": Figure(IDLE_LEAST, "voltage")},
        )
        yield Remark("pass" if volts > IDLE_LEAST else "fail", says, "bus.bias")


def _lengths(line: Bus, modules: int) -> Iterator[Remark]:
    for value, most, key, what in (
        (line.stub, MOST_STUB, "stub", "The longest branch off the line"),
        (line.length, MOST_LENGTH, "length", "The line"),
    ):
        if value is None:
            yield Remark("unknown", Say(f"{what}: its length is not given."), f"bus.{key}")
            continue
        says = Say(
            what + " is {value} long; {most} is the most.",
            {"value": Figure(value, "length"), "most": Figure(most, "length")},
        )
        yield Remark("pass" if value <= most else "fail", says, f"bus.{key}")
    if line.length is not None and MOST_LENGTH_CAT5 < line.length <= MOST_LENGTH:
        says = Say("Above {most} network cable is too thin.", {"most": Figure(MOST_LENGTH_CAT5, "length")})
        yield Remark("caution", says, "bus.length")
    most = MOST_DEVICES - (FEWER_IF_POLARISED if line.polarised_at not in (None, "none") else 0)
    if modules > most:
        yield Remark("fail", Say(f"{modules} modules on one line; {most} are always allowed."), "modules")


def _pins(line: Bus) -> Iterator[Remark]:
    sockets = (("module", line.module_pins), ("computer", line.computer_pins))
    for name, pins in sockets:
        if pins is None or pins.d0 is None or pins.d1 is None:
            says = Say(f"The pins of the {name}'s socket are not given: read its manual before any plug goes in.")
            yield Remark("unknown", says, f"bus.{name}_pins")
            continue
        if frozenset({pins.d0, pins.d1}) not in PAIRS:
            says = Say(f"{name}: pins {pins.d1} and {pins.d0} are of two pairs in network cable: the twist is lost.")
            yield Remark("caution", says, f"bus.{name}_pins")
        if pins.common is None:
            says = Say(f"{name}: no common pin is given; a third wire must join all devices.")
            yield Remark("unknown", says, f"bus.{name}_pins.common")
    if line.module_pins is not None and line.computer_pins is not None:
        yield from _straight(line.module_pins, line.computer_pins)


def _straight(module: Pins, computer: Pins) -> Iterator[Remark]:
    """What a straight network cable would join."""
    for one, other, who in ((module, computer, "the module's"), (computer, module, "the computer's")):
        if one.supply is not None and one.supply in (other.d0, other.d1, other.common):
            says = Say(f"A straight cable joins {who} supply pin {one.supply} to a data pin: make a cable of its own.")
            yield Remark("fail", says, "bus.computer_pins.supply")
    names = (("D1", module.d1, computer.d1), ("D0", module.d0, computer.d0), ("common", module.common, computer.common))
    moved = [f"{name}: pin {a} to pin {b}" for name, a, b in names if a is not None and b is not None and a != b]
    if moved:
        says = Say(f"The first cable is no straight one; module to computer: {', '.join(moved)}.")
        yield Remark("caution", says, "bus.computer_pins")
    elif module.d1 == computer.d1 and module.d0 == computer.d0:
        yield Remark("pass", Say("A straight cable joins the computer to the first module."), "bus.computer_pins")


def _computer(line: Bus) -> Iterator[Remark]:
    if line.wire in ("serial", "can") and line.isolated is not True:
        said = "is not isolated" if line.isolated is False else "may not be isolated: the file does not say"
        says = Say(f"The adapter {said}. A computer on mains earth beside a bank is an earthing point.")
        yield Remark("unknown" if line.isolated is None else "caution", says, "bus.isolated")
    if line.fed_from is None or line.draw is None:
        key = "fed_from" if line.fed_from is None else "draw"
        yield Remark(
            "unknown", Say("What feeds the listening computer, and what it takes, is not given."), f"bus.{key}"
        )
        return
    energy = Figure(line.draw * DAY / 3.6e6, "energy_kwh")
    words = {
        "mains": "The computer is fed from the mains: it hears nothing of an outage unless the inverters carry it.",
        "bank": "The computer takes {energy} a day from the bank, also in storage, and is dark when the bank is off.",
        "own battery": "The computer has its own battery: it goes on listening when the bank is off.",
    }[line.fed_from]
    figures = {"energy": energy} if "{energy}" in words else {}
    yield Remark("pass", Say(words, figures), "bus.fed_from")


def ohm_words(plan: LinePlan) -> str:
    """What a meter should show, in words."""
    if plan.ohm is None:
        return "60 Ω with two terminators, 120 Ω with one"
    return "several kΩ or more" if math.isinf(plan.ohm) else f"{plan.ohm:.0f} Ω"
