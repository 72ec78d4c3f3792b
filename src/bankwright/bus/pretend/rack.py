"""A whole pretend rack: modules in cable order with their addresses, values and troubles.

Gives: Place, Values, pretend_line(), framed(), SAME_ADDRESS. The values are any function of time: the face hands in a
run of the bank.
Limits: opens nothing; see pretend/virtual.py, pretend/terminal.py, pretend/loopback.py.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from bankwright.bus.asks import Known
from bankwright.bus.messages.fields import MessageMap
from bankwright.bus.pretend.line import Line
from bankwright.bus.pretend.module import Answering, PretendModule
from bankwright.bus.pretend.registers import State
from bankwright.bus.pretend.text_module import Foreigner, TextModule
from bankwright.bus.pretend.troubles import Trouble
from bankwright.bus.timing import Framing, Parity

__all__ = ["SAME_ADDRESS", "Place", "Values", "framed", "pretend_line"]

Values = Callable[[float], Mapping[str, State]]  # time -> module -> values by signal or quantity
SAME_ADDRESS = frozenset({"doubled", "follower", "polite"})


@dataclass(frozen=True, slots=True)
class Place:
    """A module on the cable, and its address."""

    name: str
    unit: int


def _state(values: Values, name: str) -> Callable[[float], State]:
    return lambda now: values(now).get(name, {})


def framed(framing: Framing, own: Iterable[Trouble]) -> Framing:
    """How somebody speaks who has these troubles."""
    own = list(own)
    baud = next((int(t.amount) for t in own if t.kind == "speed"), framing.baud)
    parity: Parity = framing.parity
    for each in own:
        if each.kind == "parity":
            parity = {"even": "even", "odd": "odd"}.get(each.value, "none")  # type: ignore[assignment]
    return Framing(baud, parity, framing.stop_bits)


def _module(
    place: Place,
    units: Mapping[str, int],
    register_map: Known,
    line: tuple[Framing, Values],
    own: list[Trouble],
) -> Answering:
    framing, values = line
    kinds = {each.kind: each for each in own}
    twin = next((each.value for each in own if each.kind in SAME_ADDRESS), place.name)
    speaks_text = isinstance(register_map, MessageMap)
    if "other" in kinds:
        return Foreigner(place.name, units[twin], framed(framing, own), not speaks_text)
    make = TextModule if speaks_text else PretendModule
    return make(
        place.name,
        units[twin],
        register_map,  # type: ignore[arg-type]
        _state(values, place.name),
        framed(framing, own),
        swapped="swapped" in kinds and bool(kinds["swapped"].at),
        refuses="refuse" in kinds,
        sentinel="sentinel" in kinds,
        shifted="shifted" in kinds,
        frozen_at=kinds["frozen"].since if "frozen" in kinds else None,
        serial=kinds["serial"].value if "serial" in kinds else "",
    )


def pretend_line(
    places: Iterable[Place],
    register_map: Known,
    framing: Framing,
    values: Values,
    troubles: Iterable[Trouble] = (),
    *,
    seed: int = 1,
) -> Line:
    """A line with these modules, the first nearest to the computer."""
    listed, wrong = tuple(places), tuple(troubles)
    units = {place.name: place.unit for place in listed}
    modules = [
        _module(place, units, register_map, (framing, values), [t for t in wrong if t.at in ("", place.name)])
        for place in listed
    ]
    return Line(framing, modules, wrong, seed)
