"""Values out of registers, each with its quality: what is missing stays missing.

Gives: decoded(), raw_of(), Decoded, and the qualities GOOD, OUTSIDE, NOT_AVAILABLE, MISSING.
Limits: a value outside its stated range is kept and marked; judging it is the survey's and the watcher's matter.
Sources: MODBUS Application Protocol Specification V1.1b3, 4.2 (high byte first), read; IEEE 754 single precision.
"""

from __future__ import annotations

import math
import struct
from collections.abc import Mapping
from dataclasses import dataclass

from bankwright.bus.map.registers import Coding, Signal
from bankwright.forms.readings import GOOD, MISSING, NOT_AVAILABLE, OUTSIDE

__all__ = ["GOOD", "MISSING", "NOT_AVAILABLE", "OUTSIDE", "Decoded", "decoded", "raw_of"]


@dataclass(frozen=True, slots=True)
class Decoded:
    """One value: number in SI (NaN where there is none), text, names of set bits, quality."""

    value: float = math.nan
    text: str = ""
    flags: tuple[str, ...] = ()
    quality: int = MISSING


def _ordered(words: list[int], coding: Coding) -> bytes:
    """Bytes of the registers, highest first."""
    if coding.low_word_first and coding.type != "text":
        words = words[::-1]
    order = "little" if coding.low_byte_first else "big"
    return b"".join(word.to_bytes(2, order) for word in words)  # type: ignore[arg-type]


def raw_of(words: list[int], coding: Coding) -> int:
    """The registers as one number without sign, a field inside them cut out."""
    raw = int.from_bytes(_ordered(words, coding), "big") >> coding.field_shift
    return raw if coding.field_width is None else raw & (1 << coding.field_width) - 1


def _number(words: list[int], coding: Coding) -> float:
    if coding.type == "f32":
        return float(struct.unpack(">f", _ordered(words, coding))[0])
    raw = raw_of(words, coding)
    size = coding.field_width or 16 * len(words)
    if coding.type in ("i16", "i32") and raw >> size - 1:
        raw -= 1 << size
    return float(raw)


def _text(words: list[int], coding: Coding) -> str:
    said = _ordered(words, coding).split(b"\0", 1)[0]
    return "".join(chr(byte) if 32 <= byte < 127 else "?" for byte in said if byte != 0xFF).strip()


def decoded(signal: Signal, registers: Mapping[int, int]) -> Decoded:
    """Decode one signal out of the registers of its table, address -> value; MISSING when one of them is not there."""
    words = [registers.get(address, -1) for address in range(signal.address, signal.end)]
    if -1 in words:
        return Decoded()
    coding = signal.coding
    if signal.is_text:
        text = _text(words, coding)
        return Decoded(text=text, quality=GOOD if text else NOT_AVAILABLE)
    raw = raw_of(words, coding)
    if raw in coding.not_available:
        return Decoded(quality=NOT_AVAILABLE)
    if coding.bits:
        flags = tuple(name for bit, name in sorted(coding.bits.items()) if raw >> bit & 1)
        return Decoded(float(raw), "", flags, GOOD)
    value = (_number(words, coding) * coding.scale + coding.offset) * coding.factor + coding.unit_offset + 0.0
    if not math.isfinite(value):
        return Decoded(quality=NOT_AVAILABLE)
    outside = (signal.low is not None and value < signal.low) or (signal.high is not None and value > signal.high)
    return Decoded(value, quality=OUTSIDE if outside else GOOD)
