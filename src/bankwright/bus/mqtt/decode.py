"""Values out of a message: whose they are, what they are, of which time and quality.

Gives: MqttMessage, Spoken, Said, Texts, read_message(). A message that is not what the map says is named, not guessed.
Limits: one message at a time; what is kept by a broker has no time of its own unless its payload says one.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from bankwright.bus.map.decode import GOOD, NOT_AVAILABLE, OUTSIDE, Decoded
from bankwright.bus.map.placeholders import filled, holders
from bankwright.bus.mqtt.path import NOTHING, PathFault, Step, looked_up, parsed_path
from bankwright.bus.mqtt.payload import Unreadable, moment_of, number_of, parsed_json, plain_text
from bankwright.bus.mqtt.signals import MqttMap, MqttSignal

__all__ = ["MqttMessage", "Said", "Spoken", "Texts", "read_message"]

Texts = Mapping[str, str]  # as sent -> module
MOST_ENTRIES, MOST_TEXT = 256, 200


@dataclass(frozen=True, slots=True)
class MqttMessage:
    """One message as it came; `kept`: the broker had it already."""

    time: float  # s, machine's own clock
    topic: str
    payload: bytes
    kept: bool = False


@dataclass(frozen=True, slots=True)
class Spoken:
    """One value; `stamp`: the time that the payload says, s since 1970."""

    module: str
    name: str
    value: Decoded
    stamp: float | None


@dataclass(frozen=True, slots=True)
class Said:
    """What a message said; `faults` are words of a closed list, `strangers` modules that nobody is."""

    values: tuple[Spoken, ...] = ()
    faults: tuple[str, ...] = ()
    strangers: tuple[str, ...] = ()
    known: bool = False


def read_message(mqtt_map: MqttMap, texts: Texts, message: MqttMessage) -> Said:
    """Take a message apart by every topic of the map that it fits."""
    reader = _Reader(texts, message)
    known = False
    for signals in mqtt_map.by_topic.values():
        said = signals[0].topic.said(message.topic)
        if said is None:
            continue
        known = True
        for signal in signals:
            try:
                reader.take(signal, *said)
            except Unreadable as error:
                reader.faults.append(str(error))
    return Said(
        tuple(reader.values), tuple(dict.fromkeys(reader.faults)), tuple(dict.fromkeys(reader.strangers)), known
    )


@functools.lru_cache(maxsize=4096)
def _path(text: str) -> tuple[Step, ...]:
    return parsed_path(text)


def _inside(value: str, n: int, text: str) -> tuple[Step, ...]:
    try:
        return _path(filled(value, n, text))
    except PathFault:
        raise Unreadable("a module's name that needs quotes in the path") from None


class _Reader:
    """One message while it is taken apart; its JSON is parsed once."""

    def __init__(self, texts: Texts, message: MqttMessage) -> None:
        self.texts, self.message = texts, message
        self.values: list[Spoken] = []
        self.faults: list[str] = []
        self.strangers: list[str] = []
        self._json: Any = NOTHING

    def _root(self) -> Any:
        if self._json is NOTHING:
            self._json = parsed_json(plain_text(self.message.payload))
        return self._json

    def take(self, signal: MqttSignal, module: str | None, n: int | None) -> None:
        """All values of one signal of the map."""
        if signal.value is None:
            self._keep(signal, self._whose(signal, module, None), n, plain_text(self.message.payload), None)
            return
        for entry in self._entries(signal):
            stamp = self._stamp(signal, entry)
            for text, who in self._modules(signal, module, entry):
                for place in range(len(signal.values)) if n is None else (n - signal.first,):
                    raw = looked_up(entry, _inside(signal.value, signal.first + place, text))
                    self._keep(signal, who, signal.first + place, raw, stamp)

    def _entries(self, signal: MqttSignal) -> list[Any]:
        if signal.each is None:
            return [self._root()]
        found = looked_up(self._root(), _path(signal.each))
        if not isinstance(found, list):
            raise Unreadable("no list where the map says one")
        return found[:MOST_ENTRIES]

    def _modules(self, signal: MqttSignal, module: str | None, entry: Any) -> Iterator[tuple[str, str | None]]:
        """Text to be put into the path, and the module it stands for."""
        if signal.value is not None and "module" in holders(signal.value):
            yield from self.texts.items()
        else:
            yield "", self._whose(signal, module, entry)

    def _whose(self, signal: MqttSignal, module: str | None, entry: Any) -> str | None:
        if signal.module is not None:
            return signal.module
        text = module
        if signal.module_at is not None:
            found = looked_up(entry, _path(signal.module_at))
            if not isinstance(found, (str, int)) or isinstance(found, bool):
                raise Unreadable("no module where the map says one")
            text = str(found)
        if text is None:
            return self.texts.get("")
        plain = str(int(text)) if text.isascii() and text.isdigit() and len(text) < 10 else text
        who = self.texts.get(text, self.texts.get(plain))
        if who is None:
            self.strangers.append(text[:MOST_TEXT])
        return who

    def _stamp(self, signal: MqttSignal, entry: Any) -> float | None:
        if signal.time is None:
            return None
        found = looked_up(entry, _path(signal.time))
        if found is NOTHING and signal.each is not None:
            found = looked_up(self._root(), _path(signal.time))
        moment = moment_of(found)
        if moment is None:
            self.faults.append("no time where the map says one")
        return moment

    def _keep(self, signal: MqttSignal, who: str | None, n: int | None, raw: Any, stamp: float | None) -> None:
        place = 0 if n is None or len(signal.values) == 1 else n - signal.first
        if who is None or raw is NOTHING or not 0 <= place < len(signal.values):
            return
        value = _decoded(signal, raw)
        if value is None:
            self.faults.append("no number where the map says one")
        else:
            self.values.append(Spoken(who, signal.values[place].name, value, stamp))


def _decoded(signal: MqttSignal, raw: Any) -> Decoded | None:
    """The value; None where it is none of its kind."""
    number = number_of(int(raw) if isinstance(raw, bool) and signal.bits else raw)
    if raw is None or raw in signal.not_available or (number is not None and number in signal.not_available):
        return Decoded(quality=NOT_AVAILABLE)
    if signal.is_text:
        if isinstance(raw, (dict, list)):
            return None
        text = str(raw)[:MOST_TEXT].strip()
        return Decoded(text=text, quality=GOOD if text else NOT_AVAILABLE)
    if number is None:
        return None
    if signal.bits:
        whole = int(number)
        return Decoded(number, "", tuple(name for bit, name in sorted(signal.bits.items()) if whole >> bit & 1), GOOD)
    found = float(f"{number * signal.factor + signal.shift:.12g}") + 0.0
    outside = (signal.low is not None and found < signal.low) or (signal.high is not None and found > signal.high)
    return Decoded(found, quality=OUTSIDE if outside else GOOD)
