"""Information of a pretend module's message out of values: the inverse of messages/decode.

Gives: information_of(). Serves the pretend rack alone.
Limits: every list is as long as the map keeps it; bytes that the map does not read are 0.
"""

from __future__ import annotations

import struct

from bankwright.bus.messages.fields import Form, MapMessage, MessageSignal, Part
from bankwright.bus.messages.layout import Spot, Walk
from bankwright.bus.pretend.registers import State, value_of

__all__ = ["information_of"]

BLANK = b"  "


class _Filled:
    """Counts as the map keeps them, written where they belong."""

    def __init__(self) -> None:
        self.counts: dict[int, bytes] = {}

    def before(self, part: Part, at: int) -> int:
        """Write the count there."""
        self.counts[at] = part.most.to_bytes(part.count_size, "big")
        return part.most

    def named(self, part: Part) -> int:
        """As many as are kept."""
        return part.most


def _raw(value: float, form: Form) -> int:
    """The number in the bytes, as near as its steps allow; too large ones stop at the end of the range."""
    raw = round(((value - form.unit_offset) / form.factor - form.offset) / form.scale + form.zero)
    size = form.field_width or 8 * form.size
    if form.type == "sign bit":
        most = (1 << size - 1) - 1
        return min(abs(raw), most) | (1 << size - 1 if raw < 0 else 0)
    low, high = (-(1 << size - 1), (1 << size - 1) - 1) if form.type == "signed" else (0, (1 << size) - 1)
    return min(max(raw, low), high) % (1 << size)


def _bytes(form: Form, value: float | str) -> bytes:
    if form.type == "text" or isinstance(value, str):
        return str(value).encode("ascii", "replace")[: form.size].ljust(form.size, b"\0")
    order = "<" if form.low_byte_first else ">"
    if form.type == "float":
        written = ((value - form.unit_offset) / form.factor - form.offset) / form.scale + form.zero
        return struct.pack(f"{order}f", written)
    raw = _raw(value, form) << form.field_shift
    return raw.to_bytes(form.size, "little" if form.low_byte_first else "big")


def _parts(parts: tuple[Part, ...]) -> list[Part]:
    return [each for part in parts for each in (part, *(p for record in part.each for p in _parts(record)))]


def information_of(message: MapMessage, state: State, *, sentinel: bool = False) -> bytes:
    """Two characters a byte, blanks where the module has no value and the map names none for that."""
    filled = _Filled()
    said = {str(part.count): float(part.most) for part in _parts(message.parts) if isinstance(part.count, str)}
    own = {**state, **said}
    cells = max(sum(signal.quantity == "cell_voltage" for signal in message.signals), 1)
    spots = list(Walk(filled, message.size).spots(message.parts))
    data, blank = bytearray(message.size), bytearray(message.size)
    for at, count in filled.counts.items():
        data[at : at + len(count)] = count
    for spot in spots:
        if spot.signal is not None:
            _put(data, blank, spot, (spot.signal, own, cells), sentinel=sentinel and spot.signal.name not in said)
    return b"".join(BLANK if empty else f"{byte:02X}".encode("ascii") for byte, empty in zip(data, blank, strict=True))


def _put(
    data: bytearray, blank: bytearray, spot: Spot, told: tuple[MessageSignal, State, int], *, sentinel: bool
) -> None:
    signal, state, cells = told
    if sentinel and not signal.form.not_available:
        blank[spot.at : spot.end] = b"\1" * spot.part.size
        return
    if sentinel:
        raw = signal.form.not_available[0] << signal.form.field_shift
        said = raw.to_bytes(signal.form.size, "little" if signal.form.low_byte_first else "big")
    else:
        said = _bytes(signal.form, value_of(signal, state, cells))
    for place, byte in enumerate(said):
        data[spot.at + place] |= byte
