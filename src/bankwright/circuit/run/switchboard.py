"""What opens and closes modules during a run: limits, delays, re-closing, the ends of the curve.

Gives: RunEvent, Switchboard. Every limit is a value between two bounds; the run finds the moment at which one is
passed, and the switchboard says what follows: a delay starts, a module opens, blocks one direction or closes again.
A module that may pass current one way only acts as a valve: off while current would flow the other way.
Limits: voltage and temperature trips act at once, over-current after its delay; nothing else is invented.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bankwright.circuit.run.bounds import TINY, Kind, Watcher
from bankwright.circuit.run.loads import LoadSide
from bankwright.circuit.run.step import Node, Rig, Stage, State
from bankwright.circuit.run.switches import Place, Switches, start

__all__ = ["RunEvent", "Switchboard"]

MOST_STAGES = 64
CURVE_ENDS = "end of the voltage curve"
TABLE_ENDS = "end of the table of resistance over temperature"


@dataclass(frozen=True, slots=True)
class RunEvent:
    """Something that happened: when, what, to which module or load, in which variant, at which value."""

    time: float
    what: str
    at: str
    variant: int | None = None
    value: float | None = None

    def __str__(self) -> str:
        """`12.5 s  M2  trips: discharge over-current (151 A)`."""
        figure = "" if self.value is None else f" ({self.value:.4g})"
        return f"{self.time:.6g} s  {self.at}  {self.what}{figure}"


@dataclass(frozen=True, slots=True)
class Due:
    """An act at its time: "trip" or "recloses"."""

    time: float
    act: str
    at: Place


class Switchboard:
    """Tells when a limit is passed and what follows; holds the present switches, stage and bounds."""

    def __init__(self, rig: Rig, loads: LoadSide) -> None:
        """Start with all modules closed; both directions free."""
        self.rig, self.loads, self.watcher = rig, loads, Watcher(rig, loads)
        self.switches: Switches = start(rig.shape)
        self._stages: dict[bytes, Stage] = {}
        self.stage = self._stage(self.switches.on)
        self.bounds = self.watcher.bounds(self.switches)
        self.was_dead = np.zeros(rig.lead, dtype=bool)
        self.due: list[Due] = []
        self.events: list[RunEvent] = []
        self.cut_outs = [(k, load.cut_out) for k, load in enumerate(loads.loads) if load.cut_out is not None]
        self.tails = [(k, load.tail) for k, load in enumerate(loads.loads) if load.tail is not None]

    def _stage(self, on: np.ndarray) -> Stage:
        key = on.tobytes()
        if key not in self._stages:
            if len(self._stages) >= MOST_STAGES:
                self._stages.clear()
            self._stages[key] = Stage(self.rig, self.loads, on)
        return self._stages[key]

    # ---- questions of the run -----------------------------------------------------------------------------------

    def passed(self, node: Node) -> bool:
        """Is any bound passed at this node."""
        return self.bounds.passed(node) or bool((self.cut_outs or self.tails) and self.leaving(node).any())

    def leaving(self, node: Node) -> np.ndarray:
        """Loads that leave now: under their cut-out voltage, or a charger whose tail has come."""
        U, J = np.atleast_1d(node.U), np.atleast_1d(node.J)
        mask = np.zeros(U.shape, dtype=bool)
        for k, cut_out in self.cut_outs:
            mask[..., k] |= U[..., k] < cut_out
        for k, tail in self.tails:
            ceiling = self.loads.loads[k].ceiling or 0.0
            mask[..., k] |= (U[..., k] >= ceiling * (1 - 1e-9)) & (-J[..., k] < tail)
        return mask & ~self.loads.left

    def next_due(self) -> float:
        """Time of the next act that is due."""
        return self.due[0].time if self.due else np.inf

    def _schedule(self, time: float, act: str, at: Place) -> None:
        self.due.append(Due(time, act, at))
        self.due.sort(key=lambda item: item.time)

    def _no_trip(self, at: Place) -> None:
        self.due = [item for item in self.due if (item.act, item.at) != ("trip", at)]

    # ---- what follows -------------------------------------------------------------------------------------------

    def act_on_due(self, node: Node) -> bool:
        """Do what is due; True if a switch moved."""
        moved = False
        while self.due and self.due[0].time <= node.time + 1e-9:
            item = self.due.pop(0)
            side = int(self.switches.timing[item.at])
            if self.switches.stopped[item.at[:-1]]:
                continue
            if item.act == "recloses":
                self.switches = self.switches.reclosed(item.at)
                self._tell(node, item.act, item.at)
                moved = True
            elif side:
                words = "discharge" if side == 1 else "charge"
                self._trip(node, item.at, words, why="over-current", value=node.current[item.at])
                moved = True
        return moved

    def _tell(self, node: Node, what: str, at: Place, value: float | None = None) -> None:
        variant = int(at[0]) if self.rig.lead else None
        self.events.append(RunEvent(float(node.time), what, self.rig.modules.names[at[-1]], variant, value))

    def _trip(self, node: Node, at: Place, side: str, *, why: str, value: float) -> None:
        lim = self.rig.modules.limits
        opens = bool((lim.charge_trip_opens if side == "charge" else lim.discharge_trip_opens)[at])
        moved = self.switches.opened(at) if opens else self.switches.blocked(at, side)
        self.switches = moved.timed(at, 0)
        self._no_trip(at)
        self._tell(node, f"{'opens' if opens else 'blocks ' + side}: {why}", at, float(value))
        again = float(lim.reclose_after[at])
        if np.isfinite(again):
            self._schedule(node.time + again, "recloses", at)

    def act_on_passed(self, node: Node) -> bool:
        """Follow up every bound passed at this node; True if a switch moved or a load left."""
        values, bounds = self.bounds.values(node), self.bounds
        over, under = np.greater(values, bounds.high), np.less(values, bounds.low)
        moved = False
        for spot in np.argwhere(over | under):
            at = tuple(int(i) for i in spot[1:])
            value = float(values[tuple(spot)])
            moved |= self._one_passed(node, bounds.rows[spot[0]].kind, at, value=value, over=bool(over[tuple(spot)]))
        if self.cut_outs or self.tails:
            leaving = self.leaving(node)
            for spot in np.argwhere(leaving):
                self._load_leaves(node, tuple(int(i) for i in spot))
            if leaving.any():
                self.loads.leave(leaving)
                moved = True
        return moved

    def _one_passed(self, node: Node, kind: Kind, at: Place, *, value: float, over: bool) -> bool:
        if kind == "current":
            return self._current_passed(node, at, value, over)
        if kind == "highest cell":
            self._trip(node, at, "charge", why="cell high", value=value)
        elif kind == "lowest cell":
            self._trip(node, at, "discharge", why="cell low", value=value)
        elif kind == "state of charge":
            self._stop(node, at, value, CURVE_ENDS)
        elif kind == "temperature":
            self._degc_passed(node, at, value)
        return True

    def _degc_passed(self, node: Node, at: Place, value: float) -> None:
        lim, table = self.rig.modules.limits, self.rig.modules.factor_table
        hot = value > lim.charge_highest_degc[at]
        if self.switches.may_charge[at] and (value < lim.charge_lowest_degc[at] or hot):
            self.switches = self.switches.blocked(at, "charge")
            self._tell(node, f"blocks charge: {'hot' if hot else 'cold'}", at, value)
        if table is not None and not table[0][0] <= value <= table[0][-1]:
            self._stop(node, at, value, TABLE_ENDS)
        elif value < lim.discharge_lowest_degc[at] or value > lim.discharge_highest_degc[at]:
            self.switches = self.switches.blocked(at, "discharge")
            self._tell(node, "blocks discharge: temperature", at, value)

    def _current_passed(self, node: Node, at: Place, value: float, over: bool) -> bool:
        lim = self.rig.modules.limits
        if self.switches.timing[at]:
            self._no_trip(at)
            self._tell(node, "over-current ends", at, value)
            self._timed(at, 0)
            return False
        side = 1 if over else -1
        bound = lim.discharge_trip[at] if over else -lim.charge_trip[at]
        if (value - bound) * side < 0:  # not the trip: a valve closing
            return True
        delay = float((lim.discharge_delay if over else lim.charge_delay)[at])
        self._tell(node, "over-current begins", at, value)
        if delay <= 0:
            self._trip(node, at, "discharge" if over else "charge", why="over-current", value=value)
            return True
        self._schedule(node.time + delay, "trip", at)
        self._timed(at, side)
        return False

    def _timed(self, at: Place, side: int) -> None:
        self.switches = self.switches.timed(at, side)
        self.bounds = self.watcher.bounds(self.switches)

    def _load_leaves(self, node: Node, spot: Place) -> None:
        load = self.loads.loads[spot[-1]]
        done = load.law == "charger"
        value = float(np.atleast_1d(node.J if done else node.U)[spot])
        variant = spot[0] if self.rig.lead else None
        what = "charge done: tail current" if done else "load leaves: cut-out voltage"
        self.events.append(RunEvent(float(node.time), what, load.name, variant, value))

    def _stop(self, node: Node, at: Place, value: float, why: str) -> None:
        """Beyond the end of a table nothing is known: the variant stops here."""
        variant = at[:-1]
        if bool(self.switches.stopped[variant]):
            return
        self._tell(node, f"stops: {why}", at, value)
        self.switches = self.switches.ended(variant)
        mask = np.zeros_like(self.loads.left)
        mask[variant] = True
        self.loads.leave(mask)

    def lose_loads(self, time: float, state: State | Node) -> None:
        """Take off every drawing load that cannot be fed (all loads of the variants concerned)."""
        mask = np.zeros_like(self.loads.left)
        for k, load in enumerate(self.loads.loads):
            if load.law == "power" and self.loads.value(k, time) > 0:
                mask[..., k] = self._cannot_feed(state, k, time)
        what = "load lost: cannot be delivered"
        for spot in np.argwhere(mask & ~self.loads.left):
            variant = int(spot[0]) if self.rig.lead else None
            self.events.append(RunEvent(float(time), what, self.loads.loads[spot[-1]].name, variant))
        self.loads.leave(mask)

    def _cannot_feed(self, state: State | Node, k: int, time: float) -> np.ndarray:
        if not self.loads.one:
            return np.ones(self.rig.lead, dtype=bool)
        m, view = self.rig.modules, self.stage.view(state.factor)
        E = m.curves.look_up(state.Y[0], m.shift)[0] - state.Y[1] - state.Y[2]
        U = (view.u[..., k, :] * E).sum(-1)
        room = U * U - 4 * view.Z[..., k, k] * self.loads.value(k, time)
        return np.asarray((room <= 1e-9 * U * U) | (U <= 0))

    def settle(self, state: State) -> Node:
        """Connect what may conduct, valves in their right position, and solve; loads that cannot be fed leave."""
        s = self.switches
        valve, pull = s.valve, self.watcher.pull_of(s)
        on = s.free | valve
        for _ in range(4 * on.shape[-1] + 4):
            solved = self._solved(state, on)
            wrong = valve & on & np.where(s.may_discharge, solved.current < -TINY, solved.current > TINY)
            if wrong.any():
                on = on & ~wrong
                continue
            waiting = valve & ~on & (pull(solved) > TINY) if valve.any() else valve
            if not waiting.any():
                break
            on = on | waiting
        self._tell_dead(solved)
        self.switches = self.switches.conducting(self.stage.on)
        self.bounds = self.watcher.bounds(self.switches)
        return solved

    def _tell_dead(self, node: Node) -> None:
        """Say it where a bus has lost its last module, or has one again."""
        dead = self.loads.dead & ~self.switches.stopped
        for spot in np.argwhere(dead ^ self.was_dead):
            at = tuple(int(i) for i in spot)
            what = "no module is left on it" if dead[at] else "has a module again"
            self.events.append(RunEvent(float(node.time), what, "bus", at[0] if at else None))
        self.was_dead = dead

    def _solved(self, state: State, on: np.ndarray) -> Node:
        self.stage = self._stage(on)
        self.loads.rest_while(self.stage.dead)
        solved = self.stage.settle(state)
        if solved is None:
            self.lose_loads(state.time, state)
            solved = self.stage.settle(state)
        if solved is None:
            raise RuntimeError("the network has no solution even without its loads")
        return solved
