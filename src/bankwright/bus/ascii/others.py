"""Whole ASCII frames in a stream of characters, whoever sent them.

Gives: Piece, piece_at(), text_frames_in(). A frame is cut by its length and must end with its mark; a mark of the
beginning inside a frame begins another one.
Limits: noise passes the checks once in about a million tries where it has the shape of a frame (length nibble and sum).
Sources: telecom power standard YD/T 1363, its frame: from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bankwright.bus.ascii.check import chksum, is_hex, length_of
from bankwright.bus.ascii.request import HEAD, TAIL, Command
from bankwright.bus.modbus.others import Frame, Role

__all__ = ["END", "START", "Piece", "asks", "piece_at", "text_frames_in"]

START, END = 0x7E, 0x0D
ASKING = range(0x40, 0x60)  # second codes that ask or order, from memory; a reply has its return code there
READING = frozenset(each.value for each in Command) | {0x4A, 0x4B, 0x4C}


@dataclass(frozen=True, slots=True)
class Piece:
    """What begins at a mark: a whole frame, a broken one, or one that is not over yet."""

    state: Literal["whole", "broken", "open"]
    end: int
    version: int = 0
    unit: int = 0
    group: int = 0
    code: int = 0
    info: bytes = b""


def asks(code: int) -> bool:
    """True for the second code of a request, false for a return code."""
    return code in ASKING


def piece_at(data: bytes, at: int) -> Piece:
    """The piece that begins at a mark, read as far as it goes."""
    stop = next((place for place in range(at + 1, len(data)) if data[place] in (START, END)), len(data))
    ended = stop < len(data) and data[stop] == END
    bound = stop + 1 if ended else stop
    body = data[at + 1 : stop]
    length = length_of(body[HEAD - 5 : HEAD - 1]) if len(body) >= HEAD - 1 else None
    whole = HEAD - 1 + length + TAIL - 1 if length is not None else None
    if stop == len(data) and _may_go_on(body, whole):
        return Piece("open", len(data))
    if length is None or not ended or len(body) != whole or not _holds(body):
        return Piece("broken", bound)
    version, unit, group, code = bytes.fromhex(body[: HEAD - 5].decode("ascii"))
    return Piece("whole", bound, version, unit, group, code, body[HEAD - 1 : 1 - TAIL])


def _may_go_on(body: bytes, whole: int | None) -> bool:
    """True where nothing so far speaks against more to come."""
    head = body[: HEAD - 1]
    if not is_hex(head) or (len(head) == HEAD - 1 and whole is None):
        return False
    return whole is None or len(body) <= whole


def _holds(body: bytes) -> bool:
    """True where every character belongs there and the sum is right; information may be blank."""
    head, info, check = body[: HEAD - 1], body[HEAD - 1 : 1 - TAIL], body[1 - TAIL :]
    shaped = is_hex(head) and is_hex(info.replace(b" ", b"")) and is_hex(check) and len(info) % 2 == 0
    return shaped and int(check, 16) == chksum(head + info)


def text_frames_in(data: bytes) -> tuple[Frame, ...]:
    """All whole frames of a stream, in their order."""
    found, at = [], data.find(START)
    while at >= 0:
        piece = piece_at(data, at)
        if piece.state == "whole":
            found.append(frame_of(piece, at))
        at = data.find(START, max(piece.end, at + 1))
    return tuple(found)


def frame_of(piece: Piece, at: int) -> Frame:
    """A whole piece as the listener's rooms want it; a request that does more than read is one that writes."""
    if asks(piece.code):
        return Frame(at, piece.end, piece.unit, piece.code, "request", 0, piece.code not in READING)
    role: Role = "refusal" if piece.code else "reply"
    return Frame(at, piece.end, piece.unit, piece.code, role, 0, False)
