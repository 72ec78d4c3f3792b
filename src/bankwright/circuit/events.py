"""What opens and closes modules during a run: limits, delays, joining, re-closing, the ends of the curve.

Gives: RunEvent, Switchboard. Every limit is a value between two bounds; the run finds the moment at which one is
passed, and the switchboard says what follows: a delay starts, a module opens, blocks one direction or closes again.
A module that may pass current one way only acts as a valve: off while current would flow the other way.
Limits: voltage and temperature trips act at once, over-current after its delay; nothing else is invented.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from bankwright.circuit.network import Array
from bankwright.circuit.run_loads import LoadSide
from bankwright.circuit.run_modules import RunModules
from bankwright.circuit.run_step import Node, Stepper

__all__ = ["RunEvent", "Switchboard"]

TINY = 1e-9
ROWS = ("current", "highest cell", "lowest cell", "state of charge", "temperature", "valve")


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


class Switchboard:
    """State of all switches; tells when a limit is passed and what follows."""

    def __init__(self, modules: RunModules, stepper: Stepper, loads: LoadSide, closed: np.ndarray) -> None:
        """Start with these modules closed; both directions free."""
        self.m, self.stepper, self.loads = modules, stepper, loads
        shape = stepper.shape
        self.closed = np.array(np.broadcast_to(closed, shape))
        self.may_charge, self.may_discharge = np.ones(shape, dtype=bool), np.ones(shape, dtype=bool)
        self.timing = np.zeros(shape, dtype=int)  # 1 over-current out, -1 in, 0 none
        self.stopped = np.zeros(stepper.lead, dtype=bool)  # variants that have come to the end of a curve
        self.was_dead = np.zeros(stepper.lead, dtype=bool)
        self.due: list[tuple[float, str, tuple[int, ...]]] = []
        self.events: list[RunEvent] = []
        lim = modules.limits
        self.has_cells = bool(np.isfinite(lim.cell_high).any() or np.isfinite(lim.cell_low).any())
        self.apart = bool((np.asarray(lim.ahead) > 0).any() or (np.asarray(lim.behind) > 0).any())
        degc = (lim.charge_lowest_degc, lim.charge_highest_degc, lim.discharge_lowest_degc, lim.discharge_highest_degc)
        self.half = np.asarray(lim.spread) / 2
        self.spread = bool((self.half != 0).any())
        self.per_cell = 1.0 / modules.cells
        self.ohmic = modules.ohmic_cells * stepper.factor(modules.temperature_degc)
        self.has_degc = any(np.isfinite(bound).any() for bound in degc)
        self.soc_low, self.soc_high = modules.soc_ends
        self.cut_outs = [(k, load.cut_out) for k, load in enumerate(loads.loads) if load.cut_out is not None]
        self.tails = [(k, load.tail) for k, load in enumerate(loads.loads) if load.tail is not None]
        self.bound()

    # ---- bounds -------------------------------------------------------------------------------------------------

    def bound(self) -> None:
        """Lay down the bounds that hold in this state of the switches."""
        lim, shape, inf = self.m.limits, self.stepper.shape, np.inf
        on, timing = self.stepper.on, self.timing
        valve = self.closed & (self.may_charge ^ self.may_discharge)
        self.valve_off = valve & ~on
        self.any_valve = bool(self.valve_off.any())
        high = np.where(timing == -1, -np.asarray(lim.charge_trip), np.where(timing == 1, inf, lim.discharge_trip))
        low = np.where(timing == 1, lim.discharge_trip, np.where(timing == -1, -inf, -np.asarray(lim.charge_trip)))
        high = np.where(valve & on & ~self.may_discharge, np.minimum(high, TINY), high)
        low = np.where(valve & on & ~self.may_charge, np.maximum(low, -TINY), low)
        rows = [(np.where(on, low, -inf), np.where(on, high, inf))]
        if self.has_cells:
            rows.append((np.full(shape, -inf), np.where(self.closed & self.may_charge, lim.cell_high, inf)))
            rows.append((np.where(self.closed & self.may_discharge, lim.cell_low, -inf), np.full(shape, inf)))
        running = ~self.stopped[..., None]
        rows.append((np.where(running, self.soc_low, -inf), np.where(running, self.soc_high, inf)))
        if self.stepper.warms or self.has_degc:
            rows.append(self._degc_row())
        if self.any_valve:
            rows.append((np.full(shape, -inf), np.where(self.valve_off, TINY, inf)))
        self.low = np.stack([np.broadcast_to(row[0], shape) for row in rows])
        self.high = np.stack([np.broadcast_to(row[1], shape) for row in rows])
        self.buffer = np.empty_like(self.low)

    def _degc_row(self) -> tuple[Any, Any]:
        """Temperatures at which a direction is still free, inside the table of resistance."""
        lim, inf, table = self.m.limits, np.inf, self.m.factor_table
        charging, giving = self.closed & self.may_charge, self.closed & self.may_discharge
        low = np.where(charging, lim.charge_lowest_degc, -inf)
        high = np.where(charging, lim.charge_highest_degc, inf)
        low = np.maximum(low, np.where(giving, lim.discharge_lowest_degc, -inf))
        high = np.minimum(high, np.where(giving, lim.discharge_highest_degc, inf))
        if table is not None and self.stepper.warms:
            running = ~self.stopped[..., None]
            low = np.maximum(low, np.where(running, table[0][0], -inf))
            high = np.minimum(high, np.where(running, table[0][-1], inf))
        return low, high

    def watched(self, node: Node) -> Array:
        """Values in the order of the bounds (rows, .., M)."""
        X, row = self.buffer, 0
        X[0] = node.current
        if self.has_cells:
            high, low = self.cells(node)
            X[1], X[2] = high, low
            row = 2
        row += 1
        X[row] = node.Y[0]
        if self.stepper.warms or self.has_degc:
            row += 1
            X[row] = node.temperature
        if self.any_valve:
            X[row + 1] = self._pull(node)
        return X

    def cells(self, node: Node) -> tuple[Array, Array]:
        """Highest and lowest cell of each module, without its metal."""
        m, lim = self.m, self.m.limits
        ohmic = m.ohmic_cells * node.factor if self.stepper.warms else self.ohmic
        mean = (node.E - ohmic * node.current) * self.per_cell
        high, low = (mean + self.half, mean - self.half) if self.spread else (mean, mean)
        if self.apart:
            here = m.curves.look_up(node.Y[0], m.shift)[0]
            high = high + (m.curves.look_up(node.Y[0] + lim.ahead, m.shift)[0] - here) / m.cells
            low = low + (m.curves.look_up(node.Y[0] - lim.behind, m.shift)[0] - here) / m.cells
        return high, low

    def _pull(self, node: Node) -> Array:
        """Above zero where a module held off would now pass current its free way."""
        J, U = np.atleast_1d(node.J), np.atleast_1d(node.U)
        force = self.stepper.ports.imbalance(node.E, node.current, J, U)
        dead = self.loads.dead
        if dead.any():
            force = np.where(dead[..., None], self.loads.demand(node.time)[..., None], force)
        return np.where(self.may_discharge, force, -force)

    # ---- questions of the run -----------------------------------------------------------------------------------

    def passed(self, node: Node) -> bool:
        """Is any bound passed at this node."""
        X = self.watched(node)
        if bool((np.greater(X, self.high) | np.less(X, self.low)).any()):
            return True
        return self._load_passed(node)

    def _load_passed(self, node: Node) -> bool:
        if not (self.cut_outs or self.tails):
            return False
        return bool(self._leaving(node).any())

    def _leaving(self, node: Node) -> np.ndarray:
        """Loads that leave now: under their cut-out voltage, or a charger whose tail has come."""
        U, J = np.atleast_1d(node.U), np.atleast_1d(node.J)
        mask = np.zeros_like(self.loads.left)
        for k, cut_out in self.cut_outs:
            mask[..., k] |= U[..., k] < cut_out
        for k, tail in self.tails:
            ceiling = self.loads.loads[k].ceiling or 0.0
            held = U[..., k] >= ceiling * (1 - 1e-9)
            mask[..., k] |= held & (-J[..., k] < tail)
        return mask & ~self.loads.left

    def next_due(self) -> float:
        """Time of the next scheduled act."""
        return self.due[0][0] if self.due else np.inf

    def schedule(self, time: float, act: str, at: tuple[int, ...]) -> None:
        """Put an act on the list."""
        self.due.append((time, act, at))
        self.due.sort(key=lambda item: item[0])

    # ---- what follows -------------------------------------------------------------------------------------------

    def act_on_due(self, node: Node) -> bool:
        """Do what is due; True if a switch moved."""
        moved = False
        while self.due and self.due[0][0] <= node.time + 1e-9:
            _, act, at = self.due.pop(0)
            if self.stopped[at[:-1]] if self.stepper.lead else bool(self.stopped):
                continue
            if act == "joins":
                self.closed[at] = True
                self._tell(node, act, at)
            elif act == "recloses":
                self.closed[at] = self.may_charge[at] = self.may_discharge[at] = True
                self._tell(node, act, at)
            elif act == "trip" and self.timing[at]:
                self._trip(
                    node, at, "discharge" if self.timing[at] == 1 else "charge", "over-current", node.current[at]
                )
            else:
                continue
            moved = True
        return moved

    def _tell(self, node: Node, what: str, at: tuple[int, ...], value: float | None = None) -> None:
        variant = int(at[0]) if self.stepper.lead else None
        self.events.append(RunEvent(float(node.time), what, self.m.names[at[-1]], variant, value))

    def _trip(self, node: Node, at: tuple[int, ...], side: str, why: str, value: float) -> None:
        lim = self.m.limits
        opens = bool((lim.charge_trip_opens if side == "charge" else lim.discharge_trip_opens)[at])
        if opens:
            self.closed[at] = False
        elif side == "charge":
            self.may_charge[at] = False
        else:
            self.may_discharge[at] = False
        if not (self.may_charge[at] or self.may_discharge[at]):
            self.closed[at] = False
        self.timing[at] = 0
        self.due = [item for item in self.due if item[1:] != ("trip", at)]
        self._tell(node, f"{'opens' if opens else 'blocks ' + side}: {why}", at, float(value))
        again = float(lim.reclose_after[at])
        if np.isfinite(again):
            self.schedule(node.time + again, "recloses", at)

    def act_on_passed(self, node: Node) -> bool:
        """Follow up every bound passed at this node; True if a switch moved or a load left."""
        X = self.watched(node).copy()
        over, under = np.greater(X, self.high), np.less(X, self.low)
        moved = False
        names = self._row_names()
        for spot in np.argwhere(over | under):
            row, at = names[spot[0]], tuple(int(i) for i in spot[1:])
            value = float(X[tuple(spot)])
            moved |= self._one_passed(node, row, at, value, bool(over[tuple(spot)]))
        leaving = self._leaving(node) if self.cut_outs or self.tails else np.zeros_like(self.loads.left)
        for spot in np.argwhere(leaving):
            self._load_leaves(node, tuple(int(i) for i in spot))
            moved = True
        if leaving.any():
            self.loads.leave(leaving)
        return moved

    def _row_names(self) -> list[str]:
        names = ["current"]
        names += ["highest cell", "lowest cell"] if self.has_cells else []
        names += ["state of charge"]
        names += ["temperature"] if self.stepper.warms or self.has_degc else []
        return names + (["valve"] if self.any_valve else [])

    def _one_passed(self, node: Node, row: str, at: tuple[int, ...], value: float, over: bool) -> bool:
        lim = self.m.limits
        if row == "current":
            return self._current_passed(node, at, value, over)
        if row == "highest cell":
            self._trip(node, at, "charge", "cell high", value)
        elif row == "lowest cell":
            self._trip(node, at, "discharge", "cell low", value)
        elif row == "state of charge":
            self._stop(node, at, value)
        elif row == "temperature":
            hot = value > lim.charge_highest_degc[at]
            if self.may_charge[at] and (value < lim.charge_lowest_degc[at] or hot):
                self.may_charge[at] = False
                self._tell(node, f"blocks charge: {'hot' if hot else 'cold'}", at, value)
            table = self.m.factor_table
            if table is not None and not table[0][0] <= value <= table[0][-1]:
                self._stop(node, at, value, "end of the table of resistance over temperature")
            elif value < lim.discharge_lowest_degc[at] or value > lim.discharge_highest_degc[at]:
                self.may_discharge[at] = False
                self._tell(node, "blocks discharge: temperature", at, value)
        return True

    def _current_passed(self, node: Node, at: tuple[int, ...], value: float, over: bool) -> bool:
        lim = self.m.limits
        if self.timing[at]:
            self.timing[at] = 0
            self.due = [item for item in self.due if item[1:] != ("trip", at)]
            self._tell(node, "over-current ends", at, value)
            self.bound()
            return False
        side = 1 if over else -1
        bound = lim.discharge_trip[at] if over else -lim.charge_trip[at]
        if (value - bound) * side < 0:  # not the trip: a valve closing
            return True
        delay = float((lim.discharge_delay if over else lim.charge_delay)[at])
        self.timing[at] = side
        self._tell(node, "over-current begins", at, value)
        if delay <= 0:
            self._trip(node, at, "discharge" if over else "charge", "over-current", value)
            return True
        self.schedule(node.time + delay, "trip", at)
        self.bound()
        return False

    def _load_leaves(self, node: Node, spot: tuple[int, ...]) -> None:
        load = self.loads.loads[spot[-1]]
        done = load.law == "charger"
        value = float(np.atleast_1d(node.J if done else node.U)[spot])
        variant = spot[0] if self.stepper.lead else None
        what = "charge done: tail current" if done else "load leaves: cut-out voltage"
        self.events.append(RunEvent(float(node.time), what, load.name, variant, value))

    def _stop(self, node: Node, at: tuple[int, ...], value: float, why: str = "end of the voltage curve") -> None:
        """Beyond the end of a table nothing is known: the variant stops here."""
        variant = at[:-1]
        if bool(self.stopped[variant]):
            return
        self._tell(node, f"stops: {why}", at, value)
        self.stopped[variant] = True
        self.closed[variant] = False
        mask = np.zeros_like(self.loads.left)
        mask[variant] = True
        self.loads.leave(mask)

    def lose_loads(self, node: Node) -> None:
        """Take off every drawing load that cannot be fed (all loads of the variants concerned)."""
        mask = np.zeros_like(self.loads.left)
        for k, load in enumerate(self.loads.loads):
            if load.law == "power" and self.loads.value(k, node.time) > 0:
                mask[..., k] = self._cannot_feed(node, k)
        for spot in np.argwhere(mask & ~self.loads.left):
            variant = int(spot[0]) if self.stepper.lead else None
            self.events.append(
                RunEvent(float(node.time), "load lost: cannot be delivered", self.loads.loads[spot[-1]].name, variant)
            )
        self.loads.leave(mask)

    def _cannot_feed(self, node: Node, k: int) -> np.ndarray:
        if not self.loads.one:
            return np.ones(self.stepper.lead, dtype=bool)
        U = (node.view.u[..., k, :] * node.E).sum(-1)
        room = U * U - 4 * node.view.Z[..., k, k] * self.loads.value(k, node.time)
        return np.asarray((room <= 1e-9 * U * U) | (U <= 0))

    def settle(self, node: Node) -> Node:
        """Connect what may conduct, valves in their right position, and solve; loads that cannot be fed leave."""
        both = self.closed & self.may_charge & self.may_discharge
        valve = self.closed & (self.may_charge ^ self.may_discharge)
        on = both | valve
        for _ in range(4 * on.shape[-1] + 4):
            solved = self._solved(node, on)
            wrong = valve & on & np.where(self.may_discharge, solved.current < -TINY, solved.current > TINY)
            if wrong.any():
                on = on & ~wrong
                continue
            waiting = valve & ~on & (self._pull(solved) > TINY) if valve.any() else valve
            if not waiting.any():
                break
            on = on | waiting
        self._tell_dead(solved)
        self.bound()
        return solved

    def _tell_dead(self, node: Node) -> None:
        """Say it where a bus has lost its last module, or has one again."""
        dead = self.loads.dead & ~self.stopped
        for spot in np.argwhere(dead ^ self.was_dead):
            at = tuple(int(i) for i in spot)
            what = "no module is left on it" if dead[at] else "has a module again"
            self.events.append(RunEvent(float(node.time), what, "bus", at[0] if at else None))
        self.was_dead = dead

    def _solved(self, node: Node, on: np.ndarray) -> Node:
        self.stepper.switch(on)
        solved = self.stepper.settle(node)
        if solved is None:
            self.lose_loads(node)
            solved = self.stepper.settle(node)
        if solved is None:
            raise RuntimeError("the network has no solution even without its loads")
        return solved
