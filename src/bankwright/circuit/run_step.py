"""One step of a run: an implicit exponential step of third order with an error estimate, one linear solve each.

Gives: Node, Stepper. Over a step each module current is taken as a parabola through its start value, start slope and
end value; branches and state of charge follow it exactly. The end value solves the same network with larger module
resistances, so laws of loads hold at the end too; the straight line between the ends (order 2) gives the error. Where
the curve is so steep that a step spans its answer, a damped straight line (order 1 to 2) takes the parabola's place.
Limits: the curve is straight between its points; switches do not change inside a step (circuit/events).
Source: exponential integrators by variation of constants [derived in docs/run.md].
"""

from __future__ import annotations

from typing import Any

import numpy as np

from bankwright.circuit.network import Array
from bankwright.circuit.run_loads import LoadSide
from bankwright.circuit.run_modules import RunModules
from bankwright.circuit.run_ports import Ports, View
from bankwright.physics.cell import branch_weights

__all__ = ["Node", "Stepper"]

STIFF = 2.5  # steps longer than this many times the answer of the curve take the damped form, or they would swing up
THETA = 0.55  # of the damped form: weight of the end current, above 1/2 so that what is settled stays settled
SLOPE_SLACK = 0.02  # of the ohmic resistance: how far the curve's slope may drift before the matrices are made anew


class Node:
    """State at one time with everything that follows from it."""

    __slots__ = ("E", "J", "U", "Y", "alpha", "current", "factor", "gap", "temperature", "time", "view")

    def __init__(self, time: float, Y: Array, gap: Any, temperature: Array, factor: Any) -> None:
        """Keep the state: Y (3, .., M) = state of charge and two branch voltages."""
        self.time, self.Y, self.gap, self.temperature, self.factor = time, Y, gap, temperature, factor
        self.view: View
        self.E: Array
        self.alpha: Array
        self.current: Array
        self.J: Any
        self.U: Any


class Weights:
    """What a step of one length needs, made once for each length."""

    __slots__ = ("b", "decay", "error_rc", "key", "resistance", "share", "w0", "w1", "wd")

    def __init__(self, m: RunModules, h: float, factor: Any, tau: tuple[Any, Any], stiff: bool) -> None:
        """Fold time constants and resistances into four factors."""
        f1, a0, a1, a2 = branch_weights(h / tau[0])
        f2, b0, b1, b2 = branch_weights(h / tau[1])
        r1, r2 = m.r1 * factor, m.r2 * factor
        share = h / m.capacity
        self.key = (h, stiff)
        shape = (3, *np.broadcast_shapes(share.shape, np.shape(r1)))
        self.decay, self.w0, self.wd, self.w1 = np.ones(shape), np.empty(shape), np.zeros(shape), np.empty(shape)
        self.decay[1], self.decay[2] = f1, f2
        now, slope, then = (THETA - 1.0, 0.0, -THETA) if stiff else (-2.0 / 3.0, -1.0 / 6.0, -1.0 / 3.0)
        np.multiply(share, now, out=self.w0[0])
        np.multiply(share, then, out=self.w1[0])
        if stiff:
            end_1, end_2 = a1, b1
        else:
            end_1, end_2 = a2, b2
            np.multiply(share, slope, out=self.wd[0])
            np.multiply(r1, a1 - a2, out=self.wd[1])
            np.multiply(r2, b1 - b2, out=self.wd[2])
        np.multiply(r1, a0 - end_1, out=self.w0[1])
        np.multiply(r1, end_1, out=self.w1[1])
        np.multiply(r2, b0 - end_2, out=self.w0[2])
        np.multiply(r2, end_2, out=self.w1[2])
        self.b = -self.w1[0]
        self.share = share
        self.resistance = self.w1[1] + self.w1[2]
        self.error_rc = r1 * (a1 - a2) + r2 * (b1 - b2)


def _alike(values: Array) -> Any:
    """A plain float where all entries are the same: quicker."""
    flat = values.reshape(-1)
    return float(flat[0]) if flat.size and bool((flat == flat[0]).all()) else values


class Stepper:
    """Carries nodes forward."""

    def __init__(self, modules: RunModules, ports: Ports, loads: LoadSide) -> None:
        """Prepare what stays the same for the whole run."""
        self.m, self.ports, self.loads = modules, ports, loads
        self.lead = np.broadcast_shapes(modules.lead, ports.passive.shape[:-2], ports.own.shape[:-2])
        self.shape = (*self.lead, len(modules.names))
        self.hysteresis = bool((modules.half_gap > 0).any())
        self.warms = bool(np.isfinite(modules.heat_capacity).any())
        self.inverse_capacity = 1.0 / modules.capacity
        self.stiffness = self.inverse_capacity / np.maximum(modules.metal + modules.ohmic_cells, 1e-9)
        self.inverse_1, self.inverse_2 = 1.0 / modules.tau1, 1.0 / modules.tau2
        self.tau = (_alike(modules.tau1), _alike(modules.tau2))
        self.on = np.ones(self.shape, dtype=bool)
        self.solves = 0
        self._weights: dict[tuple[float, bool], Weights] = {}
        self._factor: Any = 1.0
        self._fresh()

    def factor(self, temperature: Array) -> Any:
        """Resistance of the cells against 25 degC; 1 where no table was given."""
        if self.m.factor_table is None:
            return 1.0
        degc, logs = self.m.factor_table
        return np.exp(np.interp(temperature, degc, logs))  # a run stops at the ends of the table: circuit/events

    def _fresh(self) -> None:
        """Forget matrices: switches or temperature changed."""
        self._view: View | None = None
        self._branch_rate: Any = None
        self._ahead: dict[tuple[float, bool], tuple[Array, Array, Array, View]] = {}

    def _answer(self) -> Any:
        """Rate at which the branches answer a current, V/(A s)."""
        if self._branch_rate is None:
            self._branch_rate = (self.m.r1 * self.inverse_1 + self.m.r2 * self.inverse_2) * self._factor
        return self._branch_rate

    def switch(self, on: np.ndarray) -> None:
        """Connect exactly these modules."""
        self.on = on
        self.loads.rest_while(np.asarray(~np.asarray(on.any(axis=-1))))
        self._fresh()

    def first(self, soc: Array, branches: tuple[Array, Array], gap: Array) -> Node:
        """Node at time 0, not yet settled."""
        wide = [np.broadcast_to(part, self.shape) for part in (soc, *branches)]
        temperature = np.broadcast_to(self.m.temperature_degc, self.shape)
        table = self.m.factor_table
        if table is not None and ((temperature < table[0][0]) | (temperature > table[0][-1])).any():
            raise ValueError(
                f"a temperature lies outside the table of resistance, {table[0][0]:g} to {table[0][-1]:g} degC"
            )
        factor = self.factor(self.m.temperature_degc)
        start = np.broadcast_to(gap, self.shape) if self.hysteresis else 0.0
        self._factor = factor
        return Node(0.0, np.stack(wide).astype(float), start, temperature, factor)

    def settle(self, node: Node) -> Node | None:
        """Solve the network for the state of a node; None where a load cannot be fed."""
        m = self.m
        if self.warms and node.factor is not self._factor:
            self._factor = node.factor
            self._fresh()
            self._weights.clear()
        if self._view is None:
            self._view = self.ports.view(m.metal + m.ohmic_cells * node.factor, self.on)
        node.view = self._view
        volts, node.alpha = m.curves.look_up(node.Y[0], m.shift)
        node.E = volts - node.Y[1] - node.Y[2]
        if self.hysteresis:
            node.E = node.E + m.half_gap * node.gap
        found = self.loads.flow(node.view, node.E, node.time)
        if found is None:
            return None
        node.current, node.J, node.U = found
        if self.hysteresis:
            node.alpha = node.alpha + m.half_gap * m.gap_rate * (1 + np.sign(node.current) * node.gap)
        return node

    def turned(self, node: Node) -> Node | None:
        """The same state after a load has changed."""
        if self.hysteresis:
            return self.settle(Node(node.time, node.Y, node.gap, node.temperature, node.factor))
        new = Node(node.time, node.Y, node.gap, node.temperature, node.factor)
        new.view, new.E, new.alpha = node.view, node.E, node.alpha
        found = self.loads.flow(new.view, new.E, new.time)
        if found is None:
            return None
        new.current, new.J, new.U = found
        return new

    def try_step(self, node: Node, h: float) -> tuple[Node, float] | None:
        """Advance by h: the new node and the error in volts; None where a load cannot be fed there."""
        m, i0 = self.m, node.current
        stiff = bool(h * float((node.alpha * self.stiffness).max()) > STIFF)
        w = self._weights.get((h, stiff))
        if w is None:
            if len(self._weights) > 64:
                self._weights.clear()
            w = self._weights[h, stiff] = Weights(m, h, node.factor, self.tau, stiff)
        fall_1, fall_2 = node.Y[1] * self.inverse_1, node.Y[2] * self.inverse_2
        load = node.alpha * self.inverse_capacity + self._answer()
        rate = fall_1 + fall_2 - load * i0
        d = h * self.loads.slope(node.view, rate, node.J, node.U)
        guess = i0 if stiff else i0 + d
        Y = w.decay * node.Y + w.w0 * i0 + w.wd * d
        z = Y[0] + w.w1[0] * guess
        volts, alpha = m.curves.look_up(z, m.shift)
        if self.hysteresis:
            gap = self._gap(node, z)
            volts = volts + m.half_gap * gap
            alpha = alpha + m.half_gap * m.gap_rate * (1 + np.sign(i0) * gap)
        made = self._ahead.get(w.key)
        if made is None or (np.abs(alpha - made[0]) > made[1]).any():
            made = self._look_ahead(node, w, alpha)
        used, _, error_of, view = made
        E = volts + used * (w.b * guess) - Y[1] - Y[2]
        found = self.loads.flow(view, E, node.time + h)
        if found is None:
            return None
        i1 = found[0]
        self.solves += 1
        if stiff:
            tilt = (THETA - 0.5) * np.abs(alpha) * w.share
            error = float((error_of * np.abs(i1 - i0 - d) + tilt * np.abs(i1 - i0)).max())
        else:
            error = float(np.abs(error_of * (i1 - guess)).max())
        end = Node(node.time + h, Y + w.w1 * i1, node.gap, node.temperature, node.factor)
        if self.hysteresis:
            end.gap = self._gap(node, end.Y[0])
        if self.warms:
            error = max(error, self._warm(node, end, i1, h))
        settled = self.settle(end)
        return None if settled is None or error != error else (settled, error)

    def _gap(self, node: Node, soc: Array) -> Array:
        moved = node.Y[0] - soc
        target = -np.sign(moved)
        return np.asarray(target + (node.gap - target) * np.exp(-self.m.gap_rate * np.abs(moved)))

    def _look_ahead(self, node: Node, w: Weights, alpha: Array) -> tuple[Array, Array, Array, View]:
        """Matrices of the end of a step: each module's resistance grows by what its state answers within the step."""
        m = self.m
        ohmic = m.metal + m.ohmic_cells * node.factor
        view = self.ports.view(ohmic + w.resistance + alpha * w.b, self.on)
        error_of = np.abs(alpha) * (w.share / 6.0) + w.error_rc
        made = (alpha, (SLOPE_SLACK * ohmic + 1e-9) / w.b, error_of, view)
        if len(self._ahead) > 16:
            self._ahead.clear()
        self._ahead[w.key] = made
        return made

    def heat(self, node: Node, current: Array) -> Array:
        """Power lost inside each module, connections outside it left out. [W]"""
        m, f = self.m, node.factor
        ohmic = (m.metal + m.ohmic_cells * f) * current**2
        first = np.divide(
            node.Y[1] ** 2, m.r1 * f, out=np.zeros(self.shape), where=np.broadcast_to(m.r1 > 0, self.shape)
        )
        second = np.divide(
            node.Y[2] ** 2, m.r2 * f, out=np.zeros(self.shape), where=np.broadcast_to(m.r2 > 0, self.shape)
        )
        return np.asarray(ohmic + first + second)

    def _warm(self, node: Node, end: Node, current: Array, h: float) -> float:
        """Temperature at the end from the mean loss of both ends; the error is what half the change would do to R."""
        m = self.m
        power = (self.heat(node, node.current) + self.heat(end, current)) / 2
        held = np.isinf(m.heat_capacity)
        capacity = np.where(held, 1.0, m.heat_capacity)
        ratio = h * m.cooling / capacity
        reach = np.where(ratio > 1e-9, -np.expm1(-ratio) / np.maximum(ratio, 1e-30), 1.0)
        change = reach * h * (power - m.cooling * (node.temperature - m.air_degc)) / capacity
        end.temperature = node.temperature + np.where(held, 0.0, change)
        end.factor = self.factor(end.temperature)
        if m.factor_table is None:
            return 0.0
        drift = np.abs(np.asarray(end.factor) - node.factor) * m.ohmic_cells / 2
        return float((drift * np.abs(current - node.current)).max())
