"""The pair of wires of the pretend rack: who speaks when, what overlaps, and what the computer hears of it.

Gives: Line, Delivery, Counts. Time is told to it, so it serves a virtual clock and a real one alike. Silences before
requests are checked, and violations counted.
Limits: replies of one request are known when it ends; a module does not interrupt itself.
Sources: MODBUS over Serial Line V1.02, 2.5.1 and 2.5.1.1 (characters, silences), read.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterable
from dataclasses import dataclass, field

from bankwright.bus.modbus.taken import FRAMING, Chunk
from bankwright.bus.pretend.module import Answering
from bankwright.bus.pretend.speech import Said, replies
from bankwright.bus.pretend.troubles import Trouble
from bankwright.bus.timing import Framing
from bankwright.bus.uart import heard, joined, wave

__all__ = ["Counts", "Delivery", "Line"]

SLACK = 1e-7  # s, of rounding
BABBLE_LENGTH, BABBLE_PAUSE = 40, 0.02  # characters of a burst; s between bursts
TEXT_FRAME = b"~22014A00E00201FD35\r"  # shape of a text frame of another protocol, from memory; content invented
TEXT_PERIOD = 2.0  # s


@dataclass
class Counts:
    """What the computer did on the line."""

    requests: int = 0
    characters: int = 0
    violations: int = 0  # requests that began too early after the last character
    frames: list[bytes] = field(default_factory=list)  # the last thousand


@dataclass(frozen=True, slots=True)
class Delivery:
    """Characters that the computer's receiver has by a moment."""

    time: float
    chunk: Chunk


class Line:
    """One line with its modules in cable order, the computer at its head."""

    def __init__(
        self, framing: Framing, modules: Iterable[Answering], troubles: Iterable[Trouble] = (), seed: int = 1
    ) -> None:
        """At rest from time 0."""
        self.framing, self.modules, self.troubles = framing, tuple(modules), tuple(troubles)
        self.counts, self.rng = Counts(), random.Random(seed)
        self._said: list[Said] = []  # not delivered yet
        self._free = -1.0  # end of the last transmission
        times = [t.since + 0.05 for t in self.troubles if t.kind in ("master", "babble", "text")]
        self._background = min(times, default=math.inf)
        self._break_told = False

    def has(self, kind: str, now: float) -> Trouble | None:
        """The trouble of the whole line of this kind, if there is one now."""
        return next((t for t in self.troubles if t.kind == kind and not t.at and t.on("", now)), None)

    def request(self, frame: bytes, at: float, told: float | None = None) -> float:
        """The computer sends, from a moment on; gives the moment when the last character has left.

        `told` is the moment by the computer's own clock, where a port stands between (silences are judged by it).
        """
        self._advance(at)
        self._count(frame, at if told is None else told)
        own = Said(at, frame, self.framing, "computer")
        clash = any(each.end > at + SLACK and each.start < own.end for each in self._said)
        if clash or self.has("echo", at):
            self._said.append(own)
        if not clash and not self.has("stuck", at):
            self._said += replies(self, own, own.end)
        self._break_told &= not self.has("echo", at)
        self._free = max([self._free, own.end, *(each.end for each in self._said)])
        return own.end

    def _count(self, frame: bytes, at: float) -> None:
        self.counts.requests += 1
        self.counts.characters += len(frame)
        self.counts.frames.append(frame)
        del self.counts.frames[:-1000]
        if at < self._free + self.framing.t35 - SLACK:
            self.counts.violations += 1

    def due(self) -> float:
        """The moment of the next thing that happens by itself. [s]"""
        group = self._first_group()
        return min(self._background, max((each.end for each in group), default=math.inf))

    def next(self, until: float) -> Delivery | None:
        """Take what the receiver has first, up to a moment; None when it has nothing."""
        if self.has("stuck", until):
            return self._held_down(until)
        while (moment := self.due()) <= until:
            if self._background <= moment:
                self._advance(moment)
                continue
            group = self._first_group()
            self._said = [each for each in self._said if each not in group]
            chunk = self._heard(group)
            if chunk.data:
                return Delivery(moment, chunk)
        return None

    def _held_down(self, until: float) -> Delivery | None:
        """A line held at 0 is one character without a stop bit, then nothing."""
        self._said.clear()
        if self._break_told:
            return None
        self._break_told = True
        return Delivery(min(until, self._free), Chunk(b"\0", bytes((FRAMING,))))

    def _first_group(self) -> list[Said]:
        """What comes first, with all that overlaps it."""
        group: list[Said] = []
        for each in sorted(self._said, key=lambda said: said.start):
            if group and each.start >= max(said.end for said in group) - SLACK:
                break
            group.append(each)
        return group

    def _heard(self, group: list[Said]) -> Chunk:
        first, swapped = group[0], self.has("swapped", group[0].start) is not None
        turned = [each.inverted != (swapped and each.who != "computer") for each in group]
        if len(group) == 1 and first.framing == self.framing and not turned[0]:
            return Chunk(first.data, bytes(len(first.data)))
        waves = [wave(s.data, s.framing, s.start, self.framing, t) for s, t in zip(group, turned, strict=True)]
        return heard(joined(waves), self.framing)

    def _advance(self, until: float) -> None:
        """Let others speak up to a moment: a second master, somebody who babbles, a module of another protocol."""
        while self._background <= until:
            now = self._background
            said, wait = self._others(now)
            self._said += said
            self._free = max([self._free, *(each.end for each in said)])
            self._background = now + max(wait, 1e-3)

    def _others(self, now: float) -> tuple[list[Said], float]:
        first = self.modules[0]
        if (master := self.has("master", now)) is not None:
            own = Said(max(now, self._free + first.framing.t35), first.asked_by_another(), first.framing, "master")
            return [own, *replies(self, own, own.end)], master.amount
        if self.has("babble", now):
            wait = BABBLE_LENGTH * self.framing.character + BABBLE_PAUSE
            return [Said(now, self.rng.randbytes(BABBLE_LENGTH), self.framing, "babble")], wait
        if any(t.kind == "text" and t.since <= now for t in self.troubles):
            return [Said(now, TEXT_FRAME, first.framing, "text")], TEXT_PERIOD
        return [], 0.5

    def retuned(self, framing: Framing) -> None:
        """The computer's receiver has another framing from now on."""
        self.framing, self._break_told = framing, False
