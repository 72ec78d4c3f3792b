"""Values out of a frame: whose they are, what they are, of which quality.

Gives: CanFrame, Whose, read_frame(), Said. A frame that is not in the map, too short, or of a
number that nobody has is named, not guessed.
Limits: one frame is one message; nothing is put together out of several.
"""

from __future__ import annotations

import enum
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from bankwright.bus.can.dbc import NotDecoded
from bankwright.bus.can.signals import CanMap, CanValue, Meant, Route
from bankwright.bus.map.decode import GOOD, NOT_AVAILABLE, OUTSIDE, Decoded

__all__ = ["CanFrame", "Kind", "Said", "Whose", "read_frame"]

Whose = Mapping[int, str]  # number in the frame -> module
ONE = 0  # number where there is one module alone


@enum.unique
class Kind(enum.Enum):
    """What came: a frame with data, one that asks for data, or the controller's word that something was damaged."""

    DATA = "data"
    REMOTE = "remote"
    ERROR = "error"


@dataclass(frozen=True, slots=True)
class CanFrame:
    """One frame as it was heard; `id` of an error holds its classes."""

    time: float  # s, machine's own clock
    id: int
    extended: bool
    data: bytes = b""
    kind: Kind = Kind.DATA


@dataclass(frozen=True, slots=True)
class Said:
    """What a frame said; `outcome`: "values", "not in the map", "short", "not decoded", "no module"."""

    outcome: str
    values: tuple[tuple[str, str, Decoded], ...] = ()  # module, name of the value, value
    numbers: frozenset[int] = frozenset()  # of modules that nobody has
    message: str = ""  # of the DBC


def read_frame(can_map: CanMap, whose: Whose, frame: CanFrame) -> Said:
    """Decode one frame with data."""
    route = can_map.routes.get((frame.id & can_map.keep, frame.extended))
    if route is None:
        return Said("not in the map")
    if len(frame.data) < route.message.length:
        return Said("short", message=route.message.name)
    try:
        raw = route.message.decode(frame.data)
    except NotDecoded:
        return Said("not decoded", message=route.message.name)
    values, strangers = [], set()
    for meant in route.meant:
        number = _number(can_map, route, meant, frame, raw)
        value = _which(meant, raw)
        if number is None or value is None or meant.signal not in raw:
            continue
        module = whose.get(number)
        if module is None:
            strangers.add(number)
            continue
        values.append((module, value.name, _decoded(meant, raw[meant.signal])))
    outcome = "values" if values or not strangers else "no module"
    return Said(outcome, tuple(values), frozenset(strangers), route.message.name)


def _number(can_map: CanMap, route: Route, meant: Meant, frame: CanFrame, raw: Mapping[str, float]) -> int | None:
    if can_map.by == "one":
        return ONE
    if can_map.by == "name":
        return meant.module
    if can_map.by == "id":
        if route.module is not None:
            return route.module
        return frame.id >> can_map.shift & (1 << can_map.width) - 1
    return _scaled(route, can_map.signal, raw)


def _scaled(route: Route, name: str, raw: Mapping[str, float]) -> int | None:
    """A whole number that a signal says."""
    signal, found = route.message.signals.get(name), raw.get(name)
    if signal is None or found is None:
        return None
    value = found * signal.scale + signal.offset
    return round(value) if math.isfinite(value) else None


def _which(meant: Meant, raw: Mapping[str, float]) -> CanValue | None:
    if meant.number_in is None:
        return meant.value
    said = raw.get(meant.number_in)
    place = -1 if said is None or not math.isfinite(said) else round(said) - meant.first
    return meant.several[place] if 0 <= place < len(meant.several) else None


def _decoded(meant: Meant, raw: float) -> Decoded:
    if raw in meant.not_available:
        return Decoded(quality=NOT_AVAILABLE)
    if meant.value.quantity in ("text", "serial"):
        text = _text(meant, raw)
        return Decoded(text=text, quality=GOOD if text else NOT_AVAILABLE)
    if meant.bits:
        return Decoded(float(raw), "", tuple(_names(meant.bits, int(raw))), GOOD)
    value = float(f"{raw * meant.factor + meant.offset:.12g}") + 0.0
    if not math.isfinite(value):
        return Decoded(quality=NOT_AVAILABLE)
    outside = (meant.low is not None and value < meant.low) or (meant.high is not None and value > meant.high)
    return Decoded(value, quality=OUTSIDE if outside else GOOD)


def _text(meant: Meant, raw: float) -> str:
    """The word of the DBC for this value, or the number itself."""
    if not math.isfinite(raw):
        return ""
    return f"{raw:g}" if raw != int(raw) else meant.choices.get(int(raw), str(int(raw)))


def _names(bits: Mapping[int, str], raw: int) -> Iterator[str]:
    return (name for bit, name in sorted(bits.items()) if raw >> bit & 1)
