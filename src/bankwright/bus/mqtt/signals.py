"""A map of topics, unfolded.

Gives: MqttValue, MqttSignal, MqttMap. SI inside; current positive when it leaves the module.
Limits: reading the file is in mqtt/read.py, decoding in mqtt/decode.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bankwright.bus.map.placeholders import holders
from bankwright.bus.mqtt.topics import Topic

__all__ = ["MqttMap", "MqttSignal", "MqttValue"]


@dataclass(frozen=True, slots=True)
class MqttValue:
    """One value of a module."""

    name: str
    quantity: str
    number: int | None


@dataclass(frozen=True, slots=True)
class MqttSignal:
    """Where one value, or several alike, stand; value in SI = sent * factor + shift."""

    topic: Topic
    values: tuple[MqttValue, ...]
    first: int
    value: str | None  # paths as written, with their {n} and {module}
    each: str | None
    module_at: str | None
    module: str | None
    time: str | None
    factor: float
    shift: float
    low: float | None  # SI
    high: float | None
    not_available: tuple[float | str, ...]
    bits: Mapping[int, str]

    @property
    def says_module(self) -> bool:
        """True where topic, path, payload or map say whose it is."""
        inside = holders(self.topic.written) | holders(self.value or "")
        return "module" in inside or self.module_at is not None or self.module is not None

    @property
    def is_text(self) -> bool:
        """True for serial numbers and names."""
        return self.values[0].quantity in ("text", "serial")


@dataclass(frozen=True, slots=True)
class MqttMap:
    """All topics of a kind of module."""

    title: str
    file: str
    digest: str
    signals: tuple[MqttValue, ...]
    by_topic: Mapping[str, tuple[MqttSignal, ...]]  # topic as written
    stale: float  # s
    names: Mapping[str, str]

    def of(self, *quantities: str) -> tuple[MqttValue, ...]:
        """Values of these quantities."""
        return tuple(value for value in self.signals if value.quantity in quantities)

    @property
    def topics(self) -> tuple[Topic, ...]:
        """Each topic once."""
        return tuple(signals[0].topic for signals in self.by_topic.values())

    @property
    def filters(self) -> tuple[str, ...]:
        """What is subscribed to."""
        return tuple(dict.fromkeys(topic.filter for topic in self.topics))
