"""The two checks of an ASCII frame: of its length, and of all its characters.

Gives: chksum(), length_text(), length_of(), hex_text(), is_hex(), MOST.
Limits: a sum does not see two characters exchanged, nor changes that cancel each other: docs/how-to/ascii-frames.md
says by how much that is weaker than the check of Modbus.
Sources: telecom power standard YD/T 1363, its frame: from memory, no text was read.
"""

from __future__ import annotations

__all__ = ["MOST", "chksum", "hex_text", "is_hex", "length_of", "length_text"]

MOST = 0xFFF  # characters of information that the length can say
_HEX = frozenset(b"0123456789ABCDEF")


def is_hex(text: bytes) -> bool:
    """True where all characters are 0 to 9 or A to F; the standard has no small letters."""
    return all(character in _HEX for character in text)


def hex_text(value: int, digits: int) -> bytes:
    """The number in so many hexadecimal characters."""
    return f"{value:0{digits}X}".encode("ascii")


def chksum(text: bytes) -> int:
    """The check of these characters: their sum modulo 65536, turned and one added."""
    return -sum(text) & 0xFFFF


def length_text(characters: int) -> bytes:
    """Four characters that say how many characters of information follow: check of the length, then the length."""
    nibbles = (characters >> 8) + (characters >> 4 & 0xF) + (characters & 0xF)
    return hex_text((-nibbles & 0xF) << 12 | characters, 4)


def length_of(text: bytes) -> int | None:
    """The length that four characters say; None where its check does not hold."""
    if len(text) != 4 or not is_hex(text):
        return None
    characters = int(text, 16) & MOST
    return characters if length_text(characters) == text else None
