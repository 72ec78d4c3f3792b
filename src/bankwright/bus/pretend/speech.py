"""Who answers a frame on the pretend line, when, and how badly.

Gives: Said, Party, replies(). Limits: one frame at a time.
"""

from __future__ import annotations

import random
from dataclasses import dataclass
from typing import Protocol

from bankwright.bus.pretend.module import Answering
from bankwright.bus.pretend.troubles import Trouble
from bankwright.bus.timing import Framing
from bankwright.bus.uart import heard, wave

__all__ = ["Party", "Said", "replies"]

TWIN = (0.0, 0.0, 0.0, 0.2, 0.35)  # characters that the second of one address begins later, drawn each time


@dataclass(frozen=True, slots=True)
class Said:
    """Characters put on the line by somebody."""

    start: float
    data: bytes
    framing: Framing
    who: str
    inverted: bool = False

    @property
    def end(self) -> float:
        """When the last character has left. [s]"""
        return self.start + len(self.data) * self.framing.character


class Party(Protocol):
    """What is known of a line: who is on it, and what goes wrong."""

    modules: tuple[Answering, ...]
    troubles: tuple[Trouble, ...]
    rng: random.Random

    def has(self, kind: str, now: float) -> Trouble | None:
        """The trouble of the whole line of this kind, if there is one now."""


def _present(line: Party, now: float) -> list[Answering]:
    """Modules that are on and have a cable to the computer."""
    found = []
    for module in line.modules:
        kinds = {t.kind for t in line.troubles if t.at == module.name and t.on(module.name, now)}
        if "unplug" in kinds:
            break
        if not kinds & {"off", "reboot"}:
            found.append(module)
        if "leader" in kinds:
            break
    return found


def _heard_by(line: Party, module: Answering, own: Said) -> bytes | None:
    """The frame as a module's receiver has it; None when a character was damaged."""
    inverted = module.swapped != (own.who == "computer" and line.has("swapped", own.start) is not None)
    if own.framing == module.framing and not inverted:
        return own.data
    chunk = heard(wave(own.data, own.framing, own.start, module.framing, inverted), module.framing)
    return None if any(chunk.marks) else chunk.data


def replies(line: Party, own: Said, end: float) -> list[Said]:
    """Everything that is said in answer, troubles included."""
    said: list[Said] = []
    asked: dict[int, list[tuple[Answering, Said]]] = {}
    for module in _present(line, end):
        answer = _answer(line, module, own, end)
        if answer is not None:
            asked.setdefault(module.unit, []).append((module, answer))
    for answers in asked.values():
        said += _at_one_address(line, answers, end)
    return [_spoilt(line, each, end) for each in said if not _dropped(line, each, end)]


def _answer(line: Party, module: Answering, own: Said, end: float) -> Said | None:
    frame = _heard_by(line, module, own)
    if frame is None or any(t.kind == "text" and t.on(module.name, end) for t in line.troubles):
        return None
    data = module.reply(frame, end)
    if data is None:
        return None
    late = sum(t.amount for t in line.troubles if t.kind == "late" and t.on(module.name, end))
    return Said(end + module.framing.t35 + module.delay + late, data, module.framing, module.name, module.swapped)


def _at_one_address(line: Party, answers: list[tuple[Answering, Said]], end: float) -> list[Said]:
    """Two modules of one address: both at once, one behind the other, or one gives way."""
    if len(answers) == 1:
        return [answers[0][1]]
    kinds = {t.kind for t in line.troubles for m, _ in answers if t.at == m.name and t.on(m.name, end)}
    said = [each for _, each in answers]
    if "polite" in kinds:
        return [line.rng.choice(said)]
    if "follower" in kinds:
        placed, free = [], said[0].start
        for each in said:
            placed.append(Said(max(each.start, free), each.data, each.framing, each.who, each.inverted))
            free = placed[-1].end + each.framing.t35
        return placed
    apart = line.rng.choice(TWIN)
    return [
        Said(s.start + k * apart * s.framing.character, s.data, s.framing, s.who, s.inverted)
        for k, s in enumerate(said)
    ]


def _share(line: Party, kind: str, who: str, now: float) -> bool:
    share = sum(t.amount for t in line.troubles if t.kind == kind and t.on(who, now))
    return share > 0 and line.rng.random() < share


def _dropped(line: Party, said: Said, now: float) -> bool:
    return _share(line, "drop", said.who, now)


def _spoilt(line: Party, said: Said, now: float) -> Said:
    data, start = said.data, said.start
    if _share(line, "damage", said.who, now):
        place = line.rng.randrange(len(data))
        data = data[:place] + bytes((data[place] ^ 1 << line.rng.randrange(8),)) + data[place + 1 :]
    if _share(line, "cut", said.who, now):
        data = data[: line.rng.randrange(2, max(len(data) - 1, 3))]
    if _share(line, "noise", said.who, now):
        before = line.rng.randbytes(2)
        data, start = before + data + line.rng.randbytes(1), start - 2 * said.framing.character
    if line.has("floating", now):
        data, start = b"\0" + data, start - said.framing.character
    return Said(start, data, said.framing, said.who, said.inverted)
