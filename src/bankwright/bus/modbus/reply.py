"""What a module answers: registers, its identification, or a refusal with its code.

Gives: Answer (what a reply of any language is), Registers, Identity, Refusal, Reply, REFUSALS,
reply_of() (a reply without address and check), rtu_length().
Limits: no values yet; what registers mean is in map/.
Sources: MODBUS Application Protocol Specification V1.1b3, 6.3, 6.4, 6.21 and section 7, read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from bankwright.bus.modbus.request import Function, Request

__all__ = ["REFUSALS", "Answer", "Identity", "Refusal", "Registers", "Reply", "reply_of", "rtu_length"]

REFUSALS: Mapping[int, str] = MappingProxyType(
    {
        1: "function not known",
        2: "no such register",
        3: "value not allowed",
        4: "the module failed",
        5: "accepted, still working",
        6: "busy",
        8: "memory check failed",
        10: "gateway: no path",
        11: "gateway: nobody answered behind it",
    }
)


NOBODY_THERE = frozenset({10, 11})  # only behind a gateway from TCP to a serial line


class Answer:
    """Whatever a whole reply says, in any language."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class Registers(Answer):
    """Registers as read, each 0 to 65535."""

    values: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Identity(Answer):
    """What a device says of itself: object number -> text."""

    texts: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class Refusal(Answer):
    """The module understood the request and refuses: wire, speed and address are right."""

    code: int

    @property
    def words(self) -> str:
        """The code in words."""
        return REFUSALS.get(self.code, f"code {self.code}, not in the standard")

    @property
    def is_absence(self) -> bool:
        """True when a gateway says that nobody is there: what silence is on a serial line."""
        return self.code in NOBODY_THERE


Reply = Registers | Identity | Refusal


def reply_of(request: Request, said: bytes) -> Reply | None:
    """Read function and data of a reply; None when it is none to this request."""
    if len(said) == 2 and said[0] == request.function.code | 0x80:
        return Refusal(said[1])
    if not said or said[0] != request.function.code:
        return None
    if request.function is Function.IDENTITY:
        return _identity(said)
    if len(said) != 2 + 2 * request.count or said[1] != 2 * request.count:
        return None
    words = zip(said[2::2], said[3::2], strict=True)
    return Registers(tuple(high << 8 | low for high, low in words))


def _objects(said: bytes, complete: bool) -> tuple[tuple[int, str], ...] | None:
    """Objects of an identification; None when the lengths do not add up."""
    place, found = 7, []
    for _ in range(said[6]):
        if place + 2 > len(said) or place + 2 + said[place + 1] > len(said):
            return None
        text = said[place + 2 : place + 2 + said[place + 1]]
        found.append((said[place], text.decode("ascii", "replace").strip("\0 ")))
        place += 2 + said[place + 1]
    return tuple(found) if place == len(said) or not complete else None


def _identity(said: bytes) -> Identity | None:
    if len(said) < 7 or said[1] != 0x0E:
        return None
    objects = _objects(said, complete=True)
    return None if objects is None else Identity(objects)


def rtu_length(request: Request, begun: bytes) -> int | None:
    """Whole length on a serial line of a reply that begins like this; None: more is needed, 0: it is no reply."""
    if len(begun) < 2:
        return None
    if begun[0] != request.unit or begun[1] & 0x7F != request.function.code:
        return 0
    if begun[1] & 0x80:
        return 5
    if request.function is not Function.IDENTITY:
        return None if len(begun) < 3 else (5 + begun[2] if begun[2] == 2 * request.count else 0)
    return _identity_length(begun)


def _identity_length(begun: bytes) -> int | None:
    if len(begun) > 2 and begun[2] != 0x0E:
        return 0
    place, left = 8, begun[7] if len(begun) > 7 else None
    while left:
        if len(begun) < place + 2:
            return None
        place, left = place + 2 + begun[place + 1], left - 1
    return None if left is None else place + 2
