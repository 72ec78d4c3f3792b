"""One step of a run: an implicit exponential step of third order with an error estimate, one linear solve each.

Gives: State, Node, Rig, Stage. Over a step each module current is taken as a parabola through its start value, start
slope and end value; branches and state of charge follow it exactly. The end value solves the same network with larger
module resistances, so laws of loads hold at the end too; the straight line between the ends (order 2) gives the error.
Where the curve is so steep that a step spans its answer, a damped straight line (order 1 to 2) takes the parabola's
place.
State: nodes and weights never change once made; a stage is one state of the switches, and keeps matrices by value.
Limits: the curve is straight between its points; switches do not change inside a step (circuit/run/switchboard).
Source: exponential integrators by variation of constants [derived in docs/run.md].
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from bankwright.circuit.network import Array
from bankwright.circuit.run.loads import LoadSide
from bankwright.circuit.run.modules import RunModules
from bankwright.circuit.run.ports import Ports, View
from bankwright.physics.cell import branch_weights

__all__ = ["Node", "Rig", "Stage", "State"]

STIFF = 2.5  # steps longer than this many times the answer of the curve take the damped form, or they would swing up
THETA = 0.55  # of the damped form: weight of the end current, above 1/2 so that what is settled stays settled
SLOPE_SLACK = 0.02  # of the ohmic resistance: how far the curve's slope may drift before the matrices are made anew
MOST_KEPT = 64  # matrices and weights of a stage

Factor = float | Array  # of the cells' resistance; a float where no table over temperature was given
Key = float | bytes


class State(NamedTuple):
    """What the modules hold at one time: Y (3, .., M) are state of charge and two branch voltages."""

    time: float
    Y: Array
    temperature: Array
    factor: Factor


class Node(NamedTuple):
    """A state and what follows from it: J and U are floats for the one load of one variant, else (.., L)."""

    time: float
    Y: Array
    temperature: Array
    factor: Factor
    view: View
    E: Array
    alpha: Array  # slope of the curve
    current: Array
    J: Any
    U: Any

    @property
    def state(self) -> State:
        """Its state alone."""
        return State(self.time, self.Y, self.temperature, self.factor)


@dataclass(frozen=True, eq=False, slots=True)
class Weights:
    """What a step of one length needs, made once for each length and factor of resistance."""

    key: tuple[float, bool, Key]
    decay: Array
    w0: Array
    wd: Array
    w1: Array
    b: Array
    share: Array
    resistance: Array
    error_rc: Array

    @classmethod
    def of(cls, rig: Rig, key: tuple[float, bool, Key], factor: Factor) -> Weights:
        """Fold time constants and resistances into four factors."""
        m, (h, stiff, _) = rig.modules, key
        f1, a0, a1, a2 = branch_weights(h / rig.tau[0])
        f2, b0, b1, b2 = branch_weights(h / rig.tau[1])
        r1, r2 = m.r1 * factor, m.r2 * factor
        share = h / m.capacity
        shape = (3, *np.broadcast_shapes(share.shape, np.shape(r1)))
        decay, w0, wd, w1 = np.ones(shape), np.empty(shape), np.zeros(shape), np.empty(shape)
        decay[1], decay[2] = f1, f2
        now, slope, then = (THETA - 1.0, 0.0, -THETA) if stiff else (-2.0 / 3.0, -1.0 / 6.0, -1.0 / 3.0)
        end_1, end_2 = (a1, b1) if stiff else (a2, b2)
        w0[0], w1[0] = share * now, share * then
        if not stiff:
            wd[0], wd[1], wd[2] = share * slope, r1 * (a1 - a2), r2 * (b1 - b2)
        w0[1], w1[1] = r1 * (a0 - end_1), r1 * end_1
        w0[2], w1[2] = r2 * (b0 - end_2), r2 * end_2
        error_rc = r1 * (a1 - a2) + r2 * (b1 - b2)
        return cls(key, decay, w0, wd, w1, -w1[0], share, w1[1] + w1[2], np.asarray(error_rc))


def _alike(values: Array) -> float | Array:
    """A plain float where all entries are the same: quicker."""
    flat = values.reshape(-1)
    return float(flat[0]) if flat.size and bool((flat == flat[0]).all()) else values


def _key(factor: Factor) -> Key:
    return factor if isinstance(factor, float) else factor.tobytes()


@dataclass(frozen=True, eq=False)
class Rig:
    """Modules and the wiring between them: what stays the same for a whole run."""

    modules: RunModules
    ports: Ports
    lead: tuple[int, ...]
    shape: tuple[int, ...]
    warms: bool
    inverse_capacity: Array
    stiffness: Array
    inverse_1: Array
    inverse_2: Array
    answer: Array  # rate at which the branches answer a current at 25 degC, V/(A s)
    tau: tuple[float | Array, float | Array]

    @classmethod
    def of(cls, modules: RunModules, ports: Ports) -> Rig:
        """Prepare it."""
        m = modules
        lead = np.broadcast_shapes(m.lead, ports.passive.shape[:-2], ports.own.shape[:-2])
        one, two = 1.0 / m.tau1, 1.0 / m.tau2
        inverse = 1.0 / m.capacity
        return cls(
            modules=m, ports=ports, lead=lead, shape=(*lead, len(m.names)),
            warms=bool(np.isfinite(m.heat_capacity).any()), inverse_capacity=inverse,
            stiffness=inverse / np.maximum(m.metal + m.ohmic_cells, 1e-9), inverse_1=one, inverse_2=two,
            answer=m.r1 * one + m.r2 * two, tau=(_alike(m.tau1), _alike(m.tau2)),
        )  # fmt: skip

    def factor(self, temperature: Array) -> Factor:
        """Resistance of the cells against 25 degC; 1 where no table was given."""
        if self.modules.factor_table is None:
            return 1.0
        degc, logs = self.modules.factor_table  # a run stops at the ends of the table: circuit/run/switchboard
        return np.asarray(np.exp(np.interp(temperature, degc, logs)))

    def first(self, soc: Array, branches: tuple[Array, Array]) -> State:
        """State at time 0."""
        wide = [np.broadcast_to(part, self.shape) for part in (soc, *branches)]
        temperature = np.broadcast_to(self.modules.temperature_degc, self.shape)
        table = self.modules.factor_table
        if table is not None and ((temperature < table[0][0]) | (temperature > table[0][-1])).any():
            raise ValueError(
                f"a temperature lies outside the table of resistance, {table[0][0]:g} to {table[0][-1]:g} degC"
            )
        return State(0.0, np.stack(wide).astype(float), temperature, self.factor(self.modules.temperature_degc))

    def heat(self, state: State | Node, current: Array) -> Array:
        """Power lost inside each module, connections outside it left out. [W]"""
        m, f = self.modules, state.factor
        lost = (m.metal + m.ohmic_cells * f) * current**2
        for volts, r in ((state.Y[1], m.r1), (state.Y[2], m.r2)):
            given = np.broadcast_to(r > 0, self.shape)
            lost = lost + np.divide(volts**2, r * f, out=np.zeros(self.shape), where=given)
        return np.asarray(lost)

    def warmed(self, state: State, power: Array, h: float) -> State:
        """The state after h at a mean power lost in each module; nothing cools it."""
        temperature = state.temperature + h * power / self.modules.heat_capacity
        return state._replace(temperature=temperature, factor=self.factor(temperature))


class Ahead(NamedTuple):
    """Matrices for the end of steps of one length, near one slope of the curve."""

    alpha: Array
    slack: Array
    error_of: Array
    view: View


class Stage:
    """The rig in one state of the switches: settles states and carries nodes forward; keeps matrices by value."""

    def __init__(self, rig: Rig, loads: LoadSide, on: np.ndarray) -> None:
        """Connect exactly the modules `on`."""
        self.rig, self.loads, self.on = rig, loads, on
        self.dead = np.asarray(~np.asarray(on.any(axis=-1)))
        self._views: dict[Key, View] = {}
        self._weights: dict[tuple[float, bool, Key], Weights] = {}
        self._ahead: dict[tuple[float, bool, Key], Ahead] = {}

    def view(self, factor: Factor) -> View:
        """Matrices of the network at a factor of resistance."""
        key = _key(factor)
        if key not in self._views:
            if len(self._views) >= MOST_KEPT:
                self._views.clear()
            m = self.rig.modules
            self._views[key] = self.rig.ports.view(m.metal + m.ohmic_cells * factor, self.on)
        return self._views[key]

    def settle(self, state: State) -> Node | None:
        """Solve the network for a state; None where a load cannot be fed."""
        m, view = self.rig.modules, self.view(state.factor)
        volts, alpha = m.curves.look_up(state.Y[0], m.shift)
        E = volts - state.Y[1] - state.Y[2]
        found = self.loads.flow(view, E, state.time)
        return None if found is None else Node(*state, view, E, alpha, *found)

    def turned(self, node: Node) -> Node | None:
        """The same state after a load has changed."""
        found = self.loads.flow(node.view, node.E, node.time)
        return None if found is None else Node(*node[:7], *found)

    def try_step(self, node: Node, h: float) -> tuple[Node, float] | None:
        """Advance by h: the new node and the error in volts; None where a load cannot be fed there."""
        rig, i0 = self.rig, node.current
        w = self.weights(node, h)
        d = h * self._slope(node)
        stiff = w.key[1]
        guess = i0 if stiff else i0 + d
        Y = w.decay * node.Y + w.w0 * i0 + w.wd * d
        volts, alpha = rig.modules.curves.look_up(Y[0] + w.w1[0] * guess, rig.modules.shift)
        ahead = self._looking(node, w, alpha)
        E = volts + ahead.alpha * (w.b * guess) - Y[1] - Y[2]
        found = self.loads.flow(ahead.view, E, node.time + h)
        if found is None:
            return None
        i1 = found[0]
        if stiff:
            tilt = (THETA - 0.5) * np.abs(alpha) * w.share
            error = float((ahead.error_of * np.abs(i1 - i0 - d) + tilt * np.abs(i1 - i0)).max())
        else:
            error = float(np.abs(ahead.error_of * (i1 - guess)).max())
        end = State(node.time + h, Y + w.w1 * i1, node.temperature, node.factor)
        if rig.warms:
            end, off = self._warm(node, end, i1, h)
            error = max(error, off)
        settled = self.settle(end)
        return None if settled is None or error != error else (settled, error)

    def _slope(self, node: Node) -> Array:
        """Rate of the module currents at a node, A/s."""
        rig = self.rig
        load = node.alpha * rig.inverse_capacity + rig.answer * node.factor
        rate = node.Y[1] * rig.inverse_1 + node.Y[2] * rig.inverse_2 - load * node.current
        return self.loads.slope(node.view, rate, node.J, node.U)

    def weights(self, node: Node, h: float) -> Weights:
        """Weights of a step from a node, in the damped form where the curve is too steep for h."""
        stiff = bool(h * float((node.alpha * self.rig.stiffness).max()) > STIFF)
        key = (h, stiff, _key(node.factor))
        found = self._weights.get(key)
        if found is None:
            if len(self._weights) >= MOST_KEPT:
                self._weights.clear()
            found = self._weights[key] = Weights.of(self.rig, key, node.factor)
        return found

    def _looking(self, node: Node, w: Weights, alpha: Array) -> Ahead:
        """Matrices of the end of a step: each module's resistance grows by what its state answers within the step."""
        made = self._ahead.get(w.key)
        if made is not None and not (np.abs(alpha - made.alpha) > made.slack).any():
            return made
        m = self.rig.modules
        ohmic = m.metal + m.ohmic_cells * node.factor
        view = self.rig.ports.view(ohmic + w.resistance + alpha * w.b, self.on)
        error_of = np.abs(alpha) * (w.share / 6.0) + w.error_rc
        if len(self._ahead) >= MOST_KEPT:
            self._ahead.clear()
        self._ahead[w.key] = Ahead(alpha, (SLOPE_SLACK * ohmic + 1e-9) / w.b, error_of, view)
        return self._ahead[w.key]

    def _warm(self, node: Node, end: State, current: Array, h: float) -> tuple[State, float]:
        """Temperature at the end from the mean loss of both ends; the error is what half the change would do to R."""
        rig, m = self.rig, self.rig.modules
        end = rig.warmed(end, (rig.heat(node, node.current) + rig.heat(end, current)) / 2, h)
        if m.factor_table is None:
            return end, 0.0
        drift = np.abs(np.asarray(end.factor) - node.factor) * m.ohmic_cells / 2
        return end, float((drift * np.abs(current - node.current)).max())
