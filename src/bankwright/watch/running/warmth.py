"""How a temperature lies beside its neighbours: at rest, and with the heat of the load.

Gives: Beside, beside(), above(), heat_of(), slowed(), still(), LEAST_WATTS. Two figures a sensor: by how much it lies
off at rest (its place, or the sensor), and by how much more at the largest heat that was heard (more resistance near
it, or worse cooling).
Limits: what all modules share (the season, the room) is in neither; with two neighbours that differ, which of the two
is off cannot be told. A module follows its heat by hours: of four delays the one that fits is taken.
Sources: Joule's law; regression, and its doubt by leaving out one day after the other [stated law: jackknife].
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate

import numpy as np

from bankwright.circuit.network import Array

__all__ = ["LEAST_DAYS", "LEAST_WATTS", "Beside", "above", "beside", "heat_of", "slowed", "still"]

DELAYS = (1.0, 2.0, 4.0, 8.0)  # h; a module of 46 kg follows its surroundings in hours; own choice
LEAST_DAYS, STRAIGHT = 3, 1.96
A_DAY = 24
LARGEST, LEAST_WATTS = 0.95, 2.0  # quantile of the heat that counts as the largest; W a module below which none is told
FINE = 0.05  # K: sensors are read to tenths


@dataclass(frozen=True, slots=True)
class Beside:
    """Off its neighbours: at rest, and more than that at the largest heat heard; one standard deviation each. [K]"""

    rest: float
    rest_sd: float
    more: float | None  # None: too little load was heard
    more_sd: float
    days: int

    def band(self, what: str) -> tuple[float, float]:
        """95 % of one of the two."""
        value, sd = (self.rest, self.rest_sd) if what == "rest" else (self.more or 0.0, self.more_sd)
        return value - STRAIGHT * sd, value + STRAIGHT * sd


def heat_of(amps: Array, ohm: Array) -> Array:
    """Heat in each module, from the mean current of an hour; NaN stays. [W] (hour, module)"""
    return np.asarray(amps**2 * ohm)


def slowed(heat: Array, hours: float) -> Array:
    """Heat, or warmth of the air, as it is felt with a delay; an hour that was not heard changes nothing. (hour,)"""
    told = np.isfinite(heat)
    if not told.any():
        return np.zeros(len(heat))
    take, values = 1 - float(np.exp(-1 / hours)), heat[told].tolist()
    found = np.array(list(accumulate(values, lambda level, value: level + take * (value - level))))
    place = np.maximum(np.cumsum(told) - 1, 0)
    return np.asarray(found[place])


def still(low: Array, high: Array, others: float) -> bool:
    """Whether a sensor never moved by a step while its neighbours moved by `others`. (hour,) [degC, K]"""
    told = np.isfinite(low)
    return bool(told.sum() >= A_DAY and np.nanmax(high) == np.nanmin(low) and others > 2.0)


def beside(away: Array, heat: Array, time: Array) -> Beside | None:
    """Fit a deviation with the heat; None with fewer than three days.

    Parameters
    ----------
    away : (hour,) off the neighbours, NaN where not told. [K]
    heat : (hour,) of the module it stands in, or of the bank's mean module. [W]
    time : (hour,) s since 1970.
    """
    told = np.isfinite(away) & np.isfinite(heat)
    day = (time // 86400).astype(int)
    days = np.unique(day[told])
    if len(days) < LEAST_DAYS:
        return None
    felt = min((slowed(heat, delay) for delay in DELAYS), key=lambda f: _left(away[told], f[told]))
    largest = float(np.quantile(felt[told], LARGEST))
    if largest < LEAST_WATTS / 2 or largest < 1.5 * float(np.quantile(felt[told], 0.2)):
        rest = [float(np.mean(away[told & (day != one)])) for one in days]
        return Beside(float(np.mean(away[told])), _jackknife(rest), None, 0.0, len(days))
    whole = _line(away[told], felt[told])
    each = np.array([_line(away[told & (day != one)], felt[told & (day != one)]) for one in days])
    return Beside(
        whole[0], _jackknife(each[:, 0]), whole[1] * largest, _jackknife(each[:, 1] * largest), len(days)
    )  # fmt: skip


def above(degc: Array, air: Array, heat: Array, time: Array) -> Beside | None:
    """How far a module lies above the air, which it follows with a delay as it follows its heat. (hour,) each"""
    if not np.isfinite(air).any():
        return None
    told = np.isfinite(degc) & np.isfinite(heat)
    if not told.any():
        return None
    left = []
    for delay in DELAYS:
        away = degc - slowed(air, delay)
        left.append((_left(away[told], slowed(heat, delay)[told]), delay))
    return beside(degc - slowed(air, min(left)[1]), heat, time)


def _line(away: Array, felt: Array) -> tuple[float, float]:
    """Value at no heat, and rise a watt."""
    x = felt - felt.mean()
    slope = float(x @ away / max(float(x @ x), 1e-9))
    return float(away.mean() - slope * felt.mean()), slope


def _left(away: Array, felt: Array) -> float:
    start, slope = _line(away, felt)
    return float(np.mean((away - start - slope * felt) ** 2))


def _jackknife(values: Array | list[float]) -> float:
    """Standard deviation of an estimate, from those with one day left out; never finer than a sensor is read."""
    found = np.asarray(values, dtype=float)
    count = len(found)
    return float(np.hypot(np.sqrt((count - 1) / count * np.sum((found - found.mean()) ** 2)), FINE))
