"""The survey itself: listen, ask the planned addresses, then the others, then with other speeds.

Gives: How, survey(). Steps are told as they go, so that a face can show them.
A line on which another master is heard is only listened to. A found address is asked again before it is believed.
Limits: asks with reading requests alone. Trying other speeds disturbs no module: a frame with a wrong check is ignored.
Sources: one master at a time: MODBUS over Serial Line V1.02, 2.1, read.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from bankwright.bus.ascii.request import Command, TextRequest
from bankwright.bus.asks import Ask, Known, Language, asks_of
from bankwright.bus.exchange import Exchange, Outcome, Patience, exchange, hearken
from bankwright.bus.map.blocks import Block
from bankwright.bus.map.decode import Decoded
from bankwright.bus.modbus.reply import Registers
from bankwright.bus.modbus.request import Function, Request
from bankwright.bus.spell import AnyRequest, is_refusal
from bankwright.bus.survey.devices import walk_devices
from bankwright.bus.survey.facts import Asked, Expected, Facts, Listened, Spoken, Tuned
from bankwright.bus.survey.rounds import watched
from bankwright.bus.timing import Framing
from bankwright.bus.wire.wire import NotTunable, Wire

__all__ = ["CANDIDATES", "How", "survey"]

Tell = Callable[[str], None]
CANDIDATES = tuple(
    Framing(baud, parity) for baud in (9600, 19200, 115200, 38400, 57600, 4800) for parity in ("none", "even", "odd")
)  # the commonest first (common practice, no source)
SLOW_VALUES = frozenset({"soc", "capacity_ah", "temperature_degc", "count"})
MOST_OTHERS = 4  # silent ones that are asked in the other language
JUMP = {"soc": 0.02, "temperature_degc": 2.0}  # more than this from one reading to the next is another module


@dataclass(frozen=True, slots=True)
class How:
    """How to survey. Times in s."""

    listen: float = 3.0
    tries: int = 3
    close_tries: int = 12  # at an address where something is odd, or where modules are missing
    patience: Patience = field(default_factory=lambda: Patience(timeout=0.5, grace=1.0, linger=0.04))
    scan: Patience = field(default_factory=lambda: Patience(timeout=0.12))
    up_to: int = 16  # highest address that is asked beside the planned ones
    other_speeds: bool = True
    listen_other: float = 1.5
    ask_anyway: bool = False  # although another master is there
    watch: float = 3.0  # in which all are read again in rounds; 0: not


def _silent(words: str) -> None:
    """For whoever wants no progress told."""


def survey(wire: Wire, expected: Expected, how: How, tell: Tell = _silent) -> Facts:
    """Listen, ask, and give what was heard."""
    tell(f"listening {how.listen:g} s")
    before = Listened(how.listen, wire.framing, hearken(wire, how.listen))
    facts = Facts(expected, wire.framing, before)
    if before.foreign and not how.ask_anyway:
        tell("another master asks on this line: only listening")
        more = Listened(4 * how.listen, wire.framing, before.got + hearken(wire, 3 * how.listen))
        return dataclasses.replace(facts, before=more, held_back=True)
    if before.garbled:
        facts = _listened_elsewhere(wire, facts, how, tell)
        if (facts.tuned or before.flooded) and not how.ask_anyway:
            return dataclasses.replace(facts, held_back=True)
    facts = _ask_all(wire, facts, how, tell)
    if facts.expected.speakers or facts.expected.register_map is None:
        facts = walk_devices(wire, facts, how.patience, tell)
    if facts.silent and wire.framing is not None:
        tell("asking the silent ones in the other language")
        facts = dataclasses.replace(facts, spoken=tuple(_other_language(wire, facts, how)))
    if how.other_speeds and wire.framing is not None and facts.silent:
        told = tuple(_tuned(wire, facts, how, tell))
        tuned = (*facts.tuned, *(each for each in told if isinstance(each, Tuned)))
        spoken = (*facts.spoken, *(each for each in told if isinstance(each, Spoken)))
        facts = dataclasses.replace(facts, tuned=tuned, spoken=spoken)
        wire.retune(wire_framing(facts))
    return facts


def _listened_elsewhere(wire: Wire, facts: Facts, how: How, tell: Tell) -> Facts:
    """Something was heard that is no frame: with which speed and parity is it one?"""
    for framing in (each for each in CANDIDATES if each != facts.framing):
        tell(f"listening with {framing}")
        if not _takes(wire, framing):
            continue
        listened = Listened(how.listen_other, framing, hearken(wire, how.listen_other))
        if len(listened.frames) >= 2:
            answered = {reply.unit for _, reply in listened.foreign if reply is not None}
            facts = dataclasses.replace(facts, tuned=(Tuned(framing, tuple(sorted(answered)), listened),))
            break
    wire.retune(wire_framing(facts))
    return facts


def wire_framing(facts: Facts) -> Framing:
    """The framing that the survey began with."""
    assert facts.framing is not None
    return facts.framing


def _ask_all(wire: Wire, facts: Facts, how: How, tell: Tell) -> Facts:
    asker = _Asker(wire, facts.expected.register_map, how, facts.expected.language)
    planned = [target.unit for target in facts.expected.modules]
    asked: dict[int, Asked] = {}
    for target in facts.expected.modules:
        tell(f"asking {target.name} at address {target.unit}")
        asked[target.unit] = asker.ask(target.unit, how.tries, how.patience)
    garbled = bool(asked) and all(each.damaged for each in asked.values())
    lowest = 0 if facts.expected.language == "ascii frames" else 1
    for unit in (unit for unit in range(lowest, how.up_to + 1) if unit not in planned and not garbled):
        tell(f"asking address {unit}")
        one = asker.ask(unit, 1, how.scan)
        if one.count(Outcome.SILENCE) < len(one.tries):
            asked[unit] = asker.ask(unit, how.tries, how.patience)
    missing = sum(each.is_there for each in asked.values()) < len(planned)
    for unit, each in list(asked.items()):
        if each.is_there or each.damaged:
            odd = missing or each.damaged or each.followers
            tell(f"reading address {unit}")
            asked[unit] = asker.closely(each, how.close_tries if odd else how.tries)
    facts = dataclasses.replace(facts, asked=asked, echo=asker.echo)
    if how.watch:
        tell(f"reading again over {how.watch:g} s")
        waits = how.patience, how.scan
        facts = watched(wire, facts, how.watch, waits, asker.once, ask=lambda u: asker.ask(u, how.tries, how.patience))
    return dataclasses.replace(facts, requests=asker.requests)


def _tuned(wire: Wire, facts: Facts, how: How, tell: Tell) -> Iterator[Tuned | Spoken]:
    """The silent ones with other speeds and parities; where nobody is there at all, the first in the other language."""
    known = {each.unit for each in facts.spoken}
    left = [target.unit for target in facts.silent if target.unit not in known][:4]
    asker = _Asker(wire, None, how, facts.expected.language)
    for framing in (each for each in CANDIDATES if each != facts.framing):
        if not left:
            return
        tell(f"trying {framing}")
        if not _takes(wire, framing):
            continue
        heard = {unit for unit in left if asker.ask(unit, 2, Patience(timeout=0.25)).is_there}
        if heard:
            yield Tuned(framing, tuple(sorted(heard)))
        left = [unit for unit in left if unit not in heard]
        if not (heard or facts.found or facts.spoken):
            first = dataclasses.replace(facts, expected=_only_first(facts.expected))
            spoken = tuple(_other_language(wire, first, how))
            yield from spoken
            left = [] if spoken else left


def _only_first(expected: Expected) -> Expected:
    return dataclasses.replace(expected, modules=expected.modules[:1])


def _other_language(wire: Wire, facts: Facts, how: How) -> Iterator[Spoken]:
    """Silent ones that answer in the other language; a frame of it is nothing to who speaks the first."""
    assert wire.framing is not None
    other: Language = "modbus" if facts.expected.language == "ascii frames" else "ascii frames"
    asker = _Asker(wire, None, how, other)
    for target in facts.silent[:MOST_OTHERS]:
        if asker.ask(target.unit, 2, Patience(timeout=0.25)).is_there:
            yield Spoken(wire.framing, target.unit, other)


def _takes(wire: Wire, framing: Framing) -> bool:
    """Retune, where the port can."""
    try:
        wire.retune(framing)
    except NotTunable:
        return False
    return True


class _Asker:
    """Asks an address, with the map's own registers where there is one."""

    def __init__(self, wire: Wire, register_map: Known | None, how: How, language: Language) -> None:
        self.wire, self.how, self.echo, self.requests = wire, how, False, 0
        self.language = language
        self.blocks: Sequence[Ask] = (
            asks_of(register_map, wire.framing, ("fast", "slow", "once")) if register_map else ()
        )
        self.serial = next((s for s in register_map.signals if s.quantity == "serial"), None) if register_map else None

    def _probe(self, unit: int) -> AnyRequest:
        """One short request: a refusal too proves that somebody is there."""
        if not self.blocks and self.language == "ascii frames":
            return TextRequest(unit, Command.VERSION)
        if not self.blocks:
            return Request(unit, Function.HOLDING, 0, 1)
        home = next((b for b in self.blocks if self.serial in b.signals), None)
        block = home or min(self.blocks, key=lambda b: b.characters)
        return block.request(unit)

    def once(self, request: AnyRequest, patience: Patience) -> Exchange:
        """One request, counted."""
        self.requests += 1
        done = exchange(self.wire, request, patience, self.echo)
        self.echo |= done.taken.echo
        return done

    def ask(self, unit: int, tries: int, patience: Patience) -> Asked:
        """Ask so often; after two silent tries no more."""
        done: list[Exchange] = []
        for _ in range(tries):
            done.append(self.once(self._probe(unit), patience))
            if len(done) >= 2 and all(each.outcome is Outcome.SILENCE for each in done):
                break
        return Asked(unit, tuple(done))

    def closely(self, before: Asked, tries: int) -> Asked:
        """Read the whole map, and the serial number again and again."""
        done, refusals, serials = list(before.tries), [], []
        values: dict[str, Decoded] = {}
        registers: dict[tuple[str, int], int] = {}
        last: dict[str, Decoded] = {}
        jumps = 0
        for k in range(tries):
            if not self.blocks:
                done.append(self.once(self._probe(before.unit), self.how.patience))
            for block in self.blocks:
                if k and self.serial is not None and self.serial not in block.signals:
                    continue
                one = self.once(block.request(before.unit), self.how.patience)
                done.append(one)
                if is_refusal(one.reply):
                    refusals.append(one.reply)
                now = block.values(one.reply)
                registers |= _registers(block, one)
                jumps += _jumps(block, last, now)
                last |= now
                values = now | values
                if self.serial is not None and self.serial.name in now and now[self.serial.name].text:
                    serials.append(now[self.serial.name].text)
        return Asked(before.unit, tuple(done), tuple(serials), values, tuple(refusals), registers, jumps)


def _registers(block: Ask, done: Exchange) -> dict[tuple[str, int], int]:
    if not isinstance(done.reply, Registers) or not isinstance(block, Block):
        return {}
    return {(block.table, block.first + place): word for place, word in enumerate(done.reply.values)}


def _jumps(block: Ask, last: dict[str, Decoded], now: dict[str, Decoded]) -> int:
    return sum(
        abs(now[s.name].value - last[s.name].value) > JUMP[s.quantity]
        for s in block.signals
        if s.quantity in JUMP and s.name in last and s.name in now
    )
