"""What can be asked, and how it is spelled on each wire: the two closed lists of reading requests, and no others.

Gives: AnyRequest, Refusing, is_refusal(), serial_frame(), tcp_bytes(), taken_of().
Limits: ASCII frames travel over TCP as they are (a serial server carries characters); Modbus has its own header there.
"""

from __future__ import annotations

from typing import TypeGuard

from bankwright.bus.ascii.reply import TextRefusal
from bankwright.bus.ascii.request import TextRequest, text_frame
from bankwright.bus.ascii.taken import take_text
from bankwright.bus.modbus.reply import Refusal
from bankwright.bus.modbus.request import Request, rtu_frame, tcp_frame
from bankwright.bus.modbus.taken import Chunk, Taken, take
from bankwright.bus.modbus.tcp import take_tcp

__all__ = ["AnyRequest", "Refusing", "is_refusal", "serial_frame", "taken_of", "taken_over_tcp", "tcp_bytes"]

AnyRequest = Request | TextRequest
Refusing = Refusal | TextRefusal


def is_refusal(reply: object) -> TypeGuard[Refusing]:
    """True for a whole answer that says no."""
    return isinstance(reply, (Refusal, TextRefusal))


def serial_frame(request: AnyRequest) -> bytes:
    """The request as it stands on a serial line."""
    return text_frame(request) if isinstance(request, TextRequest) else rtu_frame(request)


def tcp_bytes(request: AnyRequest, transaction: int) -> bytes:
    """The request as it travels in TCP."""
    return text_frame(request) if isinstance(request, TextRequest) else tcp_frame(request, transaction)


def taken_of(request: AnyRequest, got: Chunk, echo_expected: bool) -> Taken:
    """What stands in the characters of a serial line."""
    if isinstance(request, TextRequest):
        return take_text(request, got, echo_expected)
    return take(request, got, echo_expected)


def taken_over_tcp(request: AnyRequest, transaction: int, got: Chunk) -> Taken:
    """What stands in the bytes of a connection."""
    if isinstance(request, TextRequest):
        return take_text(request, got)
    return take_tcp(request, transaction, got.data)
