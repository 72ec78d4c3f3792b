"""Resistances from readings: weighted least squares with bounds and priors, and bands that hold.

Gives: fit(), Estimate. The unknowns are moved from the middle of what is known to what the readings ask for, each
weighted by its limits; repeated with the sensitivity at the new place until nothing moves. The band of an element is
that of the estimate's own error, a sum of flat errors: of the readings, and of what the readings leave open.
Limits: a reading that is wrong altogether, and a joint outside its tolerance, are told by suspects.py.
Sources: linear Bayes estimate (weighted least squares with prior, Gauss-Newton) [stated law]; bands: band.py.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from bankwright.circuit.inverse.band import bounded, half_width
from bankwright.circuit.inverse.looks import Observation
from bankwright.circuit.inverse.point import predicted
from bankwright.circuit.inverse.prior import Prior
from bankwright.circuit.network import Array

__all__ = ["Estimate", "fit", "noise"]

MAX_TURNS = 25
SETTLED = 1e-7  # of an unknown's own half width


@dataclass(frozen=True, eq=False)
class Estimate:
    """What readings say of every unknown; values and errors are those of the last turn."""

    prior: Prior
    observations: tuple[Observation, ...]
    values: Array  # (unknowns,) inside their bounds
    free: Array  # (unknowns,) where no bound holds
    errors: Array  # (unknowns, causes) how far each flat cause moves the free estimate off the truth
    rows: Array  # (observations, unknowns) sensitivity
    shown: Array  # (observations,) what the estimate would show
    spread: Array  # (observations, observations) covariance of what could be shown before anything was read
    settled: bool

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the unknowns."""
        return self.prior.unknowns.names

    def value(self, *names: str) -> float:
        """An unknown, or the sum of several."""
        return float(sum(self.values[self._places(names)]))

    def half(self, *names: str) -> float:
        """Half of the 95 % band of an unknown or of a sum, before bounds cut it."""
        return float(half_width(self.errors[self._places(names)].sum(axis=0))[0])

    def band(self, *names: str) -> tuple[float, float]:
        """95 % band of an unknown or of a sum, inside the bounds."""
        places = self._places(names)
        if len(places) == 1 and places[0] < self.prior.unknowns.emf_start:
            low_end, high_end = self.bands[places[0]]
            return float(low_end), float(high_end)
        middle, half = float(self.free[places].sum()), self.half(*names)
        low, high = float(self.prior.low[places].sum()), float(self.prior.high[places].sum())
        return min(max(middle - half, low), high), max(min(middle + half, high), low)

    def _places(self, names: Iterable[str]) -> list[int]:
        return [self.prior.unknowns.place[name] for name in names]

    @cached_property
    def halves(self) -> Array:
        """Half of the 95 % band of every element (elements,), before bounds cut it. [ohm]"""
        return half_width(self.errors[: self.prior.unknowns.emf_start])

    @cached_property
    def bands(self) -> Array:
        """95 % bands of all elements (elements, 2), inside their bounds. [ohm]

        What the readings alone say of an element (its own tolerance taken off the estimate), cut off at its bounds.
        """
        count, prior = self.prior.unknowns.emf_start, self.prior
        low, high, half = prior.low[:count], prior.high[:count], self.halves
        own, middle = prior.half[:count] ** 2 / 3.0, prior.middle[:count]
        left = np.minimum((self.errors[:count] ** 2).sum(axis=1) / 3.0, own * (1 - 1e-9))
        bare = np.array(own > 0.0) & np.isfinite(high) & ~self._in_common
        with np.errstate(divide="ignore", invalid="ignore"):
            alone = 1.0 / (1.0 / left - 1.0 / own)
            peak = alone * (self.free[:count] / left - middle / own)
            wide = half * np.sqrt(alone / left)
        bands = np.stack(
            [np.clip(self.free[:count] - half, low, high), np.clip(self.free[:count] + half, low, high)], axis=1
        )
        bands[bare] = bounded(peak[bare], wide[bare], low[bare], high[bare])
        return bands

    @property
    def _in_common(self) -> np.ndarray:
        """Elements that a shared cause moves: their own tolerance cannot be taken off."""
        count = self.prior.unknowns.emf_start
        return (
            np.any([column[:count] != 0.0 for column in self.prior.shared], axis=0)
            if self.prior.shared
            else np.zeros(count, dtype=bool)
        )

    @cached_property
    def resistance(self) -> Array:
        """Resistance of every element (elements,). [ohm]"""
        return np.asarray(self.values[: self.prior.unknowns.emf_start])

    @property
    def at_limit(self) -> tuple[str, ...]:
        """Elements that the readings push against a bound of their tolerance."""
        count = self.prior.unknowns.emf_start
        held = (self.values != self.free)[:count] & (self.prior.half[:count] > 0.0)
        return tuple(self.names[place] for place in np.flatnonzero(held))

    @cached_property
    def residuals(self) -> Array:
        """Reading minus what the estimate would show, over the reading's own limits (observations,). [-]"""
        values = np.array([observation.value for observation in self.observations])
        halves = np.array([observation.half for observation in self.observations])
        return np.asarray((values - self.shown) / halves)


def noise(observations: Sequence[Observation]) -> Array:
    """Limits of the errors of readings (observations, causes): own ones, then those in common."""
    names = list(dict.fromkeys(name for each in observations for name in each.shared))
    columns = np.zeros((len(observations), len(observations) + len(names)))
    for place, each in enumerate(observations):
        columns[place, place] = each.half
        for name, size in each.shared.items():
            columns[place, len(observations) + names.index(name)] = size
    return columns


def _gain(rows: Array, causes: Array, errors: Array) -> tuple[Array, Array]:
    """Gain (unknowns, observations) of the linear estimate, and covariance of the readings (observations, .)."""
    seen = rows @ causes
    spread = (seen @ seen.T + errors @ errors.T) / 3.0
    scale = np.sqrt(np.diag(spread))
    whole = spread / np.outer(scale, scale)
    cross = (causes @ seen.T / 3.0) / scale
    return np.linalg.solve(whole, cross.T).T / scale, spread


def _settle(prior: Prior, observations: Sequence[Observation], start: Array) -> tuple[Array, Array, Array, bool]:
    """Gauss-Newton: the unknowns, the sensitivity there, what is shown there."""
    looks = [observation.look for observation in observations]
    read = np.array([observation.value for observation in observations])
    errors, causes = noise(observations), prior.causes()
    room = np.sqrt((causes**2).sum(axis=1))
    count = prior.unknowns.emf_start
    values, settled = start, False
    for _ in range(MAX_TURNS):
        shown, rows = predicted(prior.unknowns, looks, values)
        gain, _ = _gain(rows, causes, errors)
        moved = prior.middle + gain @ (read - shown + rows @ (values - prior.middle))
        moved[:count] = np.maximum(moved[:count], 0.02 * np.minimum(values[:count], prior.middle[:count]))
        step = np.abs(moved - values)
        values = moved
        if (step <= SETTLED * room + 1e-15).all():
            settled = True
            break
    shown, rows = predicted(prior.unknowns, looks, values)
    return values, rows, shown, settled


def _inside(prior: Prior, observations: Sequence[Observation], free: Array) -> Array:
    """Unknowns inside their bounds: those that leave them are held at the bound, the others settle anew."""
    values, held = free, np.zeros(len(free), dtype=bool)
    for _ in range(len(free)):
        out = ((values < prior.low) | (values > prior.high)) & ~held
        if not out.any():
            break
        held |= out
        values = np.clip(values, prior.low, prior.high)
        values, *_ = _settle(prior.fixed(np.flatnonzero(held), values[held]), observations, values)
        values[held] = np.clip(values[held], prior.low[held], prior.high[held])
    return np.clip(values, prior.low, prior.high)


def fit(prior: Prior, observations: Sequence[Observation]) -> Estimate:
    """Estimate every unknown from observations; ValueError when there is none."""
    if not observations:
        raise ValueError("nothing was read: there is nothing to fit")
    free, rows, shown, settled = _settle(prior, observations, prior.middle)
    causes, errors = prior.causes(), noise(observations)
    gain, spread = _gain(rows, causes, errors)
    left = np.concatenate([gain @ (rows @ causes) - causes, gain @ errors], axis=1)
    values = _inside(prior, observations, free)
    if (values != free).any():
        shown, _ = predicted(prior.unknowns, [each.look for each in observations], values)
    return Estimate(prior, tuple(observations), values, free, left, rows, shown, spread, settled)
