"""Requests that read the models of a device again and again, and what they bring to each module.

Gives: SunMap, SunAsk, sun_map(), spans_of(). Registers come first, values are made of all of a device's registers, so
that a scale factor and its points may stand in two requests.
Limits: the fixed part of a model is read with as many of what repeats as one request holds.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from bankwright.bus.map.decode import Decoded
from bankwright.bus.map.registers import Every
from bankwright.bus.modbus.reply import Registers
from bankwright.bus.modbus.request import MOST_REGISTERS, Function, Request
from bankwright.bus.source import Value
from bankwright.bus.sunspec.definitions import HEADER, model
from bankwright.bus.sunspec.points import ReadModel, read_model
from bankwright.bus.sunspec.signals import SunSignal
from bankwright.bus.sunspec.walk import Placed
from bankwright.bus.timing import REPLY, REQUEST
from bankwright.forms.readings import GOOD

__all__ = ["SunAsk", "SunMap", "registers_of", "spans_of", "sun_map", "values_of"]


@dataclass(frozen=True, slots=True)
class SunAsk:
    """One request to a device."""

    first: int
    count: int

    @property
    def signals(self) -> tuple[Value, ...]:
        """None by itself: values are made of several."""
        return ()

    @property
    def characters(self) -> int:
        """Of the request and its reply. [-]"""
        return REQUEST + REPLY + 2 * self.count

    @property
    def words(self) -> str:
        """What it asks for."""
        return f"{self.count} from {self.first} (holding)"

    def request(self, unit: int) -> Request:
        """The request to the device."""
        return Request(unit, Function.HOLDING, self.first, self.count)

    def values(self, reply: object) -> dict[str, Decoded]:
        """Registers as they are, by their number."""
        if not isinstance(reply, Registers):
            return {}
        return {str(self.first + k): Decoded(float(word), quality=GOOD) for k, word in enumerate(reply.values)}


@dataclass(frozen=True, slots=True)
class SunMap:
    """What is asked of one device, and what it brings to each module."""

    signals: tuple[SunSignal, ...]
    asks: tuple[SunAsk, ...]  # each poll
    once: tuple[SunAsk, ...]  # at the start: serial numbers
    title: str = "SunSpec"
    file: str = ""

    def asks_for(self, every: tuple[Every, ...]) -> tuple[SunAsk, ...]:
        """Requests of these classes."""
        return (self.asks if "fast" in every else ()) + (self.once if "once" in every else ())

    def of(self, *quantities: str) -> tuple[SunSignal, ...]:
        """Signals of these quantities, once by name."""
        return tuple({s.name: s for s in self.signals if s.quantity in quantities}.values())


def registers_of(values: Mapping[str, Decoded]) -> dict[int, int]:
    """Registers out of what the requests brought."""
    return {int(name): int(one.value) for name, one in values.items()}


def spans_of(placed: Placed) -> Iterator[SunAsk]:
    """Requests for a whole model: the fixed part with what fits beside it, then whole elements."""
    known = model(placed.number)
    size = HEADER + placed.length
    if known is None or known.repeat is None or size <= MOST_REGISTERS:
        yield from _cut(placed.at, size, MOST_REGISTERS)
        return
    step = known.repeat.size
    first = min(known.size + max(MOST_REGISTERS - known.size, 0) // step * step, size)
    yield from _cut(placed.at, first, MOST_REGISTERS)
    yield from _cut(placed.at + first, size - first, MOST_REGISTERS // step * step)


def _cut(at: int, size: int, most: int) -> Iterator[SunAsk]:
    for start in range(0, size, most):
        yield SunAsk(at + start, min(most, size - start))


def sun_map(signals: Iterable[SunSignal]) -> SunMap:
    """Requests for the models that these values come from; those that only name the device are asked once."""
    listed = tuple(signals)
    polled = {signal.model for signal in listed if not signal.is_text}
    named = {signal.model for signal in listed if signal.is_text} - polled
    asks, once = ([ask for placed in sorted(each, key=_at) for ask in spans_of(placed)] for each in (polled, named))
    return SunMap(listed, tuple(asks), tuple(once))


def _at(placed: Placed) -> int:
    return placed.at


def values_of(signals: Iterable[SunSignal], registers: Mapping[int, int]) -> dict[str, Decoded]:
    """Values of one module; a model whose number or length is another than before has none."""
    read: dict[Placed, ReadModel | None] = {}
    found: dict[str, Decoded] = {}
    for signal in signals:
        if signal.model not in read:
            read[signal.model] = read_placed(signal.model, registers)
        whole = read[signal.model]
        said = Decoded() if whole is None else whole.value(signal.point, signal.element)
        is_number = not (said.text or said.flags)
        found[signal.name] = Decoded(said.value * signal.factor, quality=said.quality) if is_number else said
    return found


def read_placed(placed: Placed, registers: Mapping[int, int]) -> ReadModel | None:
    """A model of a chain out of registers; None where it is not known, or another stands there."""
    known = model(placed.number)
    head = (registers.get(placed.at, placed.number), registers.get(placed.at + 1, placed.length))
    if known is None or head != (placed.number, placed.length):
        return None
    return read_model(known, placed.length, placed.at, registers)
