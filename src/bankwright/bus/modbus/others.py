"""Whole frames in a stream of bytes, whoever sent them: what a listener makes of a line that others use.

Gives: Frame, frames_in(), paired().
A request and a reply of the same function have different lengths, so a listener that expects only requests finds wrong
checks where there are none: every length that the function allows is tried, and replies are read after their requests.
Limits: noise passes the check once in 65536 tries; a single frame in much noise proves nothing.
Sources: MODBUS Application Protocol Specification V1.1b3, section 6, read in part (functions 01 to 06, 0F, 10 from
memory: they are named here to be recognised when others send them, never to be sent).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from bankwright.bus.modbus.crc import holds

__all__ = ["Frame", "Role", "frames_in", "paired"]

Role = Literal["request", "reply", "refusal", "either"]
READS = frozenset({0x01, 0x02, 0x03, 0x04})
ECHOED = frozenset({0x05, 0x06})  # request and reply are alike
BLOCKS = frozenset({0x0F, 0x10})


@dataclass(frozen=True, slots=True)
class Frame:
    """One whole frame: its place in the stream and what it can be."""

    start: int
    end: int
    unit: int
    function: int
    role: Role
    count: int = 0  # registers that it asks for or brings; 0 where that has no meaning
    orders: bool | None = None  # of another protocol: whether it does more than read; None: a function of Modbus

    @property
    def writes(self) -> bool:
        """True when it changes something in a module."""
        return self.function & 0x7F not in READS | {0x2B, 0x11, 0x07, 0x08} if self.orders is None else self.orders


def _lengths(data: bytes, at: int) -> Iterator[tuple[int, Role, int]]:
    """Lengths that a frame which begins here may have, with its role and count."""
    function, more = data[at + 1], data[at + 2] if len(data) > at + 2 else 0
    if function & 0x80:
        yield 5, "refusal", 0
    elif function in READS:
        count = int.from_bytes(data[at + 4 : at + 6], "big")
        if 1 <= count <= 2000:
            yield 8, "request", count
        yield 5 + more, "reply", more // 2
    elif function in ECHOED:
        yield 8, "either", 0
    elif function in BLOCKS:
        yield 8, "reply", 0
        if len(data) > at + 6:
            yield 9 + data[at + 6], "request", 0
    elif function == 0x2B:
        yield 7, "request", 0
        yield from ((length, "reply", 0) for length in range(10, min(len(data) - at, 256) + 1))


def _frame_at(data: bytes, at: int) -> Frame | None:
    if len(data) < at + 4 or not 1 <= data[at] <= 247:
        return None
    for length, role, count in _lengths(data, at):
        if 5 <= length <= len(data) - at and holds(data[at : at + length]):
            return Frame(at, at + length, data[at], data[at + 1], role, count)
    return None


def frames_in(data: bytes) -> tuple[Frame, ...]:
    """All whole frames of a stream, in their order, none overlapping."""
    found, at = [], 0
    while at < len(data) - 3:
        frame = _frame_at(data, at)
        if frame is not None:
            found.append(frame)
        at = frame.end if frame is not None else at + 1
    return tuple(found)


def paired(frames: tuple[Frame, ...]) -> tuple[tuple[Frame, Frame | None], ...]:
    """Requests with the reply that follows them, None where nobody answered."""
    pairs: list[tuple[Frame, Frame | None]] = []
    waiting: Frame | None = None
    for frame in frames:
        answers = waiting is not None and frame.unit == waiting.unit and frame.role != "request"
        if waiting is not None:
            fits = frame.orders is not None or frame.function & 0x7F == waiting.function
            pairs.append((waiting, frame if answers and fits else None))
            waiting = None
            if answers:
                continue
        if frame.role in ("request", "either"):
            waiting = frame
    return tuple(pairs) if waiting is None else (*pairs, (waiting, None))
