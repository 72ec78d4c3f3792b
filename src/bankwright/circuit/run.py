"""A bank over time: state of charge, relaxation, temperature, limits as exact events.

Gives: run(), Run. Steps are chosen by their error, from milliseconds to hours; they end at every change of a load, at
scheduled acts, and at the moment a limit is passed, found by narrowing the step.
Limits: nothing is extrapolated: at the end of a voltage curve the run (or that variant of it) stops as an event.
Progress: `progress(share done, time)` may answer False to end the run; Ctrl-C ends it too; what was computed is kept.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from bankwright.circuit.events import RunEvent, Switchboard
from bankwright.circuit.network import Array, frozen
from bankwright.circuit.run_loads import LoadSide, RunLoad
from bankwright.circuit.run_modules import RunModules
from bankwright.circuit.run_ports import Ports
from bankwright.circuit.run_step import Node, Stepper
from bankwright.circuit.run_tape import Ledger, Tape

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
    energy: dict[str, float | Array] | None = None

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
    gap: npt.ArrayLike = 0.0,
    joins: Sequence[tuple[float, str]] = (),
    apart: Sequence[str] = (),
    tolerance: float = TOLERANCE,
    every: float | None = None,
    longest: float = math.inf,
    energy: bool = False,
    progress: Progress | None = None,
) -> Run:
    """Run a bank from its state of charge; modules in `joins` close at their time, those in `apart` stay open.

    Nodes are kept at every step, or about one in `every` seconds; `longest` bounds a step for those who read between
    nodes along straight lines.
    """
    lead = np.broadcast_shapes(modules.lead, ports.passive.shape[:-2], np.shape(soc)[:-1])
    if lead != modules.lead:
        raise ValueError(f"variants of modules {modules.lead} and of the start {lead} differ")
    side = LoadSide(loads, ports.load_names, lead)
    stepper = Stepper(modules, ports, side)
    v1, v2 = (np.asarray(branch, dtype=float) for branch in branches)
    node = stepper.first(np.asarray(soc, dtype=float), (v1, v2), np.asarray(gap, dtype=float))
    waiting = {name for _, name in joins} | set(apart)
    unknown = waiting - set(modules.names)
    if unknown:
        raise ValueError(f"no such module: {', '.join(sorted(unknown))}")
    closed = np.array([name not in waiting for name in modules.names])
    board = Switchboard(modules, stepper, side, closed)
    for time, name in joins:
        for place in np.ndindex(*lead):
            board.schedule(time, "joins", (*place, modules.names.index(name)))
    return _Driver(stepper, board, side, tolerance, until, every, longest, energy, progress).drive(node)


class _Driver:
    """The loop of a run."""

    def __init__(
        self,
        stepper: Stepper,
        board: Switchboard,
        loads: LoadSide,
        tolerance: float,
        until: float,
        every: float | None,
        longest: float,
        energy: bool,
        progress: Progress | None,
    ) -> None:
        self.stepper, self.board, self.loads, self.tolerance, self.until = stepper, board, loads, tolerance, until
        self.tape = Tape(stepper.shape, len(loads.loads), every)
        self.longest = longest
        self.h, self.last, self.steps, self.told, self.progress = 0.1, 0.0, 0, 0, progress
        self.ledger = Ledger(stepper) if energy else None

    def drive(self, node: Node) -> Run:
        board, ended = self.board, "at its time"
        try:
            node = self._after_change(node)
            while node.time < self.until:
                stop = min(self.until, self.loads.next_break, board.next_due())
                if node.time < stop - SHORTEST:
                    node = self._advance(node, stop)
                if node.time >= stop - SHORTEST:
                    node = self._at_stop(node, stop)
                if board.stopped.all():
                    ended = "stopped"
                    break
                if self.progress and self.steps - self.told >= 64:
                    self.told = self.steps
                    if self.progress(node.time / self.until, node.time) is False:
                        ended = "interrupted"
                        break
        except KeyboardInterrupt:
            ended = "interrupted"
        self.tape.add(node, self.stepper, keep=True)
        return self._result(node, ended)

    def _at_stop(self, node: Node, stop: float) -> Node:
        """A load changes or something is due: the state stays, the currents jump."""
        node.time = stop
        due = self.board.next_due() <= stop + SHORTEST
        turned = self.loads.next_break <= stop + SHORTEST
        if not due and not turned:
            return node
        if turned:
            self.loads.turn(stop)
        if due and self.board.act_on_due(node):
            return self._after_change(node)
        solved = self.stepper.turned(node)
        if solved is None or self.board.passed(solved):
            return self._after_change(node)
        self.tape.add(solved, self.stepper)
        return solved

    def _after_change(self, node: Node) -> Node:
        """Settle, and follow every bound passed until nothing moves any more."""
        node = self.board.settle(self._copy(node))
        for _ in range(8 * self.stepper.shape[-1] + 8):
            if not self.board.passed(node) or not self.board.act_on_passed(node):
                break
            node = self.board.settle(node)
        self.tape.add(node, self.stepper, keep=True)
        if len(self.board.events) > MOST_EVENTS:
            raise RuntimeError(
                f"more than {MOST_EVENTS} events by {node.time:.6g} s: a limit opens and closes without end"
            )
        self.h = min(self.h, 5.0)
        return node

    @staticmethod
    def _copy(node: Node) -> Node:
        return Node(node.time, node.Y, node.gap, node.temperature, node.factor)

    def _advance(self, node: Node, stop: float) -> Node:
        """One accepted step, ended early where a bound is passed."""
        accepted = self._accepted(node, stop)
        if accepted is None:
            return self._load_lost(node)
        end, error, h = accepted
        if abs(end.time - stop) < SHORTEST:
            end.time = stop  # rounding must not put a node behind the stop that follows it
        self.steps += 1
        grow = min(5.0, 0.85 * (self.tolerance / error) ** (1 / 3)) if error > 0 else 5.0
        self.h = min(max(self.h, h) * grow if grow < 1 else max(self.h, h * grow), self.longest)
        if not self.board.passed(end):
            self._keep(node, end, h)
            return end
        end, h = self._narrow(node, end, h)
        self._keep(node, end, h)
        if self.board.act_on_passed(end):
            return self._after_change(end)
        return end

    def _accepted(self, node: Node, stop: float) -> tuple[Node, float, float] | None:
        """Try shorter and shorter steps until the error is small enough; None where a load cannot be fed."""
        while True:
            h = self._length(stop - node.time)
            tried = self.stepper.try_step(node, h)
            if tried is None:
                if h < SHORTEST_TRY:
                    return None
                self.h = h / 4
            elif tried[1] > self.tolerance and h > 1e-6:
                self.h = h * max(0.1, 0.85 * (self.tolerance / tried[1]) ** (1 / 3))
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

    def _keep(self, node: Node, end: Node, h: float) -> None:
        if self.ledger is not None:
            self.ledger.add(node, end, h)
        self.tape.add(end, self.stepper)

    def _load_lost(self, node: Node) -> Node:
        self.board.lose_loads(node)
        if not self.loads.gone:
            raise RuntimeError(f"no step can be taken at {node.time:.6g} s")
        return self._after_change(node)

    def _narrow(self, node: Node, end: Node, h: float) -> tuple[Node, float]:
        """Shorten the step until it ends just beyond the first bound passed."""
        before, after, best = 0.0, h, end
        for _ in range(60):
            if after - before <= max(1e-7, 1e-12 * node.time):
                break
            middle = 0.5 * (before + after)
            tried = self.stepper.try_step(node, middle)
            if tried is None or self.board.passed(tried[0]):
                after = middle
                best = tried[0] if tried is not None else best
            else:
                before = middle
        return best, after

    def _result(self, node: Node, ended: str) -> Run:
        tape, n = self.tape, self.tape.count
        state = np.moveaxis(tape.state[:n], 0, -2)  # (6, .., time, module)
        load = np.moveaxis(tape.load[:n], 0, -2)
        self._blank_stopped(state, load, tape.time[:n])
        energy = None if self.ledger is None else self.ledger.closed(node)
        return Run(
            self.stepper.m.names, self.stepper.ports.load_names, frozen(tape.time[:n]), frozen(state[3]),
            frozen(state[0]), frozen(state[4]), frozen(state[1:3]), frozen(state[5]), frozen(load[0]), frozen(load[1]),
            tuple(self.board.events), ended, self.steps, self.stepper.ports, energy,
        )  # fmt: skip

    def _blank_stopped(self, state: Array, load: Array, time: Array) -> None:
        if not self.stepper.lead:
            return
        for event in self.board.events:
            if event.what.startswith("stops") and event.variant is not None:
                late = time > event.time
                state[:, event.variant, late] = np.nan
                load[:, event.variant, late] = np.nan
