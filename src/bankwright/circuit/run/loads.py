"""Loads of a run: profiles over time, laws, and the current they take from the bank.

Gives: Profile (constant, steps, ramps, repeated), RunLoad, LoadSide. Positive draws; a charger's value is the largest
current it pushes, up to its ceiling voltage: it changes over from current to voltage by itself, without a jump.
Limits: one load is solved in closed form; several go through circuit/solver/laws.
Source: J = 2P / (U_oc + sqrt(U_oc^2 - 4 Z P)) [derived: quadratic formula].
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from bankwright.circuit.network import Array
from bankwright.circuit.run.ports import View
from bankwright.circuit.solver.laws import Current, Law, Power, Voltage, load_currents
from bankwright.circuit.solver.laws import Resistance as Resistor

__all__ = ["LoadSide", "Profile", "RunLoad"]


@dataclass(frozen=True)
class Profile:
    """A value over time: steps hold until the next time, ramps run straight to it; beyond the last one it stays."""

    times: tuple[float, ...]
    values: tuple[float, ...]
    kind: Literal["steps", "ramps"] = "steps"
    period: float | None = None  # repeat from the start; then `times` lie in 0..period

    def __post_init__(self) -> None:
        """Refuse a table that does not rise from its start."""
        if len(self.times) != len(self.values) or not self.times or self.times[0] != 0.0:
            raise ValueError("a profile needs as many values as times, the first time 0")
        if any(b <= a for a, b in zip(self.times, self.times[1:], strict=False)):
            raise ValueError("times of a profile must rise")
        if self.period is not None and self.times[-1] > self.period:
            raise ValueError("times of a repeated profile must lie within its period")

    @classmethod
    def constant(cls, value: float) -> Profile:
        """One value for ever."""
        return cls((0.0,), (value,))

    def piece(self, time: float) -> tuple[float, float, float, float]:
        """Value and slope just after `time`, the start of the piece and its end."""
        base = 0.0 if self.period is None else math.floor(time / self.period + 1e-12) * self.period
        place = bisect_right(self.times, time - base + 1e-9) - 1
        start = self.times[place]
        end = self.times[place + 1] if place + 1 < len(self.times) else (self.period or math.inf)
        slope = 0.0
        if self.kind == "ramps" and (place + 1 < len(self.times) or self.period is not None):
            after = self.values[(place + 1) % len(self.values)]
            slope = (after - self.values[place]) / (end - start) if end > start else 0.0
        return self.values[place], slope, base + start, base + end


@dataclass(frozen=True)
class RunLoad:
    """One load: `power` in W, `current` in A, `charger` in A pushed, `resistor` in ohm."""

    name: str
    law: Literal["power", "current", "charger", "resistor"]
    profile: Profile
    ceiling: float | None = None  # V, chargers
    tail: float | None = None  # A, below which a charger is done
    cut_out: float | None = None  # V, below which an inverter leaves

    def __post_init__(self) -> None:
        """Refuse a charger without a ceiling."""
        if self.law == "charger" and self.ceiling is None:
            raise ValueError(f"{self.name}: a charger needs a ceiling voltage")


class LoadSide:
    """The loads at work: knows which piece of its profile each one is on, and which have left."""

    def __init__(self, loads: Sequence[RunLoad], order: tuple[str, ...], lead: tuple[int, ...]) -> None:
        """Put the loads into the order of the ports; a port without a load stays idle."""
        by_name = {load.name: load for load in loads}
        lost = set(by_name) - set(order)
        if lost:
            raise ValueError(f"no such load in the network: {', '.join(sorted(lost))}. It has: {', '.join(order)}")
        idle = Profile.constant(0.0)
        self.loads = tuple(by_name.get(name) or RunLoad(name, "current", idle) for name in order)
        self.left = np.zeros((*lead, len(order)), dtype=bool)
        self.idle = self.left
        self.one = len(order) == 1
        self.batch = bool(lead)
        self.dead = np.zeros(lead, dtype=bool)
        self.gone = False  # any load idle
        self.turn(0.0)

    def turn(self, time: float) -> None:
        """Move every profile to the piece that starts at or before `time`."""
        self.pieces = [load.profile.piece(time) for load in self.loads]
        self.next_break = min(piece[3] for piece in self.pieces)

    def leave(self, mask: np.ndarray) -> None:
        """Loads (.., L) that are off from now on."""
        self.left = self.left | mask
        self.rest_while(self.dead)

    def rest_while(self, dead: np.ndarray) -> None:
        """Variants (..,) whose bus is dead: their loads take nothing until a module is there again."""
        self.dead = dead
        self.idle = self.left | dead[..., None]
        self.gone = bool(self.idle.any())

    def demand(self, time: float) -> Array:
        """What the loads that have not left would take (..,): above zero they draw, below they push; W and A mixed."""
        wants = np.array([self._want(k, time) for k in range(len(self.loads))])
        return np.asarray(np.where(self.left, 0.0, wants).sum(-1))

    def _want(self, number: int, time: float) -> float:
        law = self.loads[number].law
        value = self.value(number, time)
        return -value if law == "charger" else (1.0 if law == "resistor" else value)

    def value(self, number: int, time: float) -> float:
        """Value of a profile inside its present piece."""
        value, slope, start, _ = self.pieces[number]
        return value + slope * (time - start) if slope else value

    def flow(self, view: View, E: Array, time: float) -> tuple[Array, Any, Any] | None:
        """Module currents, load current and voltage; None where the power cannot be delivered."""
        if not self.one:
            return self._flow_several(view, E, time)
        if self.batch:
            open_voltage = (view.u[..., 0, :] * E).sum(-1)
            J = self._one_batch(open_voltage, view.Z[..., 0, 0], self.value(0, time))
            if J is None:
                return None
            i = (view.K @ E[..., None])[..., 0] + view.k[..., 0] * J[..., None]
            return i, J[..., None], (open_voltage - view.Z[..., 0, 0] * J)[..., None]
        given = view.both @ E
        open_volts, Z = float(given[-1]), float(view.Z[0, 0])
        taken = self._one(open_volts, Z, self.value(0, time))
        if taken is None:
            return None
        return given[:-1] + view.k[:, 0] * taken, taken, open_volts - Z * taken

    def _one(self, U: float, Z: float, value: float) -> float | None:
        if self.gone:
            return 0.0
        load = self.loads[0]
        if load.law == "power":
            room = U * U - 4.0 * Z * value
            return None if room < 0.0 or U <= 0.0 else 2.0 * value / (U + math.sqrt(room))
        if load.law == "current":
            return value
        if load.law == "resistor":
            return U / (Z + value)
        assert load.ceiling is not None
        return min(0.0, max(-value, (U - load.ceiling) / Z))

    def _one_batch(self, U: Array, Z: Array, value: float) -> Array | None:
        load, off = self.loads[0], self.idle[..., 0]
        if load.law == "power":
            room = U * U - 4.0 * Z * value
            bad = (room < 0.0) | (U <= 0.0)
            if (bad & ~off).any():
                return None
            J = 2.0 * value / np.where(bad, 1.0, U + np.sqrt(np.maximum(room, 0.0)))
        elif load.law == "current":
            J = np.full_like(U, value)
        elif load.law == "resistor":
            J = U / (Z + value)
        else:
            assert load.ceiling is not None
            J = np.minimum(0.0, np.maximum(-value, (U - load.ceiling) / Z))
        return np.where(off, 0.0, J) if self.gone else J

    def _flow_several(self, view: View, E: Array, time: float) -> tuple[Array, Array, Array] | None:
        open_voltage = (view.u @ E[..., None])[..., 0]
        U0, Z = open_voltage.reshape(-1, len(self.loads)), view.Z.reshape(-1, len(self.loads), len(self.loads))
        J = self._several(U0, Z, time)
        if J is None:
            return None
        J = J.reshape(open_voltage.shape)
        i = ((view.K @ E[..., None]) + (view.k @ J[..., None]))[..., 0]
        return i, J, open_voltage - (view.Z @ J[..., None])[..., 0]

    def _several(self, U0: Array, Z: Array, time: float) -> Array | None:
        """Settle the modes of the chargers, variant groups of equal mode together."""
        values = [self.value(k, time) for k in range(len(self.loads))]
        mode = np.where(self.idle.reshape(-1, len(self.loads)), -1, 0)
        J = np.zeros_like(U0)
        todo = np.ones(len(U0), dtype=bool)
        for _ in range(6):
            for pattern in np.unique(mode[todo], axis=0):
                rows = todo & (mode == pattern).all(axis=1)
                found, fraction = load_currents(self._laws(pattern, values), U0[rows], Z[rows])
                if (fraction < 1.0).any():
                    return None
                J[rows] = found
            better = self._modes(mode, J, U0 - (Z @ J[..., None])[..., 0], values)
            todo = (better != mode).any(axis=1)
            mode = better
            if not todo.any():
                break
        return J

    def _laws(self, pattern: np.ndarray, values: list[float]) -> list[Law]:
        laws: list[Law] = []
        for load, mode, value in zip(self.loads, pattern, values, strict=True):
            if mode == -1 or mode == 2:
                laws.append(Current(0.0))
            elif load.law == "power":
                laws.append(Power(value))
            elif load.law == "resistor":
                laws.append(Resistor(value))
            elif load.law == "charger":
                laws.append(Voltage(load.ceiling or 0.0) if mode == 1 else Current(-value))
            else:
                laws.append(Current(value))
        return laws

    def _modes(self, mode: np.ndarray, J: Array, U: Array, values: list[float]) -> np.ndarray:
        """Chargers: 0 full current, 1 held at the ceiling, 2 idle because the bus is above it."""
        new = mode.copy()
        for k, load in enumerate(self.loads):
            if load.law != "charger" or load.ceiling is None:
                continue
            m, j, u = mode[:, k], J[:, k], U[:, k]
            new[:, k] = np.where((m == 0) & (u > load.ceiling * (1 + 1e-12)), 1, m)
            new[:, k] = np.where((m == 1) & (j > 1e-12), 2, new[:, k])
            new[:, k] = np.where((m == 1) & (j < -values[k] * (1 + 1e-12)), 0, new[:, k])
        return new

    def slope(self, view: View, rate: Array, J: Any, U: Any) -> Array:
        """Rate of the module currents when the emfs change at `rate` (.., M): first derivative of flow()."""
        if self.one and not self.batch:
            given = view.both @ rate
            return given[:-1] + view.k[:, 0] * self._one_slope(float(given[-1]), float(view.Z[0, 0]), J, U)
        if self.one:
            open_rates = (view.u[..., 0, :] * rate).sum(-1)
            of_load = self._one_slopes(open_rates, view.Z[..., 0, 0], J[..., 0], U[..., 0])
            return np.asarray((view.K @ rate[..., None])[..., 0] + view.k[..., 0] * of_load[..., None])
        open_rates = (view.u @ rate[..., None])[..., 0]
        of_loads = self._several_slopes(open_rates, view.Z, J, U)
        return np.asarray(((view.K @ rate[..., None]) + (view.k @ of_loads[..., None]))[..., 0])

    def _one_slope(self, open_rate: float, Z: float, J: float, U: float) -> float:
        load, slope = self.loads[0], self.pieces[0][1]
        if self.gone:
            return 0.0
        if load.law == "power":
            return (slope - J * open_rate) / (U - Z * J)
        if load.law == "current":
            return slope
        if load.law == "resistor":
            return open_rate / (Z + self.pieces[0][0])
        assert load.ceiling is not None
        held = J < 0.0 and abs(U - load.ceiling) < 1e-9 * load.ceiling
        return open_rate / Z if held else (-slope if J < 0.0 else 0.0)

    def _one_slopes(self, open_rate: Array, Z: Array, J: Array, U: Array) -> Array:
        load, slope = self.loads[0], self.pieces[0][1]
        if load.law == "power":
            value = (slope - J * open_rate) / np.where(U == Z * J, 1.0, U - Z * J)
        elif load.law == "current":
            value = np.full_like(open_rate, slope)
        elif load.law == "resistor":
            value = open_rate / (Z + self.pieces[0][0])
        else:
            assert load.ceiling is not None
            held = (J < 0.0) & (np.abs(U - load.ceiling) < 1e-9 * load.ceiling)
            value = np.where(held, open_rate / Z, np.where(J < 0.0, -slope, 0.0))
        return np.where(self.idle[..., 0], 0.0, value) if self.gone else value

    def _several_slopes(self, open_rate: Array, Z: Array, J: Array, U: Array) -> Array:
        """Differentiate each law: rows of one linear system for the rates of the load currents."""
        A, side = np.zeros_like(Z), np.zeros_like(open_rate)
        for k, load in enumerate(self.loads):
            slope = self.pieces[k][1]
            free = np.zeros(len(self.loads))
            free[k] = 1.0
            row, right = np.broadcast_to(free, A[..., k, :].shape), np.full(open_rate[..., k].shape, slope)
            if load.law == "power":
                row = U[..., k, None] * free - J[..., k, None] * Z[..., k, :]
                right = slope - J[..., k] * open_rate[..., k]
            elif load.law == "resistor":
                row, right = Z[..., k, :] + self.pieces[k][0] * free, open_rate[..., k]
            elif load.law == "charger" and load.ceiling is not None:
                held = (J[..., k] < 0.0) & (np.abs(U[..., k] - load.ceiling) < 1e-9 * load.ceiling)
                row = np.where(held[..., None], Z[..., k, :], row)
                right = np.where(held, open_rate[..., k], np.where(J[..., k] < 0.0, -slope, 0.0))
            off = self.idle[..., k]
            A[..., k, :] = np.where(off[..., None], free, row)
            side[..., k] = np.where(off, 0.0, right)
        return np.asarray(np.linalg.solve(A, side[..., None])[..., 0])
