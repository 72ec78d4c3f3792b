"""Messages of pretend modules on a broker: the inverse of mqtt/decode.

Gives: MqttRack (messages()), Told. Serves the pretend rack alone: the one room that puts a message together.
Limits: what the map does not name is not sent; what a state does not give is plausible and invented.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from bankwright.bus.map.placeholders import filled
from bankwright.bus.mqtt.decode import Texts
from bankwright.bus.mqtt.path import Step, parsed_path
from bankwright.bus.mqtt.signals import MqttMap, MqttSignal, MqttValue
from bankwright.bus.pretend.rack import Values
from bankwright.bus.pretend.registers import State, cells_of, value_of
from bankwright.bus.pretend.troubles import Trouble, TroubleFault

__all__ = ["MqttRack", "Told"]

KNOWN = frozenset({"off", "unplug", "reboot", "frozen", "sentinel", "drop", "noise"})
NOISE = b"\xff{not what the map says"


@dataclass(frozen=True, slots=True)
class Told:
    """One message to be handed to whoever subscribed."""

    topic: str
    payload: bytes


class MqttRack:
    """Modules that tell their values on topics."""

    def __init__(
        self,
        mqtt_map: MqttMap,
        texts: Texts,
        values: Values,
        troubles: Iterable[Trouble] = (),
        *,
        order: Sequence[str] = (),
        seed: int = 1,
    ) -> None:
        """`order` is that of the cable, for what is pulled."""
        self.mqtt_map, self._values, self.troubles = mqtt_map, values, tuple(troubles)
        self._text = _sent_as(texts)
        self._order = tuple(order) or tuple(self._text)
        strange = [each.kind for each in self.troubles if each.kind not in KNOWN]
        if strange:
            known = ", ".join(sorted(KNOWN))
            raise TroubleFault(f"{strange[0]}: not on topics of a broker; there are {known}")
        self._rng = random.Random(seed)

    def messages(self, now: float, wall: float) -> Iterator[Told]:
        """All messages of one round; `wall` is the time that payloads say. [s since 1970]"""
        documents: dict[str, Any] = {}
        for signals in self.mqtt_map.by_topic.values():
            for signal in signals:
                for module in self._told_by(signal, now):
                    self._put(documents, signal, module, now, wall=wall)
        for topic, document in documents.items():
            if self._rng.random() < self._share("drop", now):
                continue
            spoilt = self._rng.random() < self._share("noise", now)
            text = document if isinstance(document, str) else json.dumps(document)
            yield Told(topic, NOISE if spoilt else text.encode())

    def _share(self, kind: str, now: float) -> float:
        return max((t.amount for t in self.troubles if t.kind == kind and t.since <= now), default=0.0)

    def _told_by(self, signal: MqttSignal, now: float) -> Iterator[str]:
        for module in self._text if signal.module is None else (signal.module,):
            before = self._order[: self._order.index(module) + 1] if module in self._order else (module,)
            pulled = any(t.kind == "unplug" and t.at in before and t.since <= now for t in self.troubles)
            if not pulled and not any(t.kind in ("off", "reboot") and t.on(module, now) for t in self.troubles):
                yield module

    def _put(self, documents: dict[str, Any], signal: MqttSignal, module: str, now: float, *, wall: float) -> None:
        """One signal of one module into its documents."""
        frozen = [t.since for t in self.troubles if t.kind == "frozen" and t.on(module, now)]
        state = self._values(frozen[0] if frozen else now).get(module, {})
        sentinel = any(t.kind == "sentinel" and t.on(module, now) for t in self.troubles)
        for place, value in enumerate(signal.values):
            n = signal.first + place
            sent = _sent(signal, value, state, len(self.mqtt_map.of("cell_voltage")), sentinel=sentinel)
            topic = filled(signal.topic.written, n, self._text.get(module, module)).replace("+", "any")
            if signal.value is None:
                documents[topic] = str(sent)
                continue
            root = documents.setdefault(topic, {})
            where = self._entry(root, signal, module)
            _set(where, parsed_path(filled(signal.value, n, self._text.get(module, module))), sent)
            if signal.time is not None:
                _set(where, parsed_path(signal.time), wall)

    def _entry(self, root: Any, signal: MqttSignal, module: str) -> Any:
        """Where a module's values stand in the document, with its name beside them."""
        where = root
        if signal.each is not None:
            assert signal.module_at is not None
            listed = _set(root, parsed_path(signal.each), [], keep=True)
            at = parsed_path(signal.module_at)
            where = next((each for each in listed if _get(each, at) == self._text[module]), None)
            if where is None:
                where = {}
                listed.append(where)
        if signal.module_at is not None:
            _set(where, parsed_path(signal.module_at), self._text[module])
        return where


def _sent_as(texts: Texts) -> dict[str, str]:
    """Module -> text that stands for it in topics and payloads: a number where {module:02} asks for one."""
    found: dict[str, str] = {}
    for text, module in texts.items():
        if module not in found or (text.isdigit() and not found[module].isdigit()):
            found[module] = text or module
    return found


def _sent(signal: MqttSignal, value: MqttValue, state: State, listed: int, *, sentinel: bool) -> float | str | None:
    if sentinel and signal.not_available:
        return signal.not_available[0]
    said = value_of(value, state, cells_of(state, listed))
    if isinstance(said, str):
        return said
    return round((said - signal.shift) / signal.factor, 6)


def _get(value: Any, path: Sequence[Step]) -> Any:
    for step in path:
        value = value.get(str(step)) if isinstance(value, Mapping) else None
    return value


def _set(root: Any, path: Sequence[Step], value: Any, *, keep: bool = False) -> Any:
    """Put a value at a path of a document, making what lies between."""
    where = root
    for step, following in zip(path, [*path[1:], None], strict=True):
        inside: Any = value if following is None else [] if isinstance(following, int) else {}
        if isinstance(where, list):
            index = int(step)
            where.extend([None] * (index + 1 - len(where)))
            if where[index] is None or (following is None and not keep):
                where[index] = inside
            where = where[index]
        elif not isinstance(where, dict):
            return where  # another signal of the map has its value where this one has a table
        else:
            if str(step) not in where or (following is None and not keep):
                where[str(step)] = inside
            where = where[str(step)]
    return where
