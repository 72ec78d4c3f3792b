"""Values out of the registers of one model: scale factors, marks for "not implemented", what repeats.

Gives: ReadModel (value(), count), read_model().
Limits: a scale factor that is not implemented, or outside -10 to 10, makes its points unusable; registers beyond the
length that the device says are not the model's.
Sources: marks for "not implemented": pysunspec2 1.3.7, read; range of the scale factor: from memory.
"""

from __future__ import annotations

import math
import struct
from collections.abc import Mapping
from dataclasses import dataclass, field

from bankwright.bus.map.decode import Decoded
from bankwright.bus.sunspec.definitions import HEADER, Model, Point
from bankwright.forms.readings import GOOD, NOT_AVAILABLE

__all__ = ["ReadModel", "raw_of", "read_model"]

SCALES = range(-10, 11)
SIGNED = frozenset({"int16", "int32", "int64", "sunssf"})
SUMS = frozenset({"acc16", "acc32", "acc64"})
FLOATS = {"float32": ">f", "float64": ">d"}


@dataclass(frozen=True, slots=True)
class ReadModel:
    """A model with what was read of it: offset from its number -> register."""

    model: Model
    length: int
    words: Mapping[int, int] = field(default_factory=dict)

    @property
    def fits(self) -> int:
        """How many of what repeats the length allows."""
        repeat = self.model.repeat
        return 0 if repeat is None else max(self.length + HEADER - self.model.size, 0) // repeat.size

    @property
    def told(self) -> int | None:
        """How many the device says there are; None where it does not."""
        repeat = self.model.repeat
        if repeat is None or not repeat.count:
            return None
        said = self.value(repeat.count)
        return int(said.value) if said.quality == GOOD else None

    @property
    def count(self) -> int:
        """How many there are to be read."""
        return self.fits if self.told is None else min(self.told, self.fits)

    def value(self, name: str, element: int | None = None) -> Decoded:
        """A point of the fixed part, or of an element, counted from 0; scaled, in the definition's own unit."""
        point = self.model.point(name, repeated=element is not None)
        start = 0 if element is None else self._start(element)
        words = [self.words.get(start + point.at + k, -1) for k in range(point.size)]
        if -1 in words or start + point.at + point.size > self.length + HEADER:
            return Decoded()
        return _decoded(point, words, self._scale(point))

    def _start(self, element: int) -> int:
        assert self.model.repeat is not None
        return self.model.size + element * self.model.repeat.size

    def _scale(self, point: Point) -> int | None:
        """Power of ten; None where there is none that can be used."""
        if not point.scale:
            return 0
        if point.scale.lstrip("-").isdigit():
            return int(point.scale)
        said = self.value(point.scale)
        return int(said.value) if said.quality == GOOD and int(said.value) in SCALES else None


def raw_of(words: list[int]) -> int:
    """The registers as one number without sign, high word first."""
    return int.from_bytes(b"".join(word.to_bytes(2, "big") for word in words), "big")


def _absent(type_: str, raw: int, bits: int) -> bool:
    """Whether the registers say that the point is not implemented."""
    if type_ in SUMS:
        return raw == 0
    return raw == 1 << bits - 1 if type_ in SIGNED else raw == (1 << bits) - 1


def _decoded(point: Point, words: list[int], scale: int | None) -> Decoded:
    raw, bits = raw_of(words), 16 * len(words)
    if point.type == "string":
        said = raw.to_bytes(2 * len(words), "big").split(b"\0", 1)[0]
        text = "".join(chr(byte) if 32 <= byte < 127 else "?" for byte in said).strip()
        return Decoded(text=text, quality=GOOD if text else NOT_AVAILABLE)
    if point.type in FLOATS:
        number = float(struct.unpack(FLOATS[point.type], raw.to_bytes(2 * len(words), "big"))[0])
        return Decoded(number, quality=GOOD) if math.isfinite(number) else Decoded(quality=NOT_AVAILABLE)
    if _absent(point.type, raw, bits) or scale is None or point.type == "pad":
        return Decoded(quality=NOT_AVAILABLE)
    if point.type.startswith("bitfield"):
        flags = tuple(name for bit, name in sorted(point.words.items()) if raw >> bit & 1)
        return Decoded(float(raw), "", flags, GOOD)
    if point.type.startswith("enum"):
        return Decoded(float(raw), point.words.get(raw, ""), (), GOOD)
    number = raw - (1 << bits) if point.type in SIGNED and raw >> bits - 1 else raw
    return Decoded(number / 10**-scale if scale < 0 else float(number * 10**scale), quality=GOOD)


def read_model(model: Model, length: int, at: int, registers: Mapping[int, int]) -> ReadModel:
    """The model that begins at a register, out of the registers of its device."""
    span = range(at, at + HEADER + length)
    return ReadModel(model, length, {place - at: registers[place] for place in span if place in registers})
