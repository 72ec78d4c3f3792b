"""Requests that read a message map: one for each message, the one with current and voltage first.

Gives: MessageAsk, message_asks().
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bankwright.bus.ascii.reply import Information
from bankwright.bus.ascii.request import TAIL, TextRequest
from bankwright.bus.map.blocks import TOGETHER
from bankwright.bus.map.decode import Decoded
from bankwright.bus.map.registers import Every
from bankwright.bus.messages.decode import ReadMessage, read_message
from bankwright.bus.messages.fields import MapMessage, MessageMap, MessageSignal

__all__ = ["MessageAsk", "message_asks"]

SPARE = 32  # characters that an answer may have beyond the map: patience alone


@dataclass(frozen=True, slots=True)
class MessageAsk:
    """One message of a map, and how it is asked."""

    message: MapMessage
    version: int
    group: int

    @property
    def signals(self) -> tuple[MessageSignal, ...]:
        """What its answer brings."""
        return self.message.signals

    @property
    def characters(self) -> int:
        """Of the request and of the longest answer. [-]"""
        return self.request(0).length + self.message.longest

    @property
    def words(self) -> str:
        """For the address sheet."""
        return f"{self.message.command.value:02X} ({self.message.size} bytes at most)"

    def request(self, unit: int) -> TextRequest:
        """The request to a module."""
        info = bytes(unit if each == "address" else each for each in self.message.info)
        longest = self.message.longest + SPARE + TAIL
        return TextRequest(unit, self.message.command, info, self.version, self.group, longest)

    def read(self, reply: object) -> ReadMessage | None:
        """How an answer fits the map; None when it is none."""
        return read_message(self.message, reply.text) if isinstance(reply, Information) else None

    def values(self, reply: object) -> dict[str, Decoded]:
        """Values of an answer; none of a refusal."""
        read = self.read(reply)
        return {} if read is None else dict(read.values)


def message_asks(known: MessageMap, every: Iterable[Every] = ("fast",)) -> tuple[MessageAsk, ...]:
    """Requests for all messages of these classes."""
    wanted = set(every)
    asks = [MessageAsk(each, known.version, known.group) for each in known.messages if each.every in wanted]
    return tuple(sorted(asks, key=lambda ask: not any(s.quantity in TOGETHER for s in ask.signals)))
