"""What must stay between two bounds in one state of the switches.

Gives: Bound, Bounds, Watcher. A watcher knows the limits of a rig; it lays down the bounds once for each state of the
switches, and they say whether a node passes one.
Limits: what follows when one is passed is the switchboard's.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from bankwright.circuit.network import Array
from bankwright.circuit.run.loads import LoadSide
from bankwright.circuit.run.step import Node, Rig
from bankwright.circuit.run.switches import Switches

__all__ = ["TINY", "Bound", "Bounds", "Kind", "Watcher"]

TINY = 1e-9
INF = np.inf
Kind = Literal["current", "highest cell", "lowest cell", "state of charge", "temperature", "valve"]


@dataclass(frozen=True, eq=False, slots=True)
class Bound:
    """One quantity of every module, and the two values it must stay between."""

    kind: Kind
    low: Array
    high: Array
    value: Callable[[Node], Array]


@dataclass(frozen=True, eq=False, slots=True)
class Bounds:
    """All bounds of one state of the switches; rows in their order."""

    rows: tuple[Bound, ...]
    low: Array  # (rows, .., M)
    high: Array

    @classmethod
    def of(cls, rows: list[Bound], shape: tuple[int, ...]) -> Bounds:
        """Put rows together."""
        low, high = (np.stack([np.broadcast_to(getattr(row, end), shape) for row in rows]) for end in ("low", "high"))
        return cls(tuple(rows), low, high)

    def values(self, node: Node) -> Array:
        """Values (rows, .., M) of a node."""
        found = np.empty(self.low.shape)
        for place, row in enumerate(self.rows):
            found[place] = row.value(node)
        return found

    def passed(self, node: Node) -> bool:
        """Is any bound passed at this node."""
        values = self.values(node)
        return bool((np.greater(values, self.high) | np.less(values, self.low)).any())

    def first_passed(self, nodes: Node, count: int) -> int:
        """Place of the first of many nodes (time first on every axis of modules) that passes a bound, else `count`."""
        over = np.zeros(count, dtype=bool)
        for row, low, high in zip(self.rows, self.low, self.high, strict=True):
            values = row.value(nodes)
            over |= ((values > high) | (values < low)).any(axis=-1)
        return int(over.argmax()) if over.any() else count


class Watcher:
    """The limits of a rig, ready for every state of its switches."""

    def __init__(self, rig: Rig, loads: LoadSide) -> None:
        """Prepare what stays the same."""
        self.rig, self.loads, m = rig, loads, rig.modules
        lim = m.limits
        self.has_cells = bool(np.isfinite(lim.cell_high).any() or np.isfinite(lim.cell_low).any())
        self.apart = bool((np.asarray(lim.ahead) > 0).any() or (np.asarray(lim.behind) > 0).any())
        degc = (lim.charge_lowest_degc, lim.charge_highest_degc, lim.discharge_lowest_degc, lim.discharge_highest_degc)
        self.has_degc = rig.warms or any(np.isfinite(bound).any() for bound in degc)
        self.half = np.asarray(lim.spread) / 2
        self.per_cell = 1.0 / m.cells
        self.soc_low, self.soc_high = m.soc_ends

    def bounds(self, s: Switches) -> Bounds:
        """The bounds that hold in this state of the switches."""
        lim, running = self.rig.modules.limits, ~s.stopped[..., None]
        rows = [self._current(s)]
        if self.has_cells:
            high = np.where(s.closed & s.may_charge, lim.cell_high, INF)
            low = np.where(s.closed & s.may_discharge, lim.cell_low, -INF)
            rows.append(Bound("highest cell", np.asarray(-INF), high, self.highest_cell))
            rows.append(Bound("lowest cell", low, np.asarray(INF), self.lowest_cell))
        ends = np.where(running, self.soc_low, -INF), np.where(running, self.soc_high, INF)
        rows.append(Bound("state of charge", *ends, lambda node: node.Y[0]))
        if self.has_degc:
            rows.append(Bound("temperature", *self._degc(s), lambda node: node.temperature))
        held = s.valve & ~s.on
        if held.any():
            pull = self.pull_of(s)
            rows.append(Bound("valve", np.asarray(-INF), np.where(held, TINY, INF), pull))
        return Bounds.of(rows, self.rig.shape)

    def _current(self, s: Switches) -> Bound:
        """Trips that are not timed yet; while timed, the way back under them; nothing the wrong way through a valve."""
        lim = self.rig.modules.limits
        out, in_ = np.asarray(lim.discharge_trip), -np.asarray(lim.charge_trip)
        high = np.where(s.timing == -1, in_, np.where(s.timing == 1, INF, out))
        low = np.where(s.timing == 1, out, np.where(s.timing == -1, -INF, in_))
        valve = s.valve & s.on
        high = np.where(valve & ~s.may_discharge, np.minimum(high, TINY), high)
        low = np.where(valve & ~s.may_charge, np.maximum(low, -TINY), low)
        return Bound("current", np.where(s.on, low, -INF), np.where(s.on, high, INF), lambda node: node.current)

    def _degc(self, s: Switches) -> tuple[Array, Array]:
        """Temperatures at which a direction is still free, inside the table of resistance."""
        m = self.rig.modules
        lim, table = m.limits, m.factor_table
        charging, giving = s.closed & s.may_charge, s.closed & s.may_discharge
        low = np.where(charging, lim.charge_lowest_degc, -INF)
        high = np.where(charging, lim.charge_highest_degc, INF)
        low = np.maximum(low, np.where(giving, lim.discharge_lowest_degc, -INF))
        high = np.minimum(high, np.where(giving, lim.discharge_highest_degc, INF))
        if table is not None and self.rig.warms:
            running = ~s.stopped[..., None]
            low = np.maximum(low, np.where(running, table[0][0], -INF))
            high = np.minimum(high, np.where(running, table[0][-1], INF))
        return low, high

    def highest_cell(self, node: Node) -> Array:
        """Highest cell of each module, without its metal. [V]"""
        return self._cell(node, self.half, self.rig.modules.limits.ahead)

    def lowest_cell(self, node: Node) -> Array:
        """Lowest cell of each module, without its metal. [V]"""
        return self._cell(node, -self.half, -np.asarray(self.rig.modules.limits.behind))

    def _cell(self, node: Node, half: Array, further: Array) -> Array:
        m = self.rig.modules
        cell = (node.E - m.ohmic_cells * node.factor * node.current) * self.per_cell + half
        if self.apart:
            here, there = (m.curves.look_up(node.Y[0] + by, m.shift)[0] for by in (0.0, further))
            cell = cell + (there - here) / m.cells
        return np.asarray(cell)

    def pull_of(self, s: Switches) -> Callable[[Node], Array]:
        """Above zero where a module held off would now pass current its free way."""

        def pull(node: Node) -> Array:
            J, U = np.atleast_1d(node.J), np.atleast_1d(node.U)
            force = self.rig.ports.imbalance(node.E, node.current, J, U)
            dead = self.loads.dead
            if dead.any():
                force = np.where(dead[..., None], self.loads.demand(node.time)[..., None], force)
            return np.where(s.may_discharge, force, -force)

        return pull
