"""What modules in parallel tell of each other: how far each lies off the bank's mean.

Gives: Apart, Shared, Flags. All modules on one pair of bars have one voltage, so what a current takes off plus what
the charge makes must agree between them: the currents alone tell differences of charge, offset, gain and resistance;
no module's own voltmeter is needed. States a module: charge off the mean, offset [1/h], gain and capacity, error of the
resistance, a slow voltage [V], and its own curve's error at ten places, for good.
Limits: nothing is said of the mean. A module that is off the bus is left out and begins anew when it comes back.
Sources: Kirchhoff; Kalman filter over N - 1 independent differences [stated law]; sizes: own trials in simulation
(docs/charge.md), among them that differences of curves must be lasting states.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
import numpy.typing as npt

from bankwright.circuit.network import Array, frozen

__all__ = ["Apart", "Flags", "Shared"]

PLACES = frozen(np.linspace(0.1, 1.0, 10))
Flags = npt.NDArray[np.bool_]
Places = npt.NDArray[np.int64]
D, B, S, R, K = range(5)
OWN = 5
A_MODULE = OWN + len(PLACES)
SD_START, SD_GAIN, SD_RESISTANCE, SD_SLOW, SD_CURVE = 0.02, 0.022, 0.10, 0.5e-3, 4e-3
ALONG, SLOW_TIME = 0.15, 12.0  # of the charge; h
SOC_WALK, OFFSET_WALK = 2e-5, 3e-6  # 1/sqrt(s); 1/h per sqrt(h)
WHITE, WHITE_SHARE = 1e-3, 0.05  # V; of the mean overpotential
BENT = 1.2 * 0.012  # how wrong the slope may be, times how far modules lie apart


@dataclass(frozen=True, slots=True)
class Shared:
    """One block of all modules: charge counted out as a share, overpotential V a cell, who is on the bus. (module,)"""

    charge: Array
    over: Array
    on: Flags
    hours: float
    soc: float  # of the mean
    slope: float  # V a cell over the whole charge, at `soc`
    offset_volts: Array  # V a cell that an offset of 1/h makes


@dataclass(eq=False)
class Apart:
    """Difference filter; x (modules * states,), in groups of one state, P square."""

    count: int
    x: Array
    P: Array
    offset_sd: float
    was_on: Flags

    @classmethod
    def begin(cls, count: int, offset_sd: float) -> Apart:
        """Nothing is known but the usual spread of modules; `offset_sd` 1/h."""
        made = cls(
            count, np.zeros(count * A_MODULE), np.zeros((count * A_MODULE,) * 2), offset_sd, np.ones(count, bool)
        )
        for m in range(count):
            made._open(m, range(A_MODULE))
        return made

    @cached_property
    def each(self) -> Places:
        """Numbers of the modules."""
        return np.arange(self.count)

    def _group(self, state: int) -> slice:
        return slice(state * self.count, (state + 1) * self.count)

    def _prior(self) -> Array:
        own = np.square([SD_START, self.offset_sd, SD_GAIN, SD_RESISTANCE, SD_SLOW])
        curve = SD_CURVE**2 * np.exp(-np.abs(PLACES[:, None] - PLACES) / ALONG)
        whole = np.zeros((A_MODULE, A_MODULE))
        whole[range(OWN), range(OWN)] = own
        whole[OWN:, OWN:] = curve
        return whole

    def _open(self, m: int, states: range) -> None:
        """Forget some states of one module."""
        places, prior = np.array([s * self.count + m for s in states]), self._prior()
        self.x[places] = 0.0
        self.P[places, :] = self.P[:, places] = 0.0
        self.P[np.ix_(places, places)] = prior[np.ix_(list(states), list(states))]

    def forget(self, module: int) -> None:
        """Another module stands in this place: everything of it begins anew."""
        self._open(module, range(A_MODULE))

    def away(self, module: int) -> None:
        """Its charge went its own way for a while: the difference begins anew, what was learned of it stays."""
        self._open(module, range(D, D + 1))

    # --- one block

    def step(self, shared: Shared) -> None:
        """Carry through a block and let the common voltage speak."""
        for m in np.flatnonzero(shared.on & ~self.was_on):
            self.away(int(m))
        self.was_on = shared.on.copy()
        on = np.flatnonzero(shared.on)
        if len(on) < 2:
            return
        self._move(shared, on)
        self._learn(shared, on)

    def _move(self, shared: Shared, on: Places) -> None:
        x, P, d, b, s, k = self.x, self.P, *(self._group(g) for g in (D, B, S, K))
        charge, hours = np.where(shared.on, shared.charge, 0.0), shared.hours

        def off_mean(values: Array) -> Array:
            answer = np.zeros(values.shape)
            answer[on] = values[on] - values[on].mean(axis=0)
            return answer

        moved = x[d] + off_mean(hours * x[b] + charge * (x[s] - 1.0))
        row = P[d] + off_mean(hours * P[b] + charge[:, None] * P[s])
        own = row[:, d] + off_mean((hours * row[:, b] + charge * row[:, s]).T).T
        own[self.each, self.each] += SOC_WALK**2 * hours * 3600
        P[d, :], P[:, d] = row, row.T
        P[d, d], x[d] = own, moved
        kept = np.exp(-hours / SLOW_TIME)
        x[k] *= kept
        P[k, :] *= kept
        P[:, k] *= kept
        slow, offset = (state * self.count + self.each for state in (K, B))
        P[slow, slow] += (1 - kept * kept) * SD_SLOW**2
        P[offset, offset] += OFFSET_WALK**2 * hours

    def _learn(self, shared: Shared, on: Places) -> None:
        left = int(np.clip(np.searchsorted(PLACES, shared.soc, "right") - 1, 0, len(PLACES) - 2))
        part = float(np.clip((shared.soc - PLACES[left]) / (PLACES[left + 1] - PLACES[left]), 0, 1))
        slope, over = max(shared.slope, 0.02), shared.over[on]
        shows: dict[int, float | Array] = {
            D: slope,
            K: 1.0,
            R: -over,
            B: shared.offset_volts[on],
            OWN + left: 1 - part,
            OWN + left + 1: part,
        }
        noise = WHITE**2 + (WHITE_SHARE * np.abs(over).mean()) ** 2 + (slope * BENT) ** 2
        self._update(on, shows, over, noise)

    def anchor(self, on: Flags, sd: float) -> None:
        """All modules on the bus were full (or empty) together: differences 0 within `sd`."""
        who = np.flatnonzero(on)
        if len(who) > 1:
            self._update(who, {D: 1.0}, np.zeros(len(who)), sd**2)

    def _update(self, on: Places, shows: dict[int, float | Array], said: Array, noise: float) -> None:
        """Learn from the differences of what modules said; `shows`: what one unit of a state makes there. (on,)"""
        differences, all_on = _differences(len(on)), len(on) == self.count
        groups = [(self._group(state) if all_on else state * self.count + on, each) for state, each in shows.items()]

        columns = [(group, each[:, None] if isinstance(each, np.ndarray) else each) for group, each in groups]

        def shown(values: Array) -> Array:
            (first, one), *others = columns
            whole = one * values[first]
            for group, each in others:
                whole += each * values[group]
            return np.asarray(differences @ whole)

        across = shown(self.P)
        doubt = shown(across.T)
        root = np.linalg.inv(np.linalg.cholesky((doubt + doubt.T) / 2 + np.eye(len(doubt)) * noise))
        part = root @ across
        away = root @ (differences @ said - shown(self.x[:, None])[:, 0])
        self.x = self.x + part.T @ away
        self.P -= part.T @ part  # symmetric to the last bit, as it is one matrix times itself

    # --- answers

    def _off(self, state: int) -> tuple[Array, Array]:
        group = self._group(state)
        on = np.flatnonzero(self.was_on)
        value, sd = np.zeros(self.count), np.full(self.count, np.sqrt(self._prior()[state, state]))
        if len(on) > 1:
            mean = np.eye(len(on)) - 1 / len(on)
            value[on] = mean @ self.x[group][on]
            sd[on] = np.sqrt(np.maximum(np.diag(mean @ self.P[group, group][np.ix_(on, on)] @ mean), 0.0))
        return value, sd

    def charge(self) -> tuple[Array, Array]:
        """How far each lies off the mean of those on the bus, and one standard deviation. (module,)"""
        return self._off(D)

    def offset(self) -> tuple[Array, Array]:
        """Offset of each current sensor off their mean, and one standard deviation. [1/h] (module,)"""
        return self._off(B)


@cache
def _differences(count: int) -> Array:
    """Independent, orthonormal differences of so many. (count - 1, count)"""
    rows = np.zeros((count - 1, count))
    for k in range(1, count):
        rows[k - 1, :k], rows[k - 1, k] = 1.0, -k
        rows[k - 1] /= np.sqrt(k * (k + 1))
    return frozen(rows)
