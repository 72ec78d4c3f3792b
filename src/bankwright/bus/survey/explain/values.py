"""What concerns the map and the installation: values that cannot be, refusals, isolation, terminators, the adapter.

Gives: RULES: functions of the facts that yield explanations.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterator, Mapping

from bankwright.bus.asks import Known
from bankwright.bus.exchange import Exchange
from bankwright.bus.map.decode import MISSING, NOT_AVAILABLE, OUTSIDE, Decoded, decoded
from bankwright.bus.map.registers import RegisterMap, Signal
from bankwright.bus.messages.fields import MessageMap
from bankwright.bus.modbus.reply import Refusal
from bankwright.bus.survey.explain.told import Explanation, counted, listing, meter_test, named
from bankwright.bus.survey.facts import Asked, Facts
from bankwright.forms.wording import Figure, Say
from bankwright.physics.data_line import LOAD_LEAST, pair_resistance, round_trip

__all__ = ["RULES"]

CELLS_AGREE = 0.02  # of the module's voltage, that the sum of its cells may differ
CELL = (1.5, 4.5)  # V: outside it no lithium cell reads, whatever its state (common practice, no source)
HELD = 0.002  # s: an adapter that holds bytes longer costs polls
SHORT_IN_BITS = 0.05  # round trip over a bit: below it terminators hardly matter (derived)
NO_REGISTER = 2


def _no_register(reply: object) -> bool:
    return isinstance(reply, Refusal) and reply.code == NO_REGISTER


def refused(facts: Facts) -> Iterator[Explanation]:
    """Registers that do not exist: the wire is right and the map is not."""
    units = [u for u, a in facts.asked.items() if any(_no_register(r) for r in a.refusals)]
    if units:
        count = sum(_no_register(r) for u in units for r in facts.asked[u].refusals)
        who = listing(named(facts, u) for u in sorted(units))
        observed = Say(f"{who} refused {count} requests: no such register. Wires, speed and addresses are right.")
        test = Say(
            "Compare the first register of the map with the manual: does it count from 0, from 1, or as 40001? Then "
            "holding or input, then whether holes may be read. Ask one module for one register only."
        )
        title = "The register map does not fit"
        at = tuple(named(facts, u) for u in units)
        yield Explanation("BUS-MAP", title, "fail", at, observed, "certain", "refusals come with a right check", test)


def _impossible(register_map: Known | None, values: Mapping[str, Decoded]) -> list[str]:
    """What is wrong with the values of one module, in words."""
    if register_map is None or not values:
        return []
    words: list[str] = []
    outside = [name for name, one in values.items() if one.quality == OUTSIDE]
    if outside:
        words.append(f"{counted(len(outside), 'value')} outside the map's own range ({', '.join(outside[:3])})")
    cells = [values[s.name].value for s in register_map.of("cell_voltage") if s.name in values]
    read = [value for value in cells if math.isfinite(value)]
    odd = [value for value in read if not CELL[0] <= value <= CELL[1]]
    if odd:
        words.append(f"{len(odd)} of {len(read)} cells outside {CELL[0]:g} to {CELL[1]:g} V")
    whole = [values[s.name].value for s in register_map.of("voltage") if s.name in values]
    known = len(read) == len(register_map.of("cell_voltage")) > 3 and bool(whole) and math.isfinite(whole[0])
    if known and abs(sum(read) - whole[0]) > CELLS_AGREE * abs(whole[0]):
        words.append(f"the cells add up to {sum(read):.2f} V, the module says {whole[0]:.2f} V")
    return words


def _moved(signal: Signal, by: int) -> Signal:
    return dataclasses.replace(signal, address=signal.address + by)


def _turned(signal: Signal) -> Signal:
    return dataclasses.replace(
        signal, coding=dataclasses.replace(signal.coding, low_word_first=not signal.coding.low_word_first)
    )


_CHANGES: tuple[tuple[str, Callable[[Signal], Signal]], ...] = (
    ("the two words of long values taken the other way round", _turned),
    ("every register taken one higher", lambda signal: _moved(signal, 1)),
    ("every register taken one lower", lambda signal: _moved(signal, -1)),
)


def _would_fit(register_map: Known | None, asked: Asked) -> str:
    """A change of the map with which all that was read can be; empty where none of those tried does it."""
    signals = [s for s in register_map.signals if not s.is_text] if isinstance(register_map, RegisterMap) else []
    for words, change in _CHANGES:
        changed = {signal.name: _anew(change(signal), asked) for signal in signals}
        read = {name: one for name, one in changed.items() if one.quality != MISSING}
        judged = all(signal.name in read for signal in signals if signal.low is not None or signal.high is not None)
        if judged and len(read) >= max(3, len(signals) - 3) and not _impossible(register_map, read):
            return words
    return ""


def _anew(signal: Signal, asked: Asked) -> Decoded:
    return decoded(signal, {place: word for (table, place), word in asked.registers.items() if table == signal.table})


_COMPARE = Say(
    "Read the module's voltage on its display or with a meter and look for that number among its registers: one place "
    "too high or low is counting from 0 or 1; 65536 times too much is the word order; ten times is the scale."
)
_COMPARE_BYTES = Say(
    "Read the module's voltage on its display or with a meter and look for that number in the answer's bytes: one byte "
    "too early or late is a field before it that is missing or too long; 256 times too much is the byte order; ten "
    "times is the scale."
)


def wrong_values(facts: Facts) -> Iterator[Explanation]:
    """Values that cannot be."""
    known = facts.expected.register_map
    found = {unit: words for unit, asked in facts.asked.items() if (words := _impossible(known, asked.values))}
    if not found:
        return
    readable = [u for u, a in facts.asked.items() if a.values]
    everywhere = len(found) == len(readable)
    unit, words = next(iter(found.items()))
    same = " The same at every module." if everywhere and len(found) > 1 else ""
    observed = Say(f"{named(facts, unit)}: {'; '.join(words)}.{same}")
    test = _COMPARE_BYTES if isinstance(known, MessageMap) else _COMPARE
    fit = _would_fit(known, facts.asked[unit])
    if fit:
        test = Say(f"With {fit}, all that was read can be: change the map so, and compare with the module's display.")
    title = "Values that cannot be: the map counts or scales otherwise" if everywhere else "Values that cannot be"
    sure = "nearly certain" if everywhere else "likely"
    why = "the same map fails at every module" if everywhere else "other modules read well with the same map"
    at = tuple(named(facts, u) for u in found)
    yield Explanation("BUS-VALUES", title, "fail", at, observed, sure, why, test)  # type: ignore[arg-type]


def no_values(facts: Facts) -> Iterator[Explanation]:
    """A module that answers and says that it has no values."""
    for unit, asked in facts.asked.items():
        empty = [name for name, one in asked.values.items() if one.quality == NOT_AVAILABLE]
        if empty and len(empty) >= len(asked.values) / 2:
            name = named(facts, unit)
            observed = Say(
                f"{name} answers, with the values that stand for `none`: {len(empty)} of {len(asked.values)}."
            )
            test = Say(
                f"Wait until {name} has finished starting (1 min), then survey again; then look at its own lamps."
            )
            title, why = f"{name} has no values", "the map names these values"
            yield Explanation("BUS-EMPTY", title, "caution", (name,), observed, "certain", why, test)


def _absent(each: Exchange) -> bool:
    return isinstance(each.reply, Refusal) and each.reply.is_absence


def behind_gateway(facts: Facts) -> Iterator[Explanation]:
    """A gateway's own words: nobody answered behind it."""
    planned = {target.unit for target in facts.expected.modules}
    units = [u for u, a in facts.asked.items() if u in planned and any(_absent(each) for each in a.tries)]
    if units:
        observed = Say(f"The gateway says of {listing(named(facts, u) for u in sorted(units))}: nobody answered.")
        test = Say("Listen on the gateway's serial side, or put the adapter in its place, and survey there.")
        title, why = "Silence behind the gateway", "it is the gateway's word for silence"
        at = tuple(named(facts, u) for u in units)
        yield Explanation("BUS-GATEWAY", title, "fail", at, observed, "certain", why, test)


def isolation(facts: Facts) -> Iterator[Explanation]:
    """An adapter that is not isolated ties the computer's earth to the bank."""
    isolated = facts.expected.isolated
    if isolated or facts.framing is None:
        return
    said = (
        "The bank file says that the adapter is not isolated."
        if isolated is False
        else ("The bank file does not say whether the adapter is isolated.")
    )
    why = "a computer on mains earth beside a bank is an earthing point: a fault of the bank may flow through it"
    test = Say(
        "Look on the adapter's data sheet for a stated isolation voltage. Until then, use a computer on its own "
        "battery, and write isolated = true or false under [bus]: the plan counts it."
    )
    verdict = "caution" if isolated is False else "unknown"
    title = "Is the adapter isolated?" if isolated is None else "The adapter is not isolated"
    yield Explanation("BUS-EARTH", title, verdict, (), Say(said), "certain", why, test)  # type: ignore[arg-type]


def terminators(facts: Facts) -> Iterator[Explanation]:
    """As far as the file tells: bytes alone cannot count resistors."""
    expected = facts.expected
    if facts.framing is None:
        return
    count = expected.terminators
    if count is None:
        observed = Say("The file does not say which terminators are switched on. Bytes cannot tell.")
        test = meter_test(expected, "Write under [bus] where terminators are on.")
        title, why = "Terminators are not known", "resistors are measured, not heard"
        yield Explanation("BUS-ENDS", title, "unknown", (), observed, "certain", why, test)
        return
    ohm = pair_resistance(count, expected.terminator_ohm)
    if count > 2:
        observed = Say(
            f"The file counts {count} terminators: {{ohm}} between the wires, where a driver wants {{least}} or more.",
            {"ohm": Figure(ohm, "resistance"), "least": Figure(LOAD_LEAST, "resistance")},
        )
        test = meter_test(expected, "Switch off all but the two at the ends of the line.")
        title = "Too many terminators"
        yield Explanation("BUS-ENDS", title, "fail", (), observed, "certain", "counted in the file", test)
    elif count < 2 and expected.length is not None:
        short = round_trip(expected.length) * facts.framing.baud < SHORT_IN_BITS
        observed = Say(
            f"{count} terminators on {{length}} at {facts.framing.baud} bit/s.",
            {"length": Figure(expected.length, "length")},
        )
        title = "Terminators matter little on this line" if short else "A terminator is missing"
        why = "a reflection is over long before a bit is read" if short else "a reflection lasts into the bit"
        none_or_test = None if short else Say("Switch on one terminator at each end of the line, with the modules off.")
        yield Explanation("BUS-ENDS", title, "pass" if short else "caution", (), observed, "likely", why, none_or_test)


def adapter(facts: Facts) -> Iterator[Explanation]:
    """An adapter that holds bytes back makes every poll longer."""
    held = facts.expected.adapter_holds
    if held is not None and held > HELD:
        count = max(len(facts.expected.modules), 1)
        observed = Say(
            "The kernel says that this adapter holds received bytes for {held}: up to {more} more in each poll.",
            {"held": Figure(held, "time"), "more": Figure(held * count, "time")},
        )
        test = Say("Set the adapter's latency timer to 1 ms (its driver's setting), then measure the poll again.")
        title, why = "The adapter holds bytes back", "read from the system"
        yield Explanation("BUS-HELD", title, "caution", (), observed, "certain", why, test)


RULES = (refused, wrong_values, no_values, behind_gateway, isolation, terminators, adapter)
