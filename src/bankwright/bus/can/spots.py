"""Where in the DBC the signals of a map stand: names with their numbers put in.

Gives: Spot, spots(). Limits: whether the names exist is judged in can/rules.py.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bankwright.bus.can.written import CanModuleW, CanSignalW
from bankwright.bus.map.placeholders import filled, holders

__all__ = ["Spot", "spots"]


@dataclass(frozen=True, slots=True)
class Spot:
    """One signal of one message; `n`: place of several alike, from 0; `module`: number in the names."""

    message: str
    signal: str
    n: int | None
    module: int | None


def spots(signal: CanSignalW, module: CanModuleW) -> Iterator[Spot]:
    """All places of one signal of the map."""
    counted = "n" in holders(signal.message) | holders(signal.signal)
    places = range(signal.repeat) if counted else (None,)
    modules = range(module.most + 1) if module.by == "name" else (None,)
    for number in modules:
        for n in places:
            written = None if n is None else signal.first + n
            yield Spot(filled(signal.message, written, number), filled(signal.signal, written, number), n, number)
