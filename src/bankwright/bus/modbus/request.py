"""What may be asked of a module: a closed enumeration of reading, and nothing else.

Gives: Function, Request, NotReading, spelled() (the only maker of bytes that leave), rtu_frame(), tcp_frame().
Limits: no function that writes, resets or switches has a name here, so none can be asked. Function 08 (diagnostics)
stays out because it can also clear counters and silence a module (from memory).
Sources: MODBUS Application Protocol Specification V1.1b3 (26 Apr 2012), 6.3, 6.4, 6.21, read; MODBUS over Serial Line
V1.02, 2.2 (addresses), read; header of TCP read as restated.
"""

from __future__ import annotations

import enum
from dataclasses import dataclass

from bankwright.bus.modbus.crc import with_crc

__all__ = ["MOST_REGISTERS", "Function", "NotReading", "Request", "rtu_frame", "spelled", "tcp_frame"]

MOST_REGISTERS = 125
FIRST_UNIT, LAST_UNIT = 1, 247
BASIC_IDENTITY = 0x01  # stream of vendor, product code, revision


class NotReading(ValueError):
    """Something that is no reading request was about to be spelled."""


@enum.unique
class Function(enum.Enum):
    """The functions that can be asked: all of them read."""

    HOLDING = "read holding registers"
    INPUT = "read input registers"
    IDENTITY = "read device identification"

    @property
    def code(self) -> int:
        """The function's byte in a reply."""
        return {Function.HOLDING: 0x03, Function.INPUT: 0x04, Function.IDENTITY: 0x2B}[self]


@dataclass(frozen=True, slots=True)
class Request:
    """One reading request; `first` counts from 0. Identification has neither registers nor a first."""

    unit: int
    function: Function
    first: int = 0
    count: int = 0

    def __post_init__(self) -> None:
        """Refuse what is outside the standard, and the broadcast address."""
        _refuse_odd(self)

    @property
    def reply_length(self) -> int | None:
        """Bytes of a whole reply on a serial line; None where only the reply itself tells."""
        return None if self.function is Function.IDENTITY else 5 + 2 * self.count

    @property
    def length(self) -> int:
        """Characters of the request on a serial line."""
        return 7 if self.function is Function.IDENTITY else 8


def _refuse_odd(request: Request) -> None:
    if type(request.function) is not Function:
        raise NotReading("a request names a function of the enumeration")
    if any(type(number) is not int for number in (request.unit, request.first, request.count)):
        raise NotReading("address, first register and count are whole numbers")
    if not FIRST_UNIT <= request.unit <= LAST_UNIT:
        raise NotReading(f"address {request.unit}: a module has one of {FIRST_UNIT} to {LAST_UNIT}")
    if request.function is Function.IDENTITY:
        if request.first or request.count:
            raise NotReading("identification has no registers")
    elif not 1 <= request.count <= MOST_REGISTERS:
        raise NotReading(f"{request.count} registers: one request reads 1 to {MOST_REGISTERS}")
    elif not 0 <= request.first <= 0xFFFF - request.count + 1:
        raise NotReading(f"register {request.first}: they count from 0 to 65535")


def spelled(request: Request) -> bytes:
    """Function and data of a request: the only place where bytes for a module are made."""
    if type(request) is not Request:
        raise NotReading("only a Request can be spelled")
    _refuse_odd(request)
    span = request.first.to_bytes(2, "big") + request.count.to_bytes(2, "big")
    if request.function is Function.HOLDING:
        return b"\x03" + span
    if request.function is Function.INPUT:
        return b"\x04" + span
    return bytes((0x2B, 0x0E, BASIC_IDENTITY, 0))


def rtu_frame(request: Request) -> bytes:
    """The request as it stands on a serial line."""
    said = spelled(request)
    return with_crc(bytes((request.unit,)) + said)


def tcp_frame(request: Request, transaction: int) -> bytes:
    """The request as it travels in TCP; `transaction` comes back with the reply."""
    said = spelled(request)
    header = (transaction & 0xFFFF).to_bytes(2, "big") + bytes(2) + (len(said) + 1).to_bytes(2, "big")
    return header + bytes((request.unit,)) + said
