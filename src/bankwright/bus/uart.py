"""Characters as levels on a pair of wires, and what a receiver makes of them: bit by bit.

Gives: Wave, wave(), joined(), heard(). Wrong speed, wrong parity, a swapped pair and two senders at once come out as a
receiver would show them.
Limits: a receiver of 16 samples a bit that looks at the middle; senders are exact to the sample. Two senders at once:
the level 0 wins (one of several ways in which real drivers fight).
Sources: MODBUS over Serial Line V1.02, 2.5.1 (characters), read; sampling by 16: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from bankwright.bus.modbus.taken import FRAMING, PARITY, Chunk
from bankwright.bus.timing import Framing

__all__ = ["Wave", "heard", "joined", "wave"]

SAMPLES = 16  # a bit of the receiver


@dataclass(frozen=True, slots=True)
class Wave:
    """Levels on the line, 1 at rest, from a moment on, at so many samples a second."""

    start: float
    levels: np.ndarray  # (samples,) uint8
    rate: float

    @property
    def end(self) -> float:
        """The moment of the last level. [s]"""
        return self.start + len(self.levels) / self.rate


def _bits(byte: int, framing: Framing) -> list[int]:
    data = [byte >> place & 1 for place in range(8)]
    odd = sum(data) % 2
    parity = [] if framing.parity == "none" else [odd if framing.parity == "even" else 1 - odd]
    return [0, *data, *parity, *[1] * framing.stop_bits]


def wave(data: bytes, framing: Framing, start: float, receiver: Framing, inverted: bool = False) -> Wave:
    """Levels of these bytes, in samples of the receiver's clock."""
    rate = SAMPLES * receiver.baud
    bits = np.array([bit for byte in data for bit in _bits(byte, framing)], dtype=np.uint8)
    edges = np.round(np.arange(len(bits) + 1) * rate / framing.baud).astype(int)
    levels = np.repeat(bits, np.diff(edges))
    return Wave(start, 1 - levels if inverted else levels, rate)


def joined(waves: Iterable[Wave]) -> Wave:
    """Several senders on one pair: where one pulls to 0, the line is 0."""
    listed = list(waves)
    start, rate = min(each.start for each in listed), listed[0].rate
    levels = np.ones(max(round((each.end - start) * rate) for each in listed) + 1, dtype=np.uint8)
    for each in listed:
        at = round((each.start - start) * rate)
        levels[at : at + len(each.levels)] &= each.levels
    return Wave(start, levels, rate)


def heard(line: Wave, receiver: Framing) -> Chunk:
    """What a receiver of this framing makes of the levels; the line rests before and after."""
    rest = np.ones(12 * SAMPLES, dtype=np.uint8)
    levels = np.concatenate((rest[:1], line.levels, rest))
    data, marks, at = bytearray(), bytearray(), _start(levels, 0)
    while 0 <= at <= len(line.levels):
        byte, mark, at = _character(levels, at, receiver)
        data.append(byte)
        marks.append(mark)
        at = _start(levels, at)
    return Chunk(bytes(data), bytes(marks))


def _start(levels: np.ndarray, at: int) -> int:
    """The next start bit: the line falls, and is still low half a bit later; -1 when none comes."""
    while at < len(levels):
        falls = np.flatnonzero((levels[at:-1] == 1) & (levels[at + 1 :] == 0))
        if not len(falls):
            return -1
        at += int(falls[0]) + 1
        if at + SAMPLES // 2 < len(levels) and levels[at + SAMPLES // 2] == 0:
            return at
    return -1


def _character(levels: np.ndarray, start: int, receiver: Framing) -> tuple[int, int, int]:
    """Byte, marks, and where to look for the next start."""
    count = 10 + (receiver.parity != "none")
    middles = start + SAMPLES // 2 + SAMPLES * np.arange(count)
    bits = [int(levels[place]) if place < len(levels) else 1 for place in middles]
    byte = sum(bit << place for place, bit in enumerate(bits[1:9]))
    mark = 0
    if receiver.parity != "none":
        even = (sum(bits[1:9]) + bits[9]) % 2 == 0
        mark |= PARITY if even != (receiver.parity == "even") else 0
    if not bits[-1]:
        mark |= FRAMING
    return byte, mark, int(middles[-1])
