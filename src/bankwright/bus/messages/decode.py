"""Values out of the information of a message, each with its quality: what is missing stays missing.

Gives: read_message(), ReadMessage. Blanks instead of characters stand for "no value" (YD/T 1363, from memory).
Limits: a value outside its stated range is kept and marked; a list longer than the map keeps is read to its end, and
the rest is left out and told.
Sources: IEEE 754 single precision.
"""

from __future__ import annotations

import math
import struct
from collections.abc import Mapping
from dataclasses import dataclass

from bankwright.bus.map.decode import Decoded
from bankwright.bus.messages.fields import Form, MapMessage, MessageSignal, Part
from bankwright.bus.messages.layout import Walk
from bankwright.forms.readings import GOOD, NOT_AVAILABLE, OUTSIDE

__all__ = ["ReadMessage", "number_of", "raw_of", "read_message"]


@dataclass(frozen=True, slots=True)
class ReadMessage:
    """What stood in a message, and how it fits the map."""

    values: Mapping[str, Decoded]
    used: int  # bytes that the map reads
    size: int  # bytes that came
    short: bool  # the map goes on beyond the end
    over: Mapping[str, int]  # lists that count more than the map keeps

    @property
    def fits(self) -> bool:
        """True when the map reads the message to its end and no further."""
        return not self.short and self.used == self.size and not self.over


class _Said:
    """Counts as the message itself says them."""

    def __init__(self, text: bytes) -> None:
        self._text = text
        self.known: dict[str, int] = {}

    def bytes_at(self, at: int, size: int) -> bytes | None:
        """The bytes there; None where they are blank."""
        said = self._text[2 * at : 2 * (at + size)]
        return None if b" " in said else bytes.fromhex(said.decode("ascii"))

    def before(self, part: Part, at: int) -> int:
        """The count that stands there, high byte first."""
        return int.from_bytes(self.bytes_at(at, part.count_size) or b"", "big")

    def named(self, part: Part) -> int:
        """The count that an earlier field said."""
        return self.known.get(str(part.count), 0)


def raw_of(data: bytes, form: Form) -> int:
    """The bytes as one number without sign, a field inside them cut out."""
    raw = int.from_bytes(data, "little" if form.low_byte_first else "big") >> form.field_shift
    return raw if form.field_width is None else raw & (1 << form.field_width) - 1


def number_of(data: bytes, form: Form) -> float:
    """The number that the bytes stand for, before scale and unit."""
    if form.type == "float":
        return float(struct.unpack("<f" if form.low_byte_first else ">f", data)[0])
    raw = raw_of(data, form)
    size = form.field_width or 8 * len(data)
    if form.type == "signed" and raw >> size - 1:
        raw -= 1 << size
    if form.type == "sign bit" and raw >> size - 1:
        raw = -(raw - (1 << size - 1))
    return float(raw)


def _text(data: bytes) -> str:
    said = data.split(b"\0", 1)[0]
    return "".join(chr(byte) if 32 <= byte < 127 else "?" for byte in said if byte != 0xFF).strip()


def _decoded(signal: MessageSignal, data: bytes | None) -> Decoded:
    form = signal.form
    if data is None:
        return Decoded(quality=NOT_AVAILABLE)
    if signal.is_text:
        text = _text(data)
        return Decoded(text=text, quality=GOOD if text else NOT_AVAILABLE)
    raw = raw_of(data, form)
    if raw in form.not_available:
        return Decoded(quality=NOT_AVAILABLE)
    if form.bits or form.words:
        return Decoded(float(raw), "", _flags(raw, form), GOOD)
    value = ((number_of(data, form) - form.zero) * form.scale + form.offset) * form.factor + form.unit_offset + 0.0
    if not math.isfinite(value):
        return Decoded(quality=NOT_AVAILABLE)
    outside = (signal.low is not None and value < signal.low) or (signal.high is not None and value > signal.high)
    return Decoded(value, quality=OUTSIDE if outside else GOOD)


def _flags(raw: int, form: Form) -> tuple[str, ...]:
    if form.bits:
        return tuple(name for bit, name in sorted(form.bits.items()) if raw >> bit & 1)
    word = form.words.get(raw, f"code {raw:02X}" if raw else "")
    return (word,) if word else ()


def read_message(message: MapMessage, text: bytes) -> ReadMessage:
    """Read the information of an answer, two characters a byte."""
    said, size = _Said(text), len(text) // 2
    walk = Walk(said, size)
    values = {signal.name: Decoded() for signal in message.signals}
    for spot in walk.spots(message.parts):
        data = said.bytes_at(spot.at, spot.part.size)
        if spot.part.count == 1 and spot.part.signals:  # one that may say how many follow, also in a record not kept
            said.known[spot.part.name] = 0 if data is None else raw_of(data, spot.part.signals[0].form)
        if spot.signal is not None:
            values[spot.signal.name] = _decoded(spot.signal, data)
    return ReadMessage(values, walk.reached, size, walk.short, walk.over)
