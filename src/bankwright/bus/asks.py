"""What a map asks of a module, whatever its language: requests, what each brings, how long it is.

Gives: Ask (protocol), Known, HasAsks, Polled, asks_of(), language_of().
Limits: what is asked of a SunSpec device is known only when it was walked: sunspec/.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal, Protocol, runtime_checkable

from bankwright.bus.map.blocks import blocks
from bankwright.bus.map.decode import Decoded
from bankwright.bus.map.registers import Every, RegisterMap
from bankwright.bus.messages.asks import message_asks
from bankwright.bus.messages.fields import MessageMap
from bankwright.bus.source import Value
from bankwright.bus.spell import AnyRequest
from bankwright.bus.timing import Framing

__all__ = ["Ask", "HasAsks", "Known", "Language", "Polled", "asks_of", "language_of"]

Known = RegisterMap | MessageMap
Language = Literal["modbus", "ascii frames"]


class Ask(Protocol):
    """One request to a module."""

    @property
    def signals(self) -> Sequence[Value]:
        """The values in its reply."""

    @property
    def characters(self) -> int:
        """Of the request and of its longest reply on a serial line. [-]"""

    @property
    def words(self) -> str:
        """What it asks for, in short."""

    def request(self, unit: int) -> AnyRequest:
        """The request to the module of this address."""

    def values(self, reply: object) -> dict[str, Decoded]:
        """Values of a reply; none of a refusal."""


@runtime_checkable
class HasAsks(Protocol):
    """Something that knows by itself what to ask: a device of SunSpec, once it was walked."""

    def asks_for(self, every: tuple[Every, ...]) -> tuple[Ask, ...]:
        """Requests for all values of these classes."""


Polled = Known | HasAsks


def asks_of(known: Polled, framing: Framing | None, every: Iterable[Every] = ("fast",)) -> tuple[Ask, ...]:
    """Requests for all values of these classes; what has current and voltage first."""
    if isinstance(known, MessageMap):
        return message_asks(known, every)
    if isinstance(known, HasAsks):
        return known.asks_for(tuple(every))
    return blocks(known, framing, every)


def language_of(known: Known | None) -> Language:
    """What the modules of this map speak; Modbus where there is none."""
    return "ascii frames" if isinstance(known, MessageMap) else "modbus"
