"""What stands behind a connection: a gateway of Modbus, or a serial server that carries characters.

Gives: cut(), answered(). Limits: no wire time; who is absent is told by refusal 0B (Modbus), or by silence (text).
"""

from __future__ import annotations

from collections.abc import Mapping

from bankwright.bus.ascii.others import END, START, piece_at
from bankwright.bus.pretend.module import Answering

__all__ = ["answered", "cut"]

ABSENT = 0x0B
HEADER = 8  # bytes of a message of Modbus up to its function


def cut(got: bytes) -> tuple[list[bytes], bytes]:
    """Whole messages, and what is left."""
    found: list[bytes] = []
    while got:
        if got[0] == START:
            end = got.find(END) + 1
        else:
            end = 6 + int.from_bytes(got[4:6], "big") if len(got) >= HEADER else 0
        if not end or len(got) < end:
            break
        found.append(got[:end])
        got = got[end:]
    return found, got


def answered(modules: Mapping[int, Answering], frame: bytes, now: float) -> bytes:
    """What comes back for one message; `modules`: those that are there."""
    if frame[:1] == b"~":
        module = modules.get(piece_at(frame, 0).unit)
        return b"" if module is None else module.over_tcp(frame, now)
    module = modules.get(frame[6])
    if module is None:
        return frame[:4] + (3).to_bytes(2, "big") + bytes((frame[6], frame[7] | 0x80, ABSENT))
    return module.over_tcp(frame, now)
