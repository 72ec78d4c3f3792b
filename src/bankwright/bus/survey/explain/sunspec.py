"""What concerns devices that tell their own registers: who speaks SunSpec, what its models bring, what they leave open.

Gives: RULES: functions of the facts that yield explanations.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from bankwright.bus.sunspec.definitions import KNOWN
from bankwright.bus.sunspec.discover import Device
from bankwright.bus.sunspec.walk import BASES
from bankwright.bus.survey.explain.told import Explanation, listing, named
from bankwright.bus.survey.facts import Facts
from bankwright.forms.wording import Say

__all__ = ["RULES"]

_BASES = listing(str(base) for base in BASES)


def _models(device: Device) -> str:
    """`1, 802, 803, 5 times 804 and 5 times 805`."""
    numbers = [placed.number for placed in device.chain.models]
    return listing(f"{numbers.count(n)} times {n}" if numbers.count(n) > 1 else str(n) for n in dict.fromkeys(numbers))


def _brings(device: Device) -> str:
    """Quantities, single cells counted."""
    cells: dict[str, int] = {}
    names: dict[str, None] = {}
    for signal in device.known.signals:
        if signal.quantity == "cell_voltage":
            cells[signal.module] = cells.get(signal.module, 0) + 1
        elif signal.number is None:
            names[signal.name] = None
    counts = sorted(set(cells.values()))
    return listing([*names, *([f"{' or '.join(map(str, counts))} cells"] if counts else [])])


def speaks(facts: Facts) -> Iterator[Explanation]:
    """Devices with the mark: what they have, and what that brings; those alike together."""
    planned = bool(facts.expected.speakers)
    alike: dict[str, list[str]] = {}
    for unit, device in facts.devices.items():
        alike.setdefault(_told(device), []).append(named(facts, unit))
    for words, names in alike.items():
        one = len(names) == 1
        who, own = listing(names), "its own registers" if one else "their own registers"
        test = None if planned else Say('Write protocol = "sunspec" under [bus]: no map is needed. Then survey again.')
        verdict: Literal["pass", "caution"] = "pass" if planned else "caution"
        title = f"{who} speak{'s' if one else ''} SunSpec"
        observed = Say(f"{who} tell{'s' if one else ''} {own} {words}")
        why = "the mark, and a chain of models by their own lengths"
        yield Explanation("BUS-SUNSPEC", title, verdict, tuple(names), observed, "certain", why, test)


def _told(device: Device) -> str:
    what = f" ({device.words})" if device.words else ""
    unknown = sorted({p.number for p in device.chain.models if p.number not in KNOWN})
    skipped = f" Not known here, and skipped: {listing(map(str, unknown))}." if unknown else ""
    modules = len({signal.module for signal in device.known.signals})
    of = f" of {modules} modules" if modules > 1 else ""
    brings = f"They bring {_brings(device)}{of}." if modules else "None of them tells of a single module."
    return f"from {device.chain.base}{what}: models {_models(device)}. {brings}{skipped}"


def no_mark(facts: Facts) -> Iterator[Explanation]:
    """Devices that answer, and have no mark, though the file says SunSpec."""
    without = [unit for unit in facts.walked if unit not in facts.devices] if facts.expected.speakers else []
    if without:
        at = tuple(named(facts, unit) for unit in without)
        observed = Say(f"{listing(at)} answered, and the mark SunS stands at none of {_BASES}.")
        test = Say(
            "Look in the manual how SunSpec is switched on, and at which base; or write protocol = "
            '"modbus" with a register map of the manual\'s own registers.'
        )
        why = "whole answers with a right check: wires, speed and address are right"
        title = f"{listing(at)} {'has' if len(at) == 1 else 'have'} no SunSpec models"
        yield Explanation("BUS-PROTOCOL", title, "fail", at, observed, "certain", why, test)


def odd_chains(facts: Facts) -> Iterator[Explanation]:
    """Lengths and ends that are not as the definitions have them."""
    for unit, device in facts.devices.items():
        if device.notes:
            name = named(facts, unit)
            observed = Say(f"{name}: {'; '.join(device.notes)}.")
            test = Say("Compare with the device's own list of models; a newer firmware often mends it.")
            why = "lengths are the device's own words; what came before them is read"
            title = "A chain of models is not as the definitions have it"
            yield Explanation("BUS-MAP", title, "caution", (name,), observed, "certain", why, test)


def untold(facts: Facts) -> Iterator[Explanation]:
    """Modules of the bank of which no model tells anything."""
    for speaker in facts.expected.speakers:
        device = facts.devices.get(speaker.unit)
        if device is None:
            continue
        told = {signal.module for signal in device.known.signals}
        missing = tuple(module for module in speaker.modules if module not in told)
        if missing:
            count = len(speaker.modules) - len(missing)
            observed = Say(f"The models tell of {count} of {len(speaker.modules)} modules; not of {listing(missing)}.")
            test = Say(
                "Compare the numbers of strings that the device shows with the modules' addresses in the bank file; is "
                "the module switched on, and taken into the bank at the device?"
            )
            why = "numbers of strings are the device's own"
            title = f"No model tells of {listing(missing)}"
            yield Explanation("BUS-UNTOLD", title, "fail", missing, observed, "certain", why, test)


def sign(facts: Facts) -> Iterator[Explanation]:
    """What a positive current means is not in the definitions."""
    if facts.expected.speakers and facts.devices and facts.expected.positive is None:
        observed = Say("The definitions do not say what a positive current means, nor does the bank file.")
        test = Say(
            "While the bank charges with some amperes, look at the device's own display or log: is its current "
            'positive? Write positive = "charging" or "discharging" under [bus]. Until then no current is kept.'
        )
        why = "makers differ"
        title = "The sign of the current is not known"
        yield Explanation("BUS-SIGN", title, "unknown", (), observed, "certain", why, test)


RULES = (speaks, no_mark, odd_chains, untold, sign)
