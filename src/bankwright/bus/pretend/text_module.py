"""One pretend module that speaks ASCII frames: what it answers to a frame.

Gives: TextModule, Foreigner (somebody who speaks another language than the bank file says).
It answers to the reading commands of its map, and to the one that asks for the version; everything else is refused.
Sources: telecom power standard YD/T 1363: from memory.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from bankwright.bus.ascii.check import chksum, hex_text, length_text
from bankwright.bus.ascii.others import READING, START, asks, piece_at
from bankwright.bus.ascii.request import Command, TextRequest, text_frame
from bankwright.bus.messages.fields import MapMessage, MessageMap
from bankwright.bus.modbus.crc import holds, with_crc
from bankwright.bus.pretend.information import information_of
from bankwright.bus.pretend.registers import State
from bankwright.bus.timing import Framing

__all__ = ["Foreigner", "TextModule"]

UNKNOWN_COMMAND, BAD_DATA = 4, 6


def _frame(version: int, unit: int, group: int, code: int, info: bytes = b"") -> bytes:
    said = b"".join(hex_text(each, 2) for each in (version, unit, group, code)) + length_text(len(info)) + info
    return b"~" + said + hex_text(chksum(said), 4) + b"\r"


@dataclass
class TextModule:
    """A module at an address."""

    name: str
    unit: int
    message_map: MessageMap
    state: Callable[[float], State]
    framing: Framing
    swapped: bool = False
    refuses: bool = False
    sentinel: bool = False
    shifted: bool = False
    frozen_at: float | None = None
    serial: str = ""
    delay: float = 0.0
    written: list[bytes] = field(default_factory=list)

    def reply(self, frame: bytes, now: float) -> bytes | None:
        """The whole reply to a frame on the line."""
        piece = piece_at(frame, 0) if frame[:1] == bytes((START,)) else None
        if piece is None or piece.state != "whole" or piece.unit != self.unit or not asks(piece.code):
            return None
        if piece.code not in READING:
            self.written.append(frame)
        version, group = self.message_map.version, self.message_map.group
        if piece.code == Command.VERSION.value and not any(
            each.command is Command.VERSION for each in self.message_map.messages
        ):
            return _frame(version, self.unit, piece.group, 0)
        found = [m for m in self.message_map.messages if m.command.value == piece.code and piece.group == group]
        if not found:
            return _frame(version, self.unit, group, UNKNOWN_COMMAND)
        message = next((m for m in found if self._asked(m) == piece.info), None)
        if message is None or self.refuses:
            return _frame(version, self.unit, group, BAD_DATA)
        return _frame(version, self.unit, group, 0, self._said(message, now))

    def _asked(self, message: MapMessage) -> bytes:
        return "".join(f"{self.unit if each == 'address' else each:02X}" for each in message.info).encode("ascii")

    def _said(self, message: MapMessage, now: float) -> bytes:
        state = dict(self.state(now if self.frozen_at is None else min(now, self.frozen_at)))
        state.setdefault("serial", self.serial or f"PRETEND-{self.name}")
        info = information_of(message, state, sentinel=self.sentinel)
        return b"00" + info if self.shifted else info

    def over_tcp(self, frame: bytes, now: float) -> bytes:
        """Characters through a serial server; nothing where nobody answers."""
        return self.reply(frame, now) or b""

    def asked_by_another(self) -> bytes:
        """The map's first message, or its version."""
        first = self.message_map.messages[0]
        info = bytes(self.unit if each == "address" else each for each in first.info)
        return text_frame(TextRequest(self.unit, first.command, info, self.message_map.version, self.message_map.group))


@dataclass
class Foreigner:
    """Somebody at an address who speaks the other language, and says no more than that it does."""

    name: str
    unit: int
    framing: Framing
    speaks_text: bool
    swapped: bool = False
    delay: float = 0.0
    written: list[bytes] = field(default_factory=list)

    def reply(self, frame: bytes, now: float) -> bytes | None:  # noqa: ARG002
        """Its version in text; a refusal in Modbus."""
        if self.speaks_text:
            piece = piece_at(frame, 0) if frame[:1] == bytes((START,)) else None
            if piece is None or piece.state != "whole" or piece.unit != self.unit:
                return None
            code = 0 if piece.code == Command.VERSION.value else UNKNOWN_COMMAND
            return _frame(0x20, self.unit, piece.group, code)
        if not holds(frame) or frame[0] != self.unit:
            return None
        return with_crc(bytes((self.unit, frame[1] | 0x80, 2)))

    def over_tcp(self, frame: bytes, now: float) -> bytes:
        """Behind a serial server, or behind a gateway."""
        if self.speaks_text or frame[:1] == b"~":
            return self.reply(frame, now) or b""
        return frame[:4] + (3).to_bytes(2, "big") + bytes((self.unit, frame[7] | 0x80, 2))

    def asked_by_another(self) -> bytes:
        """Its version."""
        return text_frame(TextRequest(self.unit, Command.VERSION))
