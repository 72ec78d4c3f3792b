"""Frames of pretend modules on a CAN bus: the inverse of can/decode.

Gives: CanRack (frames()). Serves the pretend rack alone: the one room that puts a frame together.
Limits: signals of the DBC that the map does not name are 0; what a state does not give is plausible and invented.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from bankwright.bus.can.dbc import DbcSignal
from bankwright.bus.can.decode import Whose
from bankwright.bus.can.signals import CanMap, CanValue, Meant, Route
from bankwright.bus.pretend.rack import Values
from bankwright.bus.pretend.registers import State, cells_of, value_of
from bankwright.bus.pretend.troubles import Trouble, TroubleFault

__all__ = ["KNOWN", "CanRack", "Spoken"]

KNOWN = frozenset({"doubled", "off", "unplug", "reboot", "frozen", "sentinel", "drop", "cut", "noise"})
PERIOD, LEAST_PERIOD = 1.0, 0.02  # s, where the DBC gives no cycle time; and at least
MOST_PICTURES = 256  # of one message of one module


@dataclass(frozen=True, slots=True)
class Spoken:
    """One frame to be put on the bus; `data` None: an error frame."""

    id: int
    extended: bool
    data: bytes | None


class CanRack:
    """Modules that broadcast, each message at its own pace."""

    def __init__(
        self,
        can_map: CanMap,
        whose: Whose,
        values: Values,
        troubles: Iterable[Trouble] = (),
        *,
        order: Sequence[str] = (),
        seed: int = 1,
    ) -> None:
        """Nothing is sent yet; `order` is that of the cable, for what is pulled."""
        self._order = tuple(order) or tuple(whose.values())
        self.can_map, self.whose, self._values, self.troubles = can_map, whose, values, tuple(troubles)
        strange = [each.kind for each in self.troubles if each.kind not in KNOWN]
        if strange:
            known = ", ".join(sorted(KNOWN))
            raise TroubleFault(f"{strange[0]}: not on a bus that speaks by itself; there are {known}")
        self._rng = random.Random(seed)
        self._due = dict.fromkeys(can_map.routes, 0.0)
        self._cells = max(len(can_map.of("cell_voltage")), 1)
        self.sent = 0

    def due(self) -> float:
        """When the next message is to be sent. [s]"""
        return min(self._due.values(), default=PERIOD)

    def frames(self, now: float) -> Iterator[Spoken]:
        """All frames that are due."""
        for key, route in self.can_map.routes.items():
            if self._due[key] > now:
                continue
            self._due[key] = now + max(route.message.cycle or PERIOD, LEAST_PERIOD)
            for spoken in self._of(key, route, now):
                self.sent += 1
                yield from self._spoilt(spoken, now)

    def _spoilt(self, spoken: Spoken, now: float) -> Iterator[Spoken]:
        on = {t.kind: t for t in self.troubles if not t.at and t.since <= now < t.until}
        if "noise" in on and self._rng.random() < on["noise"].amount:
            yield Spoken(0x8, False, None)
        if "drop" in on and self._rng.random() < on["drop"].amount:
            return
        if "cut" in on and spoken.data is not None and self._rng.random() < on["cut"].amount:
            spoken = Spoken(spoken.id, spoken.extended, spoken.data[:-1])
        yield spoken

    def _has(self, kind: str, module: str, now: float) -> bool:
        return any(t.kind == kind and t.on(module, now) for t in self.troubles)

    def _is_gone(self, module: str, now: float) -> bool:
        before = self._order[: self._order.index(module) + 1] if module in self._order else (module,)
        pulled = any(t.kind == "unplug" and t.at in before and t.since <= now for t in self.troubles)
        return pulled or self._has("off", module, now) or self._has("reboot", module, now)

    def _of(self, key: tuple[int, bool], route: Route, now: float) -> Iterator[Spoken]:
        wanted = route.meant[0].module if route.meant[0].module is not None else route.module
        for own, module in self.whose.items():
            number = self._as_sent(own, module, now)
            if (wanted is not None and number != wanted) or self._is_gone(module, now):
                continue
            for raw in self._pictures(route, (own, number), now):
                data = _encoded(route, raw)
                if data is not None:
                    yield Spoken(key[0] | self._bits(number), key[1], data)

    def _as_sent(self, own: int, module: str, now: float) -> int:
        """The number that a module sends: its own, or that of another which it was given by mistake."""
        twin = next(
            (t.value for t in self.troubles if t.kind == "doubled" and t.at == module and t.since <= now), module
        )
        return next((number for number, name in self.whose.items() if name == twin), own)

    def _bits(self, number: int) -> int:
        if self.can_map.by != "id" or not self.can_map.width:
            return 0
        return (number & (1 << self.can_map.width) - 1) << self.can_map.shift

    def _pictures(self, route: Route, numbers: tuple[int, int], now: float) -> Iterator[Mapping[str, float]]:
        """Raw values of a message, once for each multiplexer value and each of several alike.

        `numbers`: the module's own, and the one that it sends.
        """
        own, number = numbers
        signals = route.message.signals
        ways = _ways(route)
        if self.can_map.by == "signal":
            signal = signals[self.can_map.signal]
            ways[self.can_map.signal] = [round((number - signal.offset) / signal.scale)]
        for chosen in itertools.islice(itertools.product(*ways.values()), MOST_PICTURES):
            raw: dict[str, float] = dict.fromkeys(signals, 0)
            raw.update(zip(ways, chosen, strict=True))
            for meant in route.meant:
                value = _value(meant, raw)
                is_shared = meant.module is not None and meant.module != number
                module = self.whose.get(meant.module if is_shared and meant.module is not None else own)
                if value is not None and module is not None and meant.signal not in ways:
                    raw[meant.signal] = self._raw(meant, value, signals[meant.signal], module, now)
            yield raw

    def _raw(self, meant: Meant, value: CanValue, signal: DbcSignal, module: str, now: float) -> float:
        if meant.not_available and self._has("sentinel", module, now):
            return min(meant.not_available)
        frozen = [t.since for t in self.troubles if t.kind == "frozen" and t.on(module, now)]
        state: State = self._values(frozen[0] if frozen else now).get(module, {})
        return _raw_of(meant, value_of(value, state, cells_of(state, self._cells)), signal)


def _encoded(route: Route, raw: Mapping[str, float]) -> bytes | None:
    """The bytes of a frame; None where the DBC has no place for it: more modules than multiplexer values, say."""
    try:
        return bytes(route.message.source.encode(raw, scaling=False, strict=False))
    except Exception:  # the library's errors have no common kind that this room could import
        return None


def _value(meant: Meant, raw: Mapping[str, float]) -> CanValue | None:
    if meant.number_in is None:
        return meant.value
    place = round(raw[meant.number_in]) - meant.first
    return meant.several[place] if 0 <= place < len(meant.several) else None


def _ways(route: Route) -> dict[str, list[int]]:
    """Signals that choose what a frame holds, with all that they can be."""
    ways: dict[str, set[int]] = {}
    for each in route.message.source.signals:
        if each.multiplexer_signal is not None:
            ways.setdefault(each.multiplexer_signal, set()).update(each.multiplexer_ids)
    for meant in route.meant:
        if meant.number_in is not None and meant.number_in not in ways:
            ways[meant.number_in] = set(range(meant.first, meant.first + len(meant.several)))
    return {name: sorted(found) for name, found in ways.items()}


def _raw_of(meant: Meant, value: float | str, signal: DbcSignal) -> float:
    if isinstance(value, str):
        return next((raw for raw, word in meant.choices.items() if word == value), next(iter(meant.choices), 0))
    raw = (value - meant.offset) / meant.factor
    if signal.is_float:
        return raw
    low, high = (-(1 << signal.bits - 1), (1 << signal.bits - 1) - 1) if signal.signed else (0, (1 << signal.bits) - 1)
    return min(max(round(raw), low), high)
