"""What a survey expects, does and hears: facts only, no conclusions.

Gives: Expected, Asked, Round, Listened, Tuned, Spoken, Facts; text_frames().
Limits: conclusions are drawn in survey/explain.py.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

from bankwright.bus.ascii.others import text_frames_in
from bankwright.bus.asks import Known, Language, language_of
from bankwright.bus.exchange import Exchange, Outcome
from bankwright.bus.map.decode import Decoded
from bankwright.bus.modbus.others import Frame, frames_in, paired
from bankwright.bus.modbus.taken import Chunk
from bankwright.bus.poll import Target
from bankwright.bus.spell import Refusing
from bankwright.bus.sunspec.discover import Device
from bankwright.bus.sunspec.signals import Positive
from bankwright.bus.sunspec.source import Speaker
from bankwright.bus.timing import Framing

__all__ = ["Asked", "Expected", "Facts", "Listened", "Round", "Spoken", "Tuned", "text_frames"]

Round = Mapping[str, float] | None  # what a module said when all were read once more; None: nothing at all

_TEXT = re.compile(rb"~[0-9A-F]{8,}\r")  # telecom power standard YD/T 1363, from memory
_ASCII = re.compile(rb":(?:[0-9A-F]{2}){3,}\r\n")  # Modbus ASCII
BUSY = 0.3  # share of the time: more than this without a frame is somebody who sends without end


def text_frames(heard: bytes) -> tuple[bytes, ...]:
    """Whole frames of text protocols."""
    return tuple(_TEXT.findall(heard) + _ASCII.findall(heard))


@dataclass(frozen=True, slots=True)
class Expected:
    """What should be on the line, as the bank file says."""

    modules: tuple[Target, ...]  # in cable order, the nearest to the computer first
    register_map: Known | None = None
    switches: Mapping[str, int] = field(default_factory=dict)  # module -> number of address switches
    serials: Mapping[str, str] = field(default_factory=dict)  # module -> serial number of its plate
    masters: tuple[str, ...] = ()  # who else is known to ask
    terminators: int | None = None
    terminator_ohm: float = 120.0
    polarised: bool | None = None
    length: float | None = None  # m
    isolated: bool | None = None
    adapter_holds: float | None = None  # s, that the adapter keeps received bytes back
    spoken: Language = "modbus"  # where no map says it
    speakers: tuple[Speaker, ...] = ()  # devices of SunSpec; empty where the bank has none
    positive: Positive = None

    @property
    def language(self) -> Language:
        """What the modules should speak."""
        return self.spoken if self.register_map is None else language_of(self.register_map)

    @property
    def names(self) -> dict[int, str]:
        """Address -> module."""
        return {target.unit: target.name for target in self.modules}


@dataclass(frozen=True, slots=True)
class Asked:
    """All that was asked of one address."""

    unit: int
    tries: tuple[Exchange, ...]
    serials: tuple[str, ...] = ()  # as read, one a try; empty where the map has none
    values: Mapping[str, Decoded] = field(default_factory=dict)
    refusals: tuple[Refusing, ...] = ()  # of the map's own requests
    registers: Mapping[tuple[str, int], int] = field(default_factory=dict)  # (table, address) -> as read
    jumps: int = 0  # times that slow values jumped from one reading to the next
    rounds: tuple[Round, ...] = ()  # read again, some time apart
    apart: float = 0.0  # s, from round to round

    def count(self, *outcomes: Outcome) -> int:
        """Tries with one of these outcomes."""
        return sum(each.outcome in outcomes for each in self.tries)

    @property
    def is_there(self) -> bool:
        """True when a whole reply came, also a refusal, twice or in half of all tries: one alone may be chance."""
        whole = self.count(Outcome.ANSWER, Outcome.LATE, Outcome.REFUSAL)
        return whole >= min(2, len(self.tries))

    @property
    def damaged(self) -> int:
        """Tries that brought something like a reply, but no whole one."""
        return self.count(Outcome.BROKEN, Outcome.CUT, Outcome.NOISE)

    @property
    def followers(self) -> int:
        """Tries after whose reply another whole reply of this address came."""
        return sum(
            any(f.unit == self.unit and f.role != "request" and f.start >= each.taken.end for f in each.taken.strangers)
            for each in self.tries
            if each.reply is not None
        )


@dataclass(frozen=True, slots=True)
class Listened:
    """A stretch of listening without asking."""

    seconds: float
    framing: Framing | None
    got: Chunk

    @property
    def frames(self) -> tuple[Frame, ...]:
        """Whole frames of others, of either language."""
        found = (*frames_in(self.got.data), *text_frames_in(self.got.data))
        return tuple(sorted(found, key=lambda frame: frame.start))

    @property
    def foreign(self) -> tuple[tuple[Frame, Frame | None], ...]:
        """Requests of another master, with their replies."""
        return paired(self.frames)

    @property
    def load(self) -> float:
        """Share of the time that the line was busy. [-]"""
        return 0.0 if self.framing is None else len(self.got.data) * self.framing.character / max(self.seconds, 1e-9)

    @property
    def garbled(self) -> bool:
        """True when something was heard and nothing of it is a frame of any known kind."""
        return len(self.got.data) > 3 and not self.frames and not text_frames(self.got.data)

    @property
    def flooded(self) -> bool:
        """True when the line is busy most of the time with what is no frame."""
        return self.load > BUSY and self.garbled


@dataclass(frozen=True, slots=True)
class Tuned:
    """What came with another speed or parity."""

    framing: Framing
    answered: tuple[int, ...]  # addresses
    listened: Listened | None = None


@dataclass(frozen=True, slots=True)
class Spoken:
    """Somebody answered in another language than the bank file says."""

    framing: Framing
    unit: int
    language: Language


@dataclass(frozen=True, slots=True)
class Facts:
    """Everything that a survey heard."""

    expected: Expected
    framing: Framing | None  # None: TCP
    before: Listened
    asked: Mapping[int, Asked] = field(default_factory=dict)
    tuned: tuple[Tuned, ...] = ()
    held_back: bool = False  # nothing asked: another master is on the line, or somebody who sends without end
    echo: bool = False
    requests: int = 0
    spoken: tuple[Spoken, ...] = ()  # answers in the other language
    devices: Mapping[int, Device] = field(default_factory=dict)  # address -> what SunSpec tells of it
    walked: tuple[int, ...] = ()  # addresses at which the mark of SunSpec was looked for

    @property
    def planned_modules(self) -> tuple[str, ...]:
        """Modules of the bank, also those that one device speaks for."""
        for_all = tuple(m for s in self.expected.speakers if s.whose.by_number is not None for m in s.modules)
        return for_all or tuple(target.name for target in self.expected.modules)

    @property
    def heard_modules(self) -> tuple[str, ...]:
        """Those of them that answered, or that a device told of."""
        told = {signal.module for device in self.devices.values() for signal in device.known.signals}
        own = {target.name for target in self.expected.modules if target.unit in self.found}
        return tuple(name for name in self.planned_modules if name in own | told)

    @property
    def found(self) -> tuple[int, ...]:
        """Addresses that answered, by ourselves or heard answering another master."""
        own = {unit for unit, each in self.asked.items() if each.is_there}
        heard = Counter(reply.unit for _, reply in self.before.foreign if reply is not None)
        return tuple(sorted(own | set(heard)))

    @property
    def mute(self) -> tuple[Target, ...]:
        """Planned modules at whose address nothing was heard, not even damage or another language, in cable order."""
        heard = {unit for unit, each in self.asked.items() if each.damaged} | {each.unit for each in self.spoken}
        return tuple(target for target in self.silent if target.unit not in heard)

    @property
    def silent(self) -> tuple[Target, ...]:
        """Planned modules that did not answer, in cable order."""
        return tuple(target for target in self.expected.modules if target.unit not in self.found)
