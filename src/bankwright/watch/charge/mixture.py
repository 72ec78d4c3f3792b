"""Mixture of filters: state of charge that may lie in several places at once.

Gives: Mixture, Look, Prior, OPEN, OWN (states before those of the curve). A few dozen extended Kalman filters side by
side, weighted by how well each met the readings; where one is wider than the curve is straight it is split. Each
carries: state of charge z, offset of the current sensor b [1/h], gain and capacity s (one number), error of the
resistances r, slow error of the voltage c [V], error of the curve's axis a, how far the gap of charge and discharge has
turned beyond what is reckoned g, and the error of the curve (curve_error.py).
Limits: one number a series: a bank's mean, or one module that stands alone. Units: charge as share of the capacity.
Sources: Gaussian sum filter, Sorenson and Alspach, Automatica 7 (1971) 465 [from memory]; mean and
slope of the curve over each component's own width, what a line leaves counted as noise (statistical linearisation)
[stated law]; splitting by three with regression of the other states [derived].
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from bankwright.circuit.network import Array
from bankwright.physics.normal import below
from bankwright.watch.charge.curve_error import CurveError, Motion
from bankwright.watch.charge.library import CurveBand

__all__ = ["OPEN", "OWN", "Look", "Mixture", "Prior"]

Z, B, S, R, C, A, G = range(7)
OWN = 7  # states before those of the curve's error
HEAP, HEAVY = 0.1, 0.1  # two heaps lie so far apart at least; each weighs more than that
OPEN = 0.25  # of the charge: a doubt from which on a state of charge may be anywhere
ANYWHERE = 0.6  # standard deviation of a number that lies anywhere in -1 .. 1
LIGHTEST = -80.0
THREE_WEIGHTS, THREE_PLACES, THREE_SD = (0.27, 0.46, 0.27), (-1.1785, 0.0, 1.1785), 0.5
NOTHING = 1e-10  # of the weight, that moves no end of a band
EVERY = 3  # updates between two looks for a component to split


@dataclass(frozen=True, slots=True)
class Prior:
    """One standard deviation of what is not known at the start, and what wanders."""

    offset: float = 0.0045  # 1/h: a sensor of -+0.3 A on 100 Ah, half as much again
    gain: float = 0.015  # gain and capacity
    resistance: float = 0.10
    soc_walk: float = 3e-5  # 1/sqrt(s)
    offset_walk: float = 0.0  # 1/h per sqrt(h)
    white: float = 0.002  # V a cell
    white_share: float = 0.2  # of the overpotential
    gap_rates: tuple[float, float] = (12.0, 60.0)  # per unit of charge, between which the gap turns over
    slow_time: float = 6.0  # h


@dataclass(frozen=True, slots=True)
class Look:
    """What the voltage said: V a cell freed of the overpotential, the overpotential, further doubt. (series,)"""

    volts: Array
    over: Array
    back: Array | float = 0.0  # share of charge by which z was higher at the middle of the block than at its end


@dataclass(eq=False)
class Mixture:
    """Filters of one or several series side by side; arrays (series, component, ..)."""

    curve: CurveBand
    error: CurveError
    prior: Prior
    offset_volts: float  # V a cell that an offset of 1/h makes in the overpotential
    x: Array
    P: Array
    log_weight: Array
    turned: Array  # (series,) -1 discharged .. 1 charged, as the gap turns at the middle rate
    steps: int = 0
    split_at: float = 0.012
    weight: Array = field(init=False)

    @classmethod
    def begin(
        cls,
        curve: CurveBand,
        error: CurveError,
        prior: Prior,
        offset_volts: float,
        soc: Sequence[float | None],
        *,
        sd: Sequence[float],
        components: int,
        turned: float | None = None,
        split_at: float = 0.012,
    ) -> Mixture:
        """Start at a state of charge known to `sd`, or anywhere (None)."""
        count, states = len(soc), OWN + error.states
        x = np.zeros((count, components, states))
        P = np.zeros((count, components, states, states))
        known = (0.0, prior.offset, prior.gain, prior.resistance, curve.slow_sd, curve.axis_sd)
        P[...] = np.diag(np.square([*known, ANYWHERE if turned is None else 0.0, *[0.0] * error.states]))
        P[..., OWN:, OWN:] = error.prior()
        weight = np.full((count, components), LIGHTEST + 20)
        for m, (z, doubt) in enumerate(zip(soc, sd, strict=True)):
            places, width, lw = _spread_out(z, doubt, max(components // 2, 3))
            x[m, :, Z] = places[len(places) // 2]
            x[m, : len(places), Z], weight[m, : len(places)] = places, lw
            P[m, :, Z, Z] = width**2
        turning = np.full(count, turned or 0.0)
        return cls(curve, error, prior, offset_volts, x, P, weight, turning, split_at=split_at)

    def __post_init__(self) -> None:
        """Weigh."""
        self._weigh()

    def _weigh(self) -> None:
        self.log_weight -= self.log_weight.max(axis=1, keepdims=True)
        np.maximum(self.log_weight, LIGHTEST, out=self.log_weight)
        weight = np.exp(self.log_weight)
        self.weight = weight / weight.sum(axis=1, keepdims=True)

    # --- one block

    def move(self, motion: Motion) -> None:
        """Carry every component through a block."""
        x, P, prior = self.x, self.P, self.prior
        q, h = np.broadcast_to(motion.charge, (len(x),)), motion.hours
        x[..., Z] += -q[:, None] + x[..., B] * h + x[..., S] * q[:, None]
        row = P[..., Z, :] + h * P[..., B, :] + q[:, None, None] * P[..., S, :]
        own = row[..., Z] + h * row[..., B] + q[:, None] * row[..., S]
        P[..., Z, :] = P[..., :, Z] = row
        P[..., Z, Z] = own + prior.soc_walk**2 * h * 3600
        left, added = np.exp(-h / prior.slow_time), np.zeros((len(x), 1, x.shape[-1]))
        turned, late, more = self._turn(q)
        errors, added[..., OWN:] = (np.reshape(part, (-1, 1, 1)) for part in self.error.carried(motion))
        added[..., C] = (1 - left**2) * self.curve.slow_sd**2
        added[..., B], added[:, 0, G] = prior.offset_walk**2 * h, late
        kept = [(slice(C, C + 1), left), (slice(G, G + 1), turned[:, None, None])]
        for state, part in [*kept, (slice(OWN, None), errors)] if (errors != 1.0).any() else kept:
            x[..., state] *= part
            P[..., state, :] *= np.reshape(part, (-1, 1, 1, 1))
            P[..., :, state] *= np.reshape(part, (-1, 1, 1, 1))
        P[..., G, G] *= more[:, None]
        every = np.arange(x.shape[-1])
        P[..., every, every] += added
        self.steps += 1

    def see(self, look: Look) -> None:
        """Let the voltage speak."""
        x, P = self.x, self.P
        back, over, volts = (np.reshape(part, (-1, 1)) for part in (look.back, look.over, look.volts))
        z = x[..., Z] + x[..., A] + back
        sd = np.sqrt(np.maximum(P[..., Z, Z] + P[..., A, A] + 2 * P[..., Z, A], 1e-10))
        rows = np.zeros(x.shape)
        centre, slope, bent = _straightened(self.curve.centre, z, sd)
        rows[..., Z] = rows[..., A] = slope
        rows[..., B] = self.offset_volts
        rows[..., R] = -over
        rows[..., C] = 1.0
        gap = look_up(self.curve.half_gap, z)
        rows[..., G] = gap
        known = self.error.rows(z, rows[..., OWN:], x[..., OWN:])
        said = centre + gap * (self.turned[:, None] + x[..., G]) + known
        said += x[..., B] * self.offset_volts + x[..., R] * rows[..., R] + x[..., C]
        noise = self.prior.white**2 + (self.prior.white_share * over) ** 2 + bent
        self._learn(volts - said, rows, noise)
        beyond = np.maximum(np.abs(x[..., Z] - 0.5) - 0.505, 0)
        self.log_weight -= 0.1 * (beyond / 0.01) ** 2
        self._weigh()
        if self.steps % EVERY == 0:
            self._split()

    def _turn(self, q: Array) -> tuple[Array, Array, Array]:
        """Turn the gap over with the charge; how fast is known between two rates only. (series,) each

        What is left of what it may have turned, the variance that the rate leaves, and by how much more the slower rate
        leaves of the old variance.
        """
        slow, fast = (np.exp(-rate * np.abs(q)) for rate in self.prior.gap_rates)
        middle, way = np.sqrt(slow * fast), -np.sign(q)
        late = (slow - fast) / 2 * np.abs(self.turned - way)
        self.turned = way + (self.turned - way) * middle
        return middle, late**2, (slow / middle) ** 2

    def anchor(self, series: int, soc: float, sd: float) -> None:
        """The state of charge of a series is known from elsewhere."""
        rows = np.zeros(self.x.shape)
        rows[series, :, Z] = 1.0
        noise = np.full(self.x.shape[:2], np.inf)
        noise[series] = sd**2
        self._learn(soc - self.x[..., Z], rows, noise)
        self._weigh()

    def lose(self, hours: float, guess: float, doubt: float) -> None:
        """Nothing was counted for so long: `guess` left, -+ `doubt`, as shares; the gap may have turned.

        Where that says no more than "anywhere", all places begin alike; what was learned of curve and sensor stays.
        """
        self.turned[:] = 0.0
        self.x[..., G] = 0.0
        self.P[..., G, :] = self.P[..., :, G] = 0.0
        self.P[..., G, G] = ANYWHERE**2
        self.P[..., B, B] += self.prior.offset_walk**2 * hours
        if doubt < OPEN:
            self.x[..., Z] -= guess
        self.doubt(doubt)

    def doubt(self, sd: float) -> None:
        """The state of charge may be off by so much more; from OPEN on it may be anywhere."""
        if sd < OPEN:
            self.P[..., Z, Z] += sd**2
        else:
            self._open()

    def _open(self) -> None:
        """Every place alike; of the rest the mean and spread over all components."""
        mean = (self.weight[..., None] * self.x).sum(axis=1)
        away = self.x - mean[:, None]
        spread = (self.weight[..., None, None] * (self.P + away[..., :, None] * away[..., None, :])).sum(axis=1)
        spread[:, Z, :] = spread[:, :, Z] = 0.0
        places, width, _ = _spread_out(None, 0.0, max(self.x.shape[1] // 2, 3))
        self.x[...] = mean[:, None]
        self.P[...] = spread[:, None]
        self.P[..., Z, Z] = width**2
        self.x[..., Z] = 0.5
        self.x[:, : len(places), Z] = places
        self.log_weight[...] = LIGHTEST + 20
        self.log_weight[:, : len(places)] = 0.0
        self._weigh()

    def _learn(self, away: Array, rows: Array, noise: Array) -> None:
        across = (self.P @ rows[..., None])[..., 0]
        doubt = (across * rows).sum(axis=-1) + noise
        is_told = np.isfinite(doubt)
        gain = across / doubt[..., None]
        self.x += gain * np.where(is_told, away, 0.0)[..., None]
        self.P -= gain[..., :, None] * across[..., None, :]
        safe = np.where(is_told, doubt, 1.0)
        self.log_weight += np.where(is_told, -0.5 * (away * away / safe + np.log(safe)), 0.0)

    # --- many places at once

    def _split(self) -> None:
        """Break wide components that matter into three, over the two lightest."""
        sd = np.sqrt(np.maximum(self.P[..., Z, Z], 0.0))
        wide = (sd > self.split_at) & (self.weight > 0.02)
        for m in np.flatnonzero(wide.any(axis=1)):
            for j in np.argsort(-self.weight[m] * wide[m], kind="stable")[:6]:
                light = np.argsort(self.weight[m], kind="stable")[:2]
                heavy = self.weight[m, light].max() > 0.25 * self.weight[m, j]
                if not wide[m, j] or heavy or j in light:
                    break
                self._three(int(m), int(j), [int(one) for one in light])
                self._weigh()

    def _three(self, m: int, j: int, light: Sequence[int]) -> None:
        x, P, lw = self.x[m, j].copy(), self.P[m, j].copy(), self.log_weight[m, j]
        along = P[:, Z] / np.sqrt(P[Z, Z])
        narrow = P - (1 - THREE_SD**2) * np.outer(along, along)
        for place, (w, d) in zip((light[0], j, light[1]), zip(THREE_WEIGHTS, THREE_PLACES, strict=True), strict=True):
            self.x[m, place], self.P[m, place] = x + d * along, narrow
            self.log_weight[m, place] = lw + np.log(w)

    # --- answers

    def mean(self) -> Array:
        """State of charge. (series,)"""
        return np.asarray((self.weight * np.clip(self.x[..., Z], 0, 1)).sum(axis=1))

    def sd(self) -> Array:
        """One standard deviation. (series,)"""
        away = np.clip(self.x[..., Z], 0, 1) - self.mean()[:, None]
        return np.asarray(np.sqrt((self.weight * (np.maximum(self.P[..., Z, Z], 0) + away**2)).sum(axis=1)))

    def offset(self) -> tuple[Array, Array]:
        """Offset of the current sensor and its standard deviation. [1/h] (series,)"""
        mean = (self.weight * self.x[..., B]).sum(axis=1)
        spread = (self.weight * (self.P[..., B, B] + (self.x[..., B] - mean[:, None]) ** 2)).sum(axis=1)
        return mean, np.sqrt(spread)

    def places(self) -> tuple[tuple[float, float], ...]:
        """Where the first series may be: state of charge and weight of each heap of components above a tenth."""
        order = np.argsort(self.x[0, :, Z], kind="stable")
        z, weight = np.clip(self.x[0, order, Z], 0, 1), self.weight[0, order]
        heavy = weight > 1e-3
        z, weight = z[heavy], weight[heavy]
        heaps = np.split(np.arange(len(z)), np.flatnonzero(np.diff(z) > HEAP) + 1)
        found = [(float((z[h] * weight[h]).sum() / weight[h].sum()), float(weight[h].sum())) for h in heaps]
        return tuple(each for each in found if each[1] > HEAVY)

    def band(self, share: float = 0.95) -> tuple[Array, Array]:
        """Quantiles of the mixture on both sides. (series,)"""
        axis, counts = np.linspace(-0.02, 1.02, 261), (self.weight > NOTHING).any(axis=0)
        sd = np.sqrt(np.maximum(self.P[:, counts, Z, Z, None], 1e-8))
        under = (self.weight[:, counts, None] * below((axis - self.x[:, counts, Z, None]) / sd)).sum(axis=1)
        ends = [[np.interp(p, row, axis) for row in under] for p in ((1 - share) / 2, (1 + share) / 2)]
        return np.clip(ends[0], 0, 1), np.clip(ends[1], 0, 1)


def look_up(table: Array, z: Array) -> Array:
    """A table on GRID at z; its ends hold beyond."""
    place = np.minimum(np.maximum(z, 0.0), 1.0) * 400
    left = np.minimum(place.astype(int), 399)
    low = table[left]
    return np.asarray(low + (table[left + 1] - low) * (place - left))


def _straightened(table: Array, z: Array, sd: Array) -> tuple[Array, Array, Array]:
    """Mean and slope of a table over a Gaussian, and the variance that a straight line leaves; three places each."""
    away = np.sqrt(3.0) * sd
    low, here, high = look_up(table, np.stack([z - away, z, z + away]))
    mean, slope = (low + 4 * here + high) / 6, (high - low) / (2 * away)
    spread = (low**2 + 4 * here**2 + high**2) / 6 - mean**2
    return mean, slope, np.maximum(spread - (slope * sd) ** 2, 0.0)


def _spread_out(soc: float | None, sd: float, most: int) -> tuple[Array, float, Array]:
    """Places, width of each, and log weights of the components at the start."""
    if soc is None:
        places = np.linspace(0.0, 1.0, most)
        return places, float(places[1] - places[0]) * 0.8, np.zeros(most)
    if sd <= 0.03:
        return np.array([soc]), sd, np.zeros(1)
    places = np.linspace(max(0.0, soc - 3 * sd), min(1.0, soc + 3 * sd), most)
    width = min(float(places[1] - places[0]) * 0.8, sd)
    return places, width, -0.5 * ((places - soc) / sd) ** 2
