"""Replies of Modbus over TCP: whole messages by their header, matched by transaction number.

Gives: take_tcp(). A pure function of the request, its transaction number and the bytes so far.
Limits: behind a gateway the serial line keeps its own troubles: refusals 10 and 11 are the gateway's words for them.
Sources: MODBUS Messaging on TCP/IP Implementation Guide V1.0b, header, read as restated; V1.1b3, 4.1 (lengths), read.
"""

from __future__ import annotations

from bankwright.bus.modbus.others import Frame
from bankwright.bus.modbus.reply import reply_of
from bankwright.bus.modbus.request import Request
from bankwright.bus.modbus.taken import Taken

__all__ = ["HEADER", "MOST", "take_tcp"]

HEADER, MOST = 7, 254  # bytes of the header; most that its length may say: unit and 253 of function and data


def take_tcp(request: Request, transaction: int, data: bytes) -> Taken:
    """Look for the reply to this transaction; messages of other transactions are strangers (late answers)."""
    at = 0
    strangers: list[Frame] = []
    while at + HEADER <= len(data):
        number, protocol = int.from_bytes(data[at : at + 2], "big"), data[at + 2 : at + 4]
        length = int.from_bytes(data[at + 4 : at + 6], "big")
        if protocol != b"\0\0" or not 2 <= length <= MOST:
            return Taken(broken=True, start=at, end=len(data), strangers=tuple(strangers), noise_before=data[at:])
        end = at + 6 + length
        if end > len(data):
            return Taken(cut=True, start=at, end=len(data), strangers=tuple(strangers))
        unit, said = data[at + 6], data[at + HEADER : end]
        if number == transaction & 0xFFFF:
            reply = reply_of(request, said) if unit == request.unit else None
            return Taken(reply, start=at, end=end, broken=reply is None, strangers=tuple(strangers), after=data[end:])
        strangers.append(Frame(at, end, unit, said[0], "refusal" if said[0] & 0x80 else "reply"))
        at = end
    return Taken(start=at, end=len(data), strangers=tuple(strangers), cut=at < len(data))
