"""Everything a device tells at the first meeting: its chain, all models that are known, what it brings to the modules.

Gives: Device, discovered().
Limits: a model that cannot be read is left out and noted; unknown models are named and skipped.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bus.modbus.reply import Registers
from bankwright.bus.sunspec.asks import SunMap, read_placed, spans_of, sun_map
from bankwright.bus.sunspec.definitions import KNOWN
from bankwright.bus.sunspec.points import ReadModel
from bankwright.bus.sunspec.signals import Positive, Whose, signals_of
from bankwright.bus.sunspec.walk import Chain, Once, Placed, walked

__all__ = ["Device", "discovered"]


@dataclass(frozen=True, slots=True)
class Device:
    """What a device is, and what it brings."""

    chain: Chain
    read: tuple[tuple[Placed, ReadModel], ...]  # of the models that are known
    known: SunMap
    notes: tuple[str, ...]  # what is not as the definitions have it

    @property
    def is_whole(self) -> bool:
        """False where something of it could not be read: noise, perhaps, and worth another walk."""
        return not any("cannot be read" in note for note in self.notes)

    @property
    def serials(self) -> tuple[str, ...]:
        """Serial numbers of its modules, as far as they are told."""
        modules = {s.model: s for s in self.known.signals if s.quantity == "serial"}
        texts = [read.value(modules[placed].point).text for placed, read in self.read if placed in modules]
        return tuple(dict.fromkeys(texts))

    @property
    def words(self) -> str:
        """Maker, kind and serial number as the device gives them."""
        common = next((model for placed, model in self.read if placed.number == 1), None)
        texts = [common.value(name).text for name in ("Mn", "Md")] if common else []
        return ", ".join(text for text in texts if text)


def discovered(once: Once, unit: int, whose: Whose, positive: Positive) -> Device | None:
    """Walk and read a device; None where no mark stands."""
    chain = walked(once, unit)
    if chain is None:
        return None
    read: list[tuple[Placed, ReadModel]] = []
    notes = list(chain.notes)
    for placed in chain.of(*KNOWN):
        registers: dict[int, int] = {}
        for ask in spans_of(placed):
            reply = once(ask.request(unit)).reply
            if isinstance(reply, Registers):
                registers |= {ask.first + k: word for k, word in enumerate(reply.values)}
        whole = read_placed(placed, registers)
        if not registers or whole is None:
            notes.append(f"model {placed.number} at {placed.at} cannot be read")
            continue
        read.append((placed, whole))
        notes += _odd(placed, whole)
    return Device(chain, tuple(read), sun_map(signals_of(read, whose, positive)), tuple(notes))


def _odd(placed: Placed, read: ReadModel) -> list[str]:
    """Lengths that are not those of the definition."""
    found = []
    if placed.length + 2 < read.model.size and placed.number != 1:  # old ones of model 1 are one shorter
        least = read.model.size - 2
        found.append(f"model {placed.number} at {placed.at} is {placed.length} long, its definition {least}")
    if read.told is not None and read.told != read.fits:
        found.append(f"model {placed.number} at {placed.at} counts {read.told} and has room for {read.fits}")
    return found
