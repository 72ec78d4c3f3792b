"""Readings cut into blocks: charge counted, mean voltage of a cell, and what the current takes off it.

Gives: Blocks, Relaxing, Resistances, blocks_of(). A block ends every 1800 s of the clock, sooner where the bank moved
more than 1 % of its capacity (never shorter than 120 s), and at every gap. Overpotential: ohmic part and two
relaxation branches, from the current as it was read; between two readings the current runs straight.
Limits: all modules are cut at the same moments; a module without a reading in a block is NaN there. Over a gap nothing
is counted here; how long it was stands in `gap`.
Sources: Kirchhoff; two branches as in physics/cell; sizes of a block: own trials on open data (5 to 15 min equal,
1 min worse, because what relaxes slowly is the same error again and again).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array

__all__ = ["SLOT", "Blocks", "Relaxing", "Resistances", "blocks_of"]

SLOT = 1800.0  # s
THIRDS = 3  # of a slot, over which what moved is netted
PARTS = 15  # most blocks in a slot
SHARE = 0.01  # of the capacity moved by the bank, after which a block ends sooner
GAP = 300.0  # s between two readings that are not joined: longer than any usual polling
PIECE = 1800.0  # s over which a branch is summed in one go; exp(PIECE / 1 s) stays a number
SHORTEST_TIME = 3.0  # s, a branch that settles faster counts as ohmic


@dataclass(frozen=True, slots=True)
class Resistances:
    """Of one cell of each module at one temperature: ohmic and two branches. [ohm, s] (module,)."""

    ohmic: Array
    quick: Array
    quick_time: float
    slow: Array
    slow_time: float

    @property
    def total(self) -> Array:
        """What a steady current meets. [ohm] (module,)."""
        return np.asarray(self.ohmic + self.quick + self.slow)


@dataclass(frozen=True, slots=True)
class Relaxing:
    """Where the branches stand, and when: kept from day to day. [V a cell at 25 degC resistances] (module,)."""

    quick: Array
    slow: Array
    time: Array  # s since 1970 of the last reading of each module
    current: Array  # A of that reading

    @classmethod
    def rested(cls, modules: int) -> Relaxing:
        """Nothing was heard before."""
        nothing = np.full(modules, np.nan)
        return cls(np.zeros(modules), np.zeros(modules), nothing, nothing)


@dataclass(frozen=True, eq=False, slots=True)
class Blocks:
    """Blocks in the order of time; arrays (block, module) unless said."""

    start: Array  # (block,) s since 1970
    end: Array  # (block,)
    charge: Array  # Ah counted out of the module as read; NaN where it was not heard
    volts: Array  # V a cell, mean over the block
    over: Array  # V a cell, mean overpotential at the current as read
    current: Array  # A, mean
    last_current: Array  # A, the reading before the end
    jump: Array  # A, largest step of the current in the last minute
    gap: Array  # s that passed uncounted since the block before, by module

    def __len__(self) -> int:
        """How many."""
        return len(self.start)


def blocks_of(
    time: Sequence[Array],
    current: Sequence[Array],
    volts: Sequence[Array],
    resistances: Resistances,
    capacity_ah: Array,
    *,
    before: Relaxing | None = None,
) -> tuple[Blocks, Relaxing]:
    """Blocks of modules whose readings are given each by itself: time [s], current [A], V a cell.

    Parameters
    ----------
    time, current, volts : a 1-d array each module, in the order of time, without NaN.
    resistances : at the temperature that the overpotential is wanted for. capacity_ah : (module,).
    before : where the stretch before ended.

    References
    ----------
    Branch driven by a current that runs straight between two readings: mean of both ends, exact in the decay [derived].
    """
    count = len(time)
    before = before or Relaxing.rested(count)
    edges = _edges(time, current, capacity_ah)
    columns, after = [], []
    for m in range(count):
        one = _Module(time[m], current[m], volts[m])
        state = (before.quick[m], before.slow[m], before.time[m], before.current[m])
        columns.append(one.cut(edges, _of(resistances, m), state))
        after.append(one.after)
    if not len(edges):
        return _none(count), before
    stacked = [np.stack([c[k] for c in columns], axis=1) for k in range(7)]
    heard = np.isfinite(stacked[1]).any(axis=1)
    kept = [part[heard] for part in (edges[:, 0], edges[:, 1], *stacked)]
    return Blocks(*kept), Relaxing(*(np.array(part) for part in zip(*after, strict=True)))


def _none(count: int) -> Blocks:
    nothing = np.empty((0, count))
    return Blocks(np.empty(0), np.empty(0), *(nothing,) * 7)


def _of(parts: Resistances, m: int) -> tuple[float, float, float, float, float]:
    ohmic, quick, slow = (float(part[m]) for part in (parts.ohmic, parts.quick, parts.slow))
    return ohmic, quick, slow, parts.quick_time, parts.slow_time


def _edges(time: Sequence[Array], current: Sequence[Array], capacity_ah: Array) -> Array:
    """Start and end of every block in which anything was read. (block, 2)"""
    read = [t for t in time if len(t)]
    if not read:
        return np.empty((0, 2))
    third = SLOT / THIRDS
    slots = np.unique(np.concatenate([np.unique(np.floor(t / SLOT)) for t in read]))
    moved = np.zeros((len(slots), THIRDS))
    for t, i, ah in zip(time, current, capacity_ah, strict=True):
        if len(t) > 1:
            step, slot = np.minimum(np.diff(t), GAP), np.floor(t / third)
            charge = (i[1:] + i[:-1]) / 2 * step / 3600 / ah
            inside = slot[:-1] == slot[1:]  # so that a day alone is cut as within a year
            at = slot[1:][inside].astype(int)
            np.add.at(moved, (np.searchsorted(slots, at // THIRDS), at % THIRDS), charge[inside])
    parts = np.ceil(np.abs(moved).sum(axis=1) / max(len(read), 1) / SHARE)
    parts = np.clip(parts, 1, PARTS).astype(int)
    starts = [slot * SLOT + SLOT / n * np.arange(n) for slot, n in zip(slots, parts, strict=True)]
    ends = [s + SLOT / n for s, n in zip(starts, parts, strict=True)]
    return np.stack([np.concatenate(starts), np.concatenate(ends)], axis=1)


class _Module:
    """Readings of one module, on their way into blocks."""

    def __init__(self, time: Array, current: Array, volts: Array) -> None:
        self.time, self.current, self.volts = time, current, volts

    def cut(
        self, edges: Array, parts: tuple[float, float, float, float, float], state: tuple[float, float, float, float]
    ) -> tuple[Array, ...]:
        """Charge, voltage, overpotential, current, last current, jump, gap of each block."""
        ohmic, quick, slow, quick_time, slow_time = parts
        if not len(self.time):
            self.after = state
            return tuple(np.full(len(edges), np.nan) for _ in range(7))
        time, current, step, mean = self._steps(state)
        branches = [
            _branch(step, mean, start, r, tau)
            for start, r, tau in ((state[0], quick, quick_time), (state[1], slow, slow_time))
        ]
        over = ohmic * current + branches[0] + branches[1]
        self.after = (float(branches[0][-1]), float(branches[1][-1]), float(time[-1]), float(current[-1]))
        return self._sums(edges, step, mean, over)

    def _steps(self, state: tuple[float, float, float, float]) -> tuple[Array, Array, Array, Array]:
        """Times, currents, seconds since the reading before (0 over a gap) and the mean current over them."""
        time, current = self.time, self.current
        step = np.diff(time, prepend=state[2] if np.isfinite(state[2]) else time[0])
        earlier = np.concatenate([[state[3] if np.isfinite(state[3]) else current[0]], current[:-1]])
        self.earlier, self.gaps = earlier, np.where(step > GAP, step, 0.0)
        mean = np.where(step > GAP, 0.0, (current + earlier) / 2)
        return time, current, step, mean

    def _sums(self, edges: Array, step: Array, mean: Array, over: Array) -> tuple[Array, ...]:
        time, current = self.time, self.current
        # a reading belongs to the block that its step ends in
        first, last = (np.searchsorted(time, edges[:, k], side="left") for k in (0, 1))
        heard = last > first
        number = np.maximum(last - first, 1)

        def total(values: Array) -> Array:
            under = np.concatenate([[0.0], np.cumsum(values)])
            return np.where(heard, under[last] - under[first], np.nan)

        charge = total(mean * np.where(self.gaps > 0, 0.0, step) / 3600)
        end = np.maximum(last - 1, 0)
        steps = np.abs(current - self.earlier)
        late = np.maximum(np.searchsorted(time, edges[:, 1] - 60.0), first)
        jump = np.array([steps[a:b].max(initial=0.0) for a, b in zip(late, last, strict=True)])
        means = [total(values) / number for values in (self.volts, over, current)]
        lasts = [np.where(heard, values, np.nan) for values in (current[end], jump)]
        return (charge, *means, *lasts, total(self.gaps))


def _branch(step: Array, mean: Array, start: float, resistance: float, tau: float) -> Array:
    """Voltage of one branch after every step, from its voltage before the first."""
    if tau < SHORTEST_TIME:
        return np.asarray(resistance * mean)
    passed = np.cumsum(step)
    answer = np.empty(len(step))
    begin, level = 0, start
    gain = resistance * mean * -np.expm1(-step / tau)
    while begin < len(step):
        offset = passed[begin] - step[begin]
        end = max(int(np.searchsorted(passed, offset + min(PIECE, 300 * tau), side="right")), begin + 1)
        if end == begin + 1:
            level = level * np.exp(-step[begin] / tau) + gain[begin]
            answer[begin] = level
        else:
            grown = np.exp((passed[begin:end] - offset) / tau)
            answer[begin:end] = (level + np.cumsum(gain[begin:end] * grown)) / grown
            level = float(answer[end - 1])
        begin = end
    return answer
