"""Characters with a wrong parity or a missing stop bit, as a terminal driver passes them on.

Gives: Unmarker, mark_errors(). Ordinary drivers hide such characters; with PARMRK a bad one arrives as FF 00 xx and a
good FF as FF FF.
Limits: the driver does not tell parity from stop bit: a marked character counts as both. A pseudo-terminal has no
errors to mark. Source: termios(3), from memory.
"""

from __future__ import annotations

import termios

from bankwright.bus.modbus.taken import FRAMING, PARITY, Chunk

__all__ = ["Unmarker", "mark_errors"]

BAD = PARITY | FRAMING


def mark_errors(descriptor: int) -> bool:
    """Ask the driver to mark bad characters; True when it has read back that it does."""
    settings = termios.tcgetattr(descriptor)
    settings[0] = (settings[0] | termios.INPCK | termios.PARMRK) & ~(termios.IGNPAR | termios.ISTRIP)
    termios.tcsetattr(descriptor, termios.TCSANOW, settings)
    wanted = termios.INPCK | termios.PARMRK
    return bool(termios.tcgetattr(descriptor)[0] & wanted == wanted)


class Unmarker:
    """Takes a marked stream apart, also where a mark is torn over two reads."""

    def __init__(self) -> None:
        """Begin outside any mark."""
        self._open = b""

    def take(self, raw: bytes) -> Chunk:
        """Characters and their marks; an unfinished mark waits for the next read."""
        raw, data, marks, at = self._open + raw, bytearray(), bytearray(), 0
        while at < len(raw):
            length = 1
            if raw[at] == 0xFF:
                length = 3 if raw[at + 1 : at + 2] == b"\0" else 2
                if at + length > len(raw):
                    break
            data.append(raw[at + length - 1])
            marks.append(BAD if length == 3 else 0)
            at += length
        self._open = raw[at:]
        return Chunk(bytes(data), bytes(marks))
