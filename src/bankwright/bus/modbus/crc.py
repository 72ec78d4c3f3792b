"""The check of a Modbus frame on a serial line.

Gives: crc(), with_crc(), holds().
Sources: MODBUS over Serial Line V1.02 (20 Dec 2006), 6.2.2, read: reflected polynomial A001, start FFFF, low byte
first on the line.
"""

from __future__ import annotations

__all__ = ["crc", "holds", "with_crc"]


def _entry(byte: int) -> int:
    for _ in range(8):
        byte = (byte >> 1) ^ (0xA001 if byte & 1 else 0)
    return byte


_TABLE = tuple(_entry(byte) for byte in range(256))


def crc(frame: bytes) -> int:
    """The check of these bytes, as a number."""
    value = 0xFFFF
    for byte in frame:
        value = (value >> 8) ^ _TABLE[(value ^ byte) & 0xFF]
    return value


def with_crc(frame: bytes) -> bytes:
    """The bytes with their check behind them, low byte first."""
    return frame + crc(frame).to_bytes(2, "little")


def holds(frame: bytes) -> bool:
    """True when the last two bytes are the check of the others; a frame is at least address, function and check."""
    return len(frame) >= 4 and crc(frame) == 0
