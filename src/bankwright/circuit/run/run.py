"""A bank over time: state of charge, relaxation, temperature, limits as exact events.

Gives: run(), Run. Steps are chosen by their error, from milliseconds to hours; they end at every change of a load, at
acts that are due, and at the moment a limit is passed, found by narrowing the step. Equal pieces of a profile are
taken many at once where nothing happens (circuit/run/stretch).
Limits: nothing is extrapolated: at the end of a voltage curve the run (or that variant of it) stops as an event.
Progress: `progress(share done, time)` may answer False to end the run; Ctrl-C ends it too; what was computed is kept.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from bankwright.circuit.network import Array, frozen
from bankwright.circuit.run.loads import LoadSide, RunLoad
from bankwright.circuit.run.modules import RunModules
from bankwright.circuit.run.ports import Ports
from bankwright.circuit.run.step import Node, Rig
from bankwright.circuit.run.stretch import Stretches
from bankwright.circuit.run.switchboard import RunEvent, Switchboard
from bankwright.circuit.run.tape import Tape

__all__ = ["Run", "run"]

Progress = Callable[[float, float], bool | None]
TOLERANCE = 2e-5  # V a step
MOST_EVENTS = 20_000
SHORTEST = 1e-9  # s
SHORTEST_TRY = 1e-7


@dataclass(frozen=True, eq=False)
class Run:
    """What happened. Axes: variant where there are any, time, then module or load; NaN after a variant has stopped."""

    names: tuple[str, ...]
    load_names: tuple[str, ...]
    time: Array
    module_current: Array
    soc: Array
    voltage: Array  # at the module's posts
    branches: Array  # (2, .., time, module)
    temperature_degc: Array
    load_current: Array
    load_voltage: Array
    events: tuple[RunEvent, ...]
    ended: str  # "at its time", "interrupted", "stopped"
    steps: int
    ports: Ports

    def current(self, name: str) -> Array:
        """Current of a module, a load or an edge of the network over time."""
        if name in self.names:
            return np.asarray(self.module_current[..., self.names.index(name)])
        if name in self.load_names:
            return np.asarray(self.load_current[..., self.load_names.index(name)])
        return self.edge_currents()[..., self.ports.edges.index(name)]

    def edge_currents(self) -> Array:
        """Currents (.., time, edges) of the network behind the ports."""
        return self.ports.edge_currents(self.module_current, self.load_current)

    def at(self, time: float) -> int:
        """Place of the last node at or before a time."""
        return int(np.searchsorted(self.time, time + 1e-9, side="right")) - 1

    def events_of(self, words: str) -> tuple[RunEvent, ...]:
        """Events whose text holds these words."""
        return tuple(event for event in self.events if words in event.what)


def run(
    ports: Ports,
    modules: RunModules,
    loads: Sequence[RunLoad] = (),
    *,
    until: float,
    soc: npt.ArrayLike,
    branches: tuple[npt.ArrayLike, npt.ArrayLike] = (0.0, 0.0),
    tolerance: float = TOLERANCE,
    longest: float = math.inf,
    progress: Progress | None = None,
) -> Run:
    """Run a bank from its state of charge and branch voltages, all modules closed.

    Nodes are kept at every step; `longest` bounds a step for those who read between nodes along straight lines.
    """
    lead = np.broadcast_shapes(modules.lead, ports.passive.shape[:-2], np.shape(soc)[:-1])
    if lead != modules.lead:
        raise ValueError(f"variants of modules {modules.lead} and of the start {lead} differ")
    rig, side = Rig.of(modules, ports), LoadSide(loads, ports.load_names, lead)
    v1, v2 = (np.asarray(branch, dtype=float) for branch in branches)
    state = rig.first(np.asarray(soc, dtype=float), (v1, v2))
    bounds = _Reach(until, tolerance, longest)
    driver = _Driver(rig, side, bounds, progress)
    return driver.drive(driver.board.settle(state))


@dataclass(frozen=True, slots=True)
class _Reach:
    """How far a run goes and how it steps."""

    until: float
    tolerance: float
    longest: float


class _Driver:
    """The loop of a run."""

    def __init__(self, rig: Rig, loads: LoadSide, reach: _Reach, progress: Progress | None) -> None:
        self.rig, self.loads, self.reach, self.progress = rig, loads, reach, progress
        self.board = Switchboard(rig, loads)
        self.tape = Tape(rig, len(loads.loads))
        self.stretches = Stretches(rig, loads, reach.tolerance) if Stretches.fit(rig, loads) else None
        self.h, self.last, self.steps, self.told = 0.1, 0.0, 0, 0

    def drive(self, node: Node) -> Run:
        ended = "at its time"
        try:
            node = self._after_change(node)
            while node.time < self.reach.until:
                node = self._on(node)
                if self.board.switches.stopped.all():
                    ended = "stopped"
                    break
                if self._told_to_stop(node.time):
                    ended = "interrupted"
                    break
        except KeyboardInterrupt:
            ended = "interrupted"
        self.tape.add(node)
        return self._result(ended)

    def _on(self, node: Node) -> Node:
        """A step, or a stretch of them, and what waits at its end."""
        stop = min(self.reach.until, self.loads.next_break, self.board.next_due())
        if node.time < stop - SHORTEST:
            node, stop = self._stretched(node, stop) or (self._advance(node, stop), stop)
        return self._at_stop(node, stop) if node.time >= stop - SHORTEST else node

    def _stretched(self, node: Node, stop: float) -> tuple[Node, float] | None:
        """Many equal pieces of the profile at once, as far as nothing happens; None where there are none."""
        if self.stretches is None or stop - node.time > self.reach.longest:
            return None
        end = min(self.reach.until, self.board.next_due())
        found = self.stretches.ahead(node, self.board, end)
        if found is None:
            return None
        self.loads.turn(found.last)
        settled = self.board.stage.settle(found.state)
        if settled is None:
            return None
        self.tape.add_many(found)
        self.steps += found.count
        self.tape.add(settled)
        return settled, settled.time

    def _told_to_stop(self, time: float) -> bool:
        if self.progress is None or self.steps - self.told < 64:
            return False
        self.told = self.steps
        return self.progress(time / self.reach.until, time) is False

    def _at_stop(self, node: Node, stop: float) -> Node:
        """A load changes or something is due: the state stays, the currents jump."""
        node = node._replace(time=stop)
        due = self.board.next_due() <= stop + SHORTEST
        turned = self.loads.next_break <= stop + SHORTEST
        if not due and not turned:
            return node
        if turned:
            self.loads.turn(stop)
        if due and self.board.act_on_due(node):
            return self._after_change(node)
        solved = self.board.stage.turned(node)
        if solved is None or self.board.passed(solved):
            return self._after_change(node)
        self.tape.add(solved)
        return solved

    def _after_change(self, node: Node) -> Node:
        """Settle, and follow every bound passed until nothing moves any more."""
        node = self.board.settle(node.state)
        for _ in range(8 * self.rig.shape[-1] + 8):
            if not self.board.passed(node) or not self.board.act_on_passed(node):
                break
            node = self.board.settle(node.state)
        self.tape.add(node)
        if len(self.board.events) > MOST_EVENTS:
            raise RuntimeError(
                f"more than {MOST_EVENTS} events by {node.time:.6g} s: a limit opens and closes without end"
            )
        self.h = min(self.h, 5.0)
        return node

    def _advance(self, node: Node, stop: float) -> Node:
        """One accepted step, ended early where a bound is passed."""
        accepted = self._accepted(node, stop)
        if accepted is None:
            return self._load_lost(node)
        end, error, h = accepted
        if abs(end.time - stop) < SHORTEST:
            end = end._replace(time=stop)  # rounding must not put a node behind the stop that follows it
        self.steps += 1
        grow = min(5.0, 0.85 * (self.reach.tolerance / error) ** (1 / 3)) if error > 0 else 5.0
        self.h = min(max(self.h, h) * grow if grow < 1 else max(self.h, h * grow), self.reach.longest)
        if not self.board.passed(end):
            self.tape.add(end)
            return end
        end = self._narrow(node, end, h)
        self.tape.add(end)
        if self.board.act_on_passed(end):
            return self._after_change(end)
        return end

    def _accepted(self, node: Node, stop: float) -> tuple[Node, float, float] | None:
        """Try shorter and shorter steps until the error is small enough; None where a load cannot be fed."""
        while True:
            h = self._length(stop - node.time)
            tried = self.board.stage.try_step(node, h)
            if tried is None:
                if h < SHORTEST_TRY:
                    return None
                self.h = h / 4
            elif tried[1] > self.reach.tolerance and h > 1e-6:
                self.h = h * max(0.1, 0.85 * (self.reach.tolerance / tried[1]) ** (1 / 3))
            else:
                return (*tried, h)

    def _length(self, left: float) -> float:
        """Equal steps to the next stop; the last length again where it fits, so that its matrices serve again."""
        if 0.6 * self.h <= self.last <= self.h:
            count = left / self.last
            if abs(count - round(count)) < 1e-7 * count:
                return self.last
        self.last = left / max(1, math.ceil(left / self.h - 1e-9))
        return self.last

    def _load_lost(self, node: Node) -> Node:
        self.board.lose_loads(node.time, node)
        if not self.loads.gone:
            raise RuntimeError(f"no step can be taken at {node.time:.6g} s")
        return self._after_change(node)

    def _narrow(self, node: Node, end: Node, h: float) -> Node:
        """Shorten the step until it ends just beyond the first bound passed."""
        before, after, best = 0.0, h, end
        for _ in range(60):
            if after - before <= max(1e-7, 1e-12 * node.time):
                break
            middle = 0.5 * (before + after)
            tried = self.board.stage.try_step(node, middle)
            if tried is None or self.board.passed(tried[0]):
                after = middle
                best = tried[0] if tried is not None else best
            else:
                before = middle
        return best

    def _result(self, ended: str) -> Run:
        tape, n = self.tape, self.tape.count
        state = np.moveaxis(tape.state[:n], 0, -2)  # (6, .., time, module)
        load = np.moveaxis(tape.load[:n], 0, -2)
        self._blank_stopped(state, load, tape.time[:n])
        m, ports = self.rig.modules, self.rig.ports
        return Run(
            names=m.names, load_names=ports.load_names, time=frozen(tape.time[:n]), module_current=frozen(state[3]),
            soc=frozen(state[0]), voltage=frozen(state[4]), branches=frozen(state[1:3]),
            temperature_degc=frozen(state[5]), load_current=frozen(load[0]), load_voltage=frozen(load[1]),
            events=tuple(self.board.events), ended=ended, steps=self.steps, ports=ports,
        )  # fmt: skip

    def _blank_stopped(self, state: Array, load: Array, time: Array) -> None:
        if not self.rig.lead:
            return
        for event in self.board.events:
            if event.what.startswith("stops") and event.variant is not None:
                late = time > event.time
                state[:, event.variant, late] = np.nan
                load[:, event.variant, late] = np.nan
