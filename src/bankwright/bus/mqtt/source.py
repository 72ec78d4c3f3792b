"""Topics of a broker as a source of values: messages in, cycles out.

Gives: MqttSource, Messages (what they are heard from), MqttTally.
What a broker kept is of unknown age: it stands beside the others, marked, and is neither stored nor a sign of life,
unless its payload says a time. Memory is bounded by the map, whatever is sent.
Limits: the payload's time is believed where it is not ahead of this computer's clock by more than AHEAD.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Protocol

from bankwright.bus.listening import Listening
from bankwright.bus.mqtt.decode import MqttMessage, Said, Spoken, Texts, read_message
from bankwright.bus.mqtt.signals import MqttMap
from bankwright.bus.passive import Arrival, Standing
from bankwright.forms.readings import TIME_UNSURE

__all__ = ["Messages", "MqttSource", "MqttTally"]

AHEAD = 5.0  # s
MOST_NAMES = 1000


class Messages(Protocol):
    """What messages are heard from."""

    name: str

    def now(self) -> float:
        """Its clock. [s]"""

    def hear(self, until: float) -> MqttMessage | None:
        """The next message; None when none came until then."""

    def close(self) -> None:
        """Let go of it."""


@dataclass
class MqttTally:
    """Counts since they were begun."""

    messages: int = 0
    kept: int = 0
    old: int = 0  # values whose payload says a time too long ago
    again: int = 0  # values whose payload says the time that it said before
    faults: Counter[str] = field(default_factory=Counter)
    strangers: Counter[str] = field(default_factory=Counter)

    def count(self, message: MqttMessage, said: Said) -> None:
        """Count a message."""
        self.messages += 1
        self.kept += message.kept
        self.faults.update(said.faults)
        for text in said.strangers:
            if text in self.strangers or len(self.strangers) < MOST_NAMES:
                self.strangers[text] += 1

    def words(self) -> str:
        """What is to be told of a cycle beside who was heard."""
        told = [f", {self.messages} messages"]
        told += [f", {self.kept} of unknown age (kept by the broker)"] if self.kept else []
        told += [f", {self.old} values too old"] if self.old else []
        told += [f", {count} times {words}" for words, count in self.faults.items()]
        told += [f", {sum(self.strangers.values())} of modules that the bank does not have"] if self.strangers else []
        return "".join(told)


class MqttSource(Listening[MqttMessage]):
    """An open connection with its map."""

    def __init__(
        self,
        port: Messages,
        mqtt_map: MqttMap,
        texts: Texts,
        every: float,
        wall: Callable[[], float] = time.time,
    ) -> None:
        """Begin to count."""
        stale = mqtt_map.stale
        super().__init__(port, Standing(dict.fromkeys(texts.values()), lambda _: stale, port.now()), every)
        self.port, self._map, self._texts, self._wall, self.tally = port, mqtt_map, texts, wall, MqttTally()
        self._stamps: dict[tuple[str, str], float] = {}  # of modules and values of the map alone

    def take(self, came: MqttMessage) -> None:
        """Count a message, and let its values stand."""
        said = read_message(self._map, self._texts, came)
        self.tally.count(came, said)
        for spoken in said.values:
            self._take(came, spoken)

    def told(self) -> str:
        """The words of the counts, which begin anew."""
        words, self.tally = self.tally.words(), MqttTally()
        return words

    def _take(self, message: MqttMessage, spoken: Spoken) -> None:
        """Let a value stand, with its own time where it has one."""
        age = None if spoken.stamp is None else self._wall() - spoken.stamp
        if age is None or age < -AHEAD:
            value = replace(spoken.value, quality=TIME_UNSURE) if message.kept else spoken.value
            self.standing.take(Arrival(spoken.module, spoken.name, value, message.time))
            return
        key = (spoken.module, spoken.name)
        if age > self._map.stale:
            self.tally.old += 1
        elif self._stamps.get(key) == spoken.stamp:
            self.tally.again += 1
        else:
            assert spoken.stamp is not None
            self._stamps[key] = spoken.stamp
            moment = max(message.time - max(age, 0.0), 0.0)
            self.standing.take(Arrival(spoken.module, spoken.name, spoken.value, moment))
