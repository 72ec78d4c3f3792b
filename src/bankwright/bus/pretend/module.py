"""One pretend module: what it answers to a frame, and when.

Gives: PretendModule, Answering (what the line needs of a module, whatever it speaks).
It answers to 03, 04 and 43/14 and refuses everything else, as a module does that only tells.
Limits: frames only; time on the line is in pretend/line.py.
Sources: MODBUS Application Protocol Specification V1.1b3, 6.3, 6.4, 6.21, 7, read.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

from bankwright.bus.map.registers import RegisterMap
from bankwright.bus.modbus.crc import holds, with_crc
from bankwright.bus.pretend.registers import State, registers_of, sentinels_of
from bankwright.bus.timing import Framing

__all__ = ["Answering", "PretendModule"]

READS = {3: "holding", 4: "input"}


class Answering(Protocol):
    """Somebody with an address on the line."""

    name: str
    unit: int
    framing: Framing
    swapped: bool
    delay: float
    written: list[bytes]

    def reply(self, frame: bytes, now: float) -> bytes | None:
        """The whole reply to a frame on the line; None when it is not for this one or damaged."""

    def over_tcp(self, frame: bytes, now: float) -> bytes:
        """The whole reply to a message of a connection; empty: silence."""

    def asked_by_another(self) -> bytes:
        """How a second master asks it."""


@dataclass
class PretendModule:
    """A module at an address."""

    name: str
    unit: int
    register_map: RegisterMap
    state: Callable[[float], State]
    framing: Framing
    swapped: bool = False
    refuses: bool = False
    sentinel: bool = False
    shifted: bool = False
    frozen_at: float | None = None
    serial: str = ""
    delay: float = 0.0  # beyond the silence, s
    written: list[bytes] = field(default_factory=list)  # frames that would have changed something: none, ever

    def reply(self, frame: bytes, now: float) -> bytes | None:
        """The whole reply to a frame on the line; None when it is not for this module or damaged."""
        if not holds(frame) or frame[0] != self.unit:
            return None
        return with_crc(bytes((self.unit,)) + self.say(frame[1:-2], now))

    def over_tcp(self, frame: bytes, now: float) -> bytes:
        """A message with the header of Modbus over TCP."""
        said = self.say(frame[7:], now)
        return frame[:4] + (len(said) + 1).to_bytes(2, "big") + frame[6:7] + said

    def asked_by_another(self) -> bytes:
        """Two registers from 0."""
        return with_crc(bytes((self.unit, 3, 0, 0, 0, 2)))

    def say(self, asked: bytes, now: float) -> bytes:
        """Function and data of the reply."""
        if asked[:2] == b"\x2b\x0e":
            return self._identity()
        if asked[0] not in READS:
            self.written.append(asked)
            return bytes((asked[0] | 0x80, 1))
        if len(asked) != 5:
            return bytes((asked[0] | 0x80, 3))
        return self._registers(asked, now)

    def _registers(self, asked: bytes, now: float) -> bytes:
        first, count = int.from_bytes(asked[1:3], "big"), int.from_bytes(asked[3:5], "big")
        if not 1 <= count <= self.register_map.most:
            return bytes((asked[0] | 0x80, 3))
        known, table = self._known(now), READS[asked[0]]
        words = [known.get((table, address - self.shifted)) for address in range(first, first + count)]
        readable = self.register_map.holes_readable and any(word is not None for word in words)
        if self.refuses or (None in words and not readable):
            return bytes((asked[0] | 0x80, 2))
        return bytes((asked[0], 2 * count)) + b"".join((word or 0).to_bytes(2, "big") for word in words)

    def _known(self, now: float) -> dict[tuple[str, int], int]:
        state = dict(self.state(now if self.frozen_at is None else min(now, self.frozen_at)))
        state.setdefault("serial", self.serial or f"PRETEND-{self.name}")
        known = registers_of(self.register_map, state)
        return known | sentinels_of(self.register_map) if self.sentinel else known

    def _identity(self) -> bytes:
        if not self.register_map.identity:
            return bytes((0xAB, 1))
        texts = (b"invented", b"pretend", (self.serial or self.name).encode("ascii", "replace"))
        objects = b"".join(bytes((number, len(text))) + text for number, text in enumerate(texts))
        return bytes((0x2B, 0x0E, 1, 1, 0, 0, len(texts))) + objects
