"""Requests that read a map: neighbouring registers in one request, current and voltage together.

Gives: Block, blocks(), apart(). Bridging a hole of g registers is worth it while 2 g characters cost less than
another request (13 characters and two silences), and allowed only where the map says that holes can be read.
Sources: derived from the frame lengths and silences of timing.py.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

from bankwright.bus.map.decode import Decoded, decoded
from bankwright.bus.map.registers import Every, RegisterMap, Signal, Table
from bankwright.bus.modbus.reply import Registers
from bankwright.bus.modbus.request import Function, Request
from bankwright.bus.source import Value
from bankwright.bus.timing import REPLY, REQUEST, Framing

__all__ = ["Block", "apart", "blocks", "worth_bridging"]

TOGETHER = ("current", "voltage")
TCP_GAP = 60  # registers bridged where there is no wire time to count


@dataclass(frozen=True, slots=True)
class Block:
    """One request's registers and the signals in it."""

    table: Table
    first: int
    count: int
    signals: tuple[Signal, ...]

    def request(self, unit: int) -> Request:
        """The request to a module."""
        return Request(unit, Function.HOLDING if self.table == "holding" else Function.INPUT, self.first, self.count)

    @property
    def characters(self) -> int:
        """Of the request and of its reply. [-]"""
        return REQUEST + REPLY + 2 * self.count

    @property
    def words(self) -> str:
        """For the address sheet."""
        return f"{self.count} from {self.first} ({self.table})"

    def values(self, reply: object) -> dict[str, Decoded]:
        """Values of a reply; none of a refusal."""
        if not isinstance(reply, Registers):
            return {}
        registers = {self.first + place: value for place, value in enumerate(reply.values)}
        return {signal.name: decoded(signal, registers) for signal in self.signals}


def worth_bridging(framing: Framing | None) -> int:
    """Most unused registers between two used ones that are cheaper read than left out. [-]"""
    if framing is None:
        return TCP_GAP
    cost = (REQUEST + REPLY) * framing.character + 2 * framing.t35
    return int(cost / (2 * framing.character) - 1e-9)


def blocks(register_map: RegisterMap, framing: Framing | None, every: Iterable[Every] = ("fast",)) -> tuple[Block, ...]:
    """Requests for all signals of these classes; the one with current and voltage first."""
    wanted, gap = set(every), worth_bridging(framing) if register_map.holes_readable else 0
    found: list[Block] = []
    for table in ("holding", "input"):
        signals = sorted(
            (s for s in register_map.signals if s.table == table and s.every in wanted),
            key=lambda s: (s.address, s.end),
        )
        found += _runs(signals, gap, register_map.most)
    return tuple(sorted(_kept_together(found, register_map.most), key=_first))


def _first(block: Block) -> tuple[bool, str, int]:
    return (not any(s.quantity in TOGETHER for s in block.signals), block.table, block.first)


def _block(signals: list[Signal]) -> Block:
    first, end = min(s.address for s in signals), max(s.end for s in signals)
    return Block(signals[0].table, first, end - first, tuple(signals))


def _runs(signals: list[Signal], gap: int, most: int) -> list[Block]:
    runs: list[list[Signal]] = []
    for signal in signals:
        last = runs[-1] if runs else []
        end = max((s.end for s in last), default=-1)
        fits = bool(last) and signal.address <= end + gap and max(end, signal.end) - last[0].address <= most
        if fits:
            last.append(signal)
        else:
            runs.append([signal])
    return [_block(run) for run in runs]


def _kept_together(found: list[Block], most: int) -> list[Block]:
    """Where the cut between two neighbours parts current from voltage, cut elsewhere."""
    homes = [next((b for b in found if any(s.quantity == q for s in b.signals)), None) for q in TOGETHER]
    first, second = homes
    if first is None or second is None or first is second or first.table != second.table:
        return found
    early, late = sorted((first, second), key=lambda block: block.first)
    if early.first + early.count != late.first:
        return found
    pool = [*early.signals, *late.signals]
    core = [next(s for s in pool if s.quantity == quantity) for quantity in TOGETHER]
    low, high = min(s.address for s in core), max(s.end for s in core)
    if high - low > most:
        return found
    before = [s for s in pool if s.end <= low]
    middle = [s for s in pool if s.address >= low and s.end <= max(high, low + most)]
    after = [s for s in pool if s not in before and s not in middle]
    rest = [block for block in found if block is not early and block is not late]
    return rest + [b for part in (before, middle, after) for b in _runs(part, 0, most)]


class Brings(Protocol):
    """A request, whatever carries it, and what it brings."""

    @property
    def signals(self) -> Sequence[Value]:
        """The values in its reply."""


def apart(found: Sequence[Brings]) -> bool:
    """True when current and voltage of a module come in different requests, so not of one moment."""
    homes = [{i for i, b in enumerate(found) if any(s.quantity == q for s in b.signals)} for q in TOGETHER]
    return all(homes) and not homes[0] & homes[1]
