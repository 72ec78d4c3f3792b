"""Polling all modules back to back, then pausing; and the form in which what was heard leaves the bus.

Gives: Target, Policy, Heard, Cycle, Poller, columns().
A damaged reply is asked for once more; so is one of a module that answered last time and is silent now, after a late
answer had time to come. A module that answers late gets more time from then on; one that stays silent is asked less and
less often, so it costs little. Current and voltage of a module come in one request where the map allows.
Limits: what is due less often than each poll (slow, once) is asked after all modules, one request a cycle.
"""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from bankwright.bus.asks import Ask, Polled, asks_of
from bankwright.bus.exchange import Exchange, Outcome, Patience, exchange
from bankwright.bus.map.decode import MISSING, Decoded
from bankwright.bus.source import Listing, Value
from bankwright.bus.spell import is_refusal
from bankwright.bus.wire.wire import Wire
from bankwright.forms.quantities import QUANTITIES
from bankwright.forms.readings import Columns

__all__ = ["Cycle", "Heard", "Policy", "Poller", "Target", "columns", "part_name"]

LONGEST_TIMEOUT = 2.0  # s
_PARTS = {"cell_voltage": "c", "temperature_degc": "t"}


@dataclass(frozen=True, slots=True)
class Target:
    """A module and its address."""

    name: str
    unit: int


@dataclass(frozen=True, slots=True)
class Policy:
    """How to poll. Times in s."""

    patience: Patience = field(default_factory=Patience)
    settle: float = 0.3  # a late answer has this long before the module is asked again
    longest_rest: int = 64  # cycles that a silent module is left alone at most
    slow_every: float = 60.0


@dataclass(frozen=True, slots=True)
class Heard:
    """What one module said in a cycle."""

    module: str
    time: float  # on the wire's clock, when the first request had left
    values: dict[str, Decoded]
    outcome: Outcome | None  # of the worst request; None: left alone this time
    times: Mapping[str, float] | None = None  # of what came by itself: the values that are new, each with its time


@dataclass(frozen=True, slots=True)
class Cycle:
    """One pass over all modules."""

    number: int
    start: float
    took: float
    heard: tuple[Heard, ...]
    exchanges: tuple[Exchange, ...]
    words: str = ""  # where nothing is asked: what came, in words

    @property
    def answered(self) -> int:
        """Modules whose every request was answered."""
        return sum(each.outcome in (Outcome.ANSWER, Outcome.LATE) for each in self.heard)


@dataclass
class _Standing:
    """What is remembered of a module between cycles."""

    silent: int = 0  # asked in vain, one after the other
    rest: int = 0  # cycles to leave it alone
    slow_at: float = -math.inf
    once: bool = False
    timeout: float | None = None  # of its own, learnt from a late answer


@dataclass
class Poller:
    """Asks all modules of a line again and again."""

    wire: Wire
    register_map: Polled
    targets: Sequence[Target]
    policy: Policy = field(default_factory=Policy)
    echo: bool = False
    number: int = 0
    standing: dict[str, _Standing] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Plan the requests."""
        self.fast = asks_of(self.register_map, self.wire.framing)
        self.slow = asks_of(self.register_map, self.wire.framing, ("slow",))
        self.once = asks_of(self.register_map, self.wire.framing, ("once",))
        self._done: list[Exchange] = []

    def cycle(self) -> Cycle:
        """Ask every module that is due, back to back; then what is slow, one module a cycle."""
        self._done, start = [], self.wire.now()
        heard = [self._module(target) for target in self.targets]
        heard = self._extra(heard)
        self.number += 1
        return Cycle(self.number, start, self.wire.now() - start, tuple(heard), tuple(self._done))

    def _module(self, target: Target) -> Heard:
        standing = self.standing.setdefault(target.name, _Standing())
        if standing.rest > 0:
            standing.rest -= 1
            return Heard(target.name, self.wire.now(), {}, None)
        time: float | None = None
        values: dict[str, Decoded] = {}
        worst = Outcome.ANSWER
        for block in self.fast:
            done = self._ask(target, block, standing)
            time = done.at if time is None else time
            worst = done.outcome if done.outcome is not Outcome.ANSWER else worst
            values |= block.values(done.reply)
            if done.outcome is Outcome.SILENCE:
                break
        self._remember(standing, worst)
        return Heard(target.name, self.wire.now() if time is None else time, values, worst)

    def _remember(self, standing: _Standing, outcome: Outcome) -> None:
        if outcome is not Outcome.SILENCE:
            standing.silent = 0
            return
        standing.silent += 1
        standing.rest = min(2 ** (standing.silent - 1) - 1, self.policy.longest_rest)

    def _ask(self, target: Target, block: Ask, standing: _Standing) -> Exchange:
        done = self._once(target, block)
        if is_refusal(done.reply):
            return done
        if done.outcome in (Outcome.ANSWER, Outcome.REFUSAL) or (done.outcome is Outcome.SILENCE and standing.silent):
            return done
        late = None if done.outcome is Outcome.BROKEN else self._settled(done)
        if late is None:
            return self._once(target, block)
        standing.timeout = min(1.5 * late.took, LONGEST_TIMEOUT)
        return late

    def _once(self, target: Target, block: Ask) -> Exchange:
        own = self.standing[target.name].timeout or self.policy.patience.timeout
        patience = dataclasses.replace(self.policy.patience, timeout=own)
        done = exchange(self.wire, block.request(target.unit), patience, self.echo)
        self.echo |= done.taken.echo
        self._done.append(done)
        return done

    def _settled(self, done: Exchange) -> Exchange | None:
        """Let a late answer come, so that it is not taken for the next one's; give it if it is whole."""
        got, until = done.got, self.wire.now() + self.policy.settle
        while self.wire.now() < until and len(got.data) < 4096:
            got += self.wire.hear(until)
            taken = self.wire.taken(done.request, got, self.echo)
            if taken.reply is not None:
                took = self.wire.now() - done.at
                late = Exchange(done.request, Outcome.LATE, taken, got, done.at, took, took)
                self._done.append(late)
                return late
        return None

    def _extra(self, heard: list[Heard]) -> list[Heard]:
        """One module's slow values, the longest ago first."""
        alive = [i for i, each in enumerate(heard) if each.outcome in (Outcome.ANSWER, Outcome.LATE)]
        due = [i for i in alive if self._due(self.targets[i].name)]
        if not due:
            return heard
        place = min(due, key=lambda i: self.standing[self.targets[i].name].slow_at)
        target, standing = self.targets[place], self.standing[self.targets[place].name]
        values = dict(heard[place].values)
        for block in (*self.slow, *(() if standing.once else self.once)):
            values |= block.values(self._ask(target, block, standing).reply)
        standing.slow_at, standing.once = self.wire.now(), True
        old = heard[place]
        return [*heard[:place], Heard(old.module, old.time, values, old.outcome), *heard[place + 1 :]]

    def _due(self, name: str) -> bool:
        standing = self.standing[name]
        waits = self.wire.now() - standing.slow_at >= self.policy.slow_every
        return bool(self.slow and waits) or bool(self.once and not standing.once)


def part_name(module: str, signal: Value, alone: bool) -> str:
    """Where a value belongs: the module, or a part of it: `M2.c3` is cell 3 of M2, `M2.t1` its first sensor."""
    if alone:
        return module
    letter = _PARTS.get(signal.quantity) if signal.number is not None else None
    part = f"{letter}{signal.number}" if letter else re.sub(r"\W+", "-", signal.name)
    return f"{module}.{part}"


def columns(cycles: Iterable[Cycle], register_map: Listing) -> tuple[Columns, ...]:
    """Every number that was heard: a table for each module and quantity, with the module's own times.

    Time is on the wire's clock, when the module's first request had left. [s] A module that said nothing in a cycle
    has no row there; a value that was not in its reply is NaN. Of what comes by itself a row has the time of the first
    new value of its quantity in the cycle.
    """
    said: dict[str, list[Heard]] = {}
    for cycle in cycles:
        for heard in cycle.heard:
            if heard.values:
                said.setdefault(heard.module, []).append(heard)
    quantities = dict.fromkeys(signal.quantity for signal in register_map.signals if signal.quantity in QUANTITIES)
    tables = (_table(module, rows, register_map.of(name)) for module, rows in said.items() for name in quantities)
    return tuple(table for table in tables if len(table.time))


def _row_time(row: Heard, signals: Sequence[Value]) -> float | None:
    if row.times is None:
        return row.time
    return min((row.times[signal.name] for signal in signals if signal.name in row.times), default=None)


def _table(module: str, heard: list[Heard], signals: Sequence[Value]) -> Columns:
    timed = [(_row_time(row, signals), row) for row in heard]
    rows = [row for time, row in timed if time is not None]
    value = np.full((len(rows), len(signals)), np.nan)
    quality = np.full((len(rows), len(signals)), MISSING, dtype=np.uint8)
    for i, row in enumerate(rows):
        for k, signal in enumerate(signals):
            one = row.values.get(signal.name)
            if one is not None and (row.times is None or signal.name in row.times):
                value[i, k], quality[i, k] = one.value, one.quality
    time = np.array([time for time, _ in timed if time is not None])
    for array in (time, value, quality):
        array.setflags(write=False)
    at = tuple(part_name(module, signal, len(signals) == 1) for signal in signals)
    return Columns(signals[0].quantity, at, time, value, quality)
