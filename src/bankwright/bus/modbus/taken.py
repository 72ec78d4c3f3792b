"""A reply out of what was received: echo, noise before and after, strangers and damage told apart.

Gives: Chunk, Taken, take(). A pure function of the request and the bytes so far: no port, no clock.
Limits: frames are cut by their expected length, not by silence: adapters hold bytes back and break silences.
Sources: practice of two-wire adapters that hear themselves: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

from bankwright.bus.modbus.crc import holds
from bankwright.bus.modbus.others import Frame, frames_in
from bankwright.bus.modbus.reply import Answer, Reply, reply_of, rtu_length
from bankwright.bus.modbus.request import Request, rtu_frame

__all__ = ["FRAMING", "PARITY", "Chunk", "Taken", "take"]


PARITY, FRAMING = 1, 2  # marks on a character: parity wrong, stop bit missing


@dataclass(frozen=True, slots=True)
class Chunk:
    """Characters received, each with its marks (0: none)."""

    data: bytes = b""
    marks: bytes = b""

    def __add__(self, other: Chunk) -> Chunk:
        """One behind the other."""
        return Chunk(self.data + other.data, self.marks + other.marks)

    def marked(self, mark: int, start: int = 0, end: int | None = None) -> int:
        """Characters that carry this mark."""
        return sum(bool(each & mark) for each in self.marks[start:end])


@dataclass(frozen=True, slots=True)
class Taken:
    """What stands in the bytes received after a request."""

    reply: Answer | None = None
    echo: bool = False  # our own request came back first
    echo_differs: bool = False  # something like it came back: another sender was on the line with us
    start: int = 0  # place of the reply, or of a broken one
    end: int = 0
    broken: bool = False  # begins as the reply does and is as long, but the check is wrong
    cut: bool = False  # begins as the reply does and stops early
    strangers: tuple[Frame, ...] = ()  # whole frames of others
    noise_before: bytes = b""
    after: bytes = b""


def _echo(request: Request, data: bytes, expected: bool) -> tuple[int, bool]:
    """Length of our own request at the head of what came, and whether it came back altered.

    An altered one is told by five right characters of its length, and only where the adapter is known to hear itself.
    """
    own = rtu_frame(request)
    if data.startswith(own):
        return len(own), False
    if expected and len(data) >= len(own):
        alike = sum(a == b for a, b in zip(own, data, strict=False))
        if alike >= 5:
            return len(own), True
    return 0, False


def _reply_at(request: Request, got: Chunk, at: int) -> tuple[int | None, Reply | None]:
    """Length (None: more is needed, 0: none begins here) and the reply, if its check and its characters hold."""
    length = rtu_length(request, got.data[at:])
    if not length:
        return length, None
    if len(got.data) < at + length:
        return None, None
    frame = got.data[at : at + length]
    if not holds(frame) or any(got.marks[at : at + length]):
        return length, None
    return length, reply_of(request, frame[1:-2])


def take(request: Request, got: Chunk, echo_expected: bool = False) -> Taken:
    """Look for the reply in all that was received since the request left; later bytes may still complete it."""
    skip, altered = _echo(request, got.data, echo_expected)
    echo = skip > 0 and not altered
    broken: tuple[int, int] | None = None
    begun: int | None = None
    for at in range(skip, len(got.data)):
        length, reply = _reply_at(request, got, at)
        if reply is not None and length:
            return _found(got, skip, at, at + length, Taken(reply, echo, altered))
        if length is None and begun is None and len(got.data) - at >= 2:
            begun = at
        elif length and broken is None:
            broken = (at, at + length)
    return _nothing(got, skip, Taken(None, echo, altered), broken, begun)


def _strangers(data: bytes, start: int) -> tuple[Frame, ...]:
    return tuple(
        Frame(f.start + start, f.end + start, f.unit, f.function, f.role, f.count) for f in frames_in(data[start:])
    )


def _found(got: Chunk, skip: int, start: int, end: int, head: Taken) -> Taken:
    before = got.data[skip:start]
    others = _strangers(got.data[:start], skip) + _strangers(got.data, end)
    return Taken(head.reply, head.echo, head.echo_differs, start, end, False, False, others, before, got.data[end:])


def _nothing(got: Chunk, skip: int, head: Taken, broken: tuple[int, int] | None, begun: int | None) -> Taken:
    others = _strangers(got.data, skip)
    start, end = broken or ((begun, len(got.data)) if begun is not None else (len(got.data), len(got.data)))
    covered = any(f.start < end and start < f.end for f in others)
    is_broken, is_cut = broken is not None and not covered, broken is None and begun is not None and not covered
    before = got.data[skip:start]
    return Taken(None, head.echo, head.echo_differs, start, end, is_broken, is_cut, others, before, got.data[end:])
