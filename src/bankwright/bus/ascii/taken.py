"""A reply in ASCII frames out of what was received: echo, noise, strangers and damage told apart.

Gives: take_text(). A pure function of the request and the characters so far: no port, no clock.
Limits: as in the Modbus room; frames are cut by their length and their end mark, not by silence.
"""

from __future__ import annotations

from bankwright.bus.ascii.others import START, Piece, asks, frame_of, piece_at
from bankwright.bus.ascii.reply import Information, TextRefusal
from bankwright.bus.ascii.request import TextRequest, text_frame
from bankwright.bus.modbus.others import Frame
from bankwright.bus.modbus.taken import Chunk, Taken

__all__ = ["take_text"]

ALIKE = 0.7  # of the characters of our own request, in one that came back altered


def _echo(request: TextRequest, data: bytes, expected: bool) -> tuple[int, bool]:
    """Length of our own request at the head of what came, and whether it came back altered."""
    own = text_frame(request)
    if data.startswith(own):
        return len(own), False
    if expected and len(data) >= len(own):
        alike = sum(a == b for a, b in zip(own, data, strict=False))
        if alike >= ALIKE * len(own):
            return len(own), True
    return 0, False


def _reply(request: TextRequest, piece: Piece) -> Information | TextRefusal | None:
    """What a whole piece answers to this request; None when it is somebody else's.

    A refusal may come with another group: a module that does not know ours answers with its own.
    """
    if piece.unit != request.unit or asks(piece.code):
        return None
    if piece.code:
        return TextRefusal(piece.code)
    return Information(piece.info, piece.version) if piece.group == request.group else None


def take_text(request: TextRequest, got: Chunk, echo_expected: bool = False) -> Taken:
    """Look for the reply in all that was received since the request left; later characters may still complete it."""
    skip, altered = _echo(request, got.data, echo_expected)
    echo = skip > 0 and not altered
    strangers: list[Frame] = []
    broken: tuple[int, int] | None = None
    at = got.data.find(START, skip)
    while at >= 0:
        piece = piece_at(got.data, at)
        if piece.state == "open":
            return _taken(got, skip, (at, len(got.data)), strangers, Taken(None, echo, altered, cut=broken is None,
                                                                          broken=broken is not None))  # fmt: skip
        clean = piece.state == "whole" and not any(got.marks[at : piece.end])
        reply = _reply(request, piece) if clean else None
        if reply is not None:
            later = _whole(got.data, piece.end)
            return _taken(got, skip, (at, piece.end), [*strangers, *later], Taken(reply, echo, altered))
        if clean:
            strangers.append(frame_of(piece, at))
        else:
            broken = broken or (at, piece.end)
        at = got.data.find(START, piece.end)
    return _taken(got, skip, broken or (len(got.data),) * 2, strangers, Taken(None, echo, altered,
                                                                             broken=broken is not None))  # fmt: skip


def _whole(data: bytes, start: int) -> list[Frame]:
    found, at = [], data.find(START, start)
    while at >= 0:
        piece = piece_at(data, at)
        if piece.state == "whole":
            found.append(frame_of(piece, at))
        at = data.find(START, max(piece.end, at + 1))
    return found


def _taken(got: Chunk, skip: int, span: tuple[int, int], strangers: list[Frame], head: Taken) -> Taken:
    start, end = span
    before, after = got.data[skip:start], got.data[end:]
    return Taken(head.reply, head.echo, head.echo_differs, start, end, head.broken, head.cut, tuple(strangers),
                 before, after)  # fmt: skip
