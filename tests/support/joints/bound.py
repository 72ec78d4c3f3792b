"""The Cramer-Rao bound of one day: how well growth of one group could be told at best, by shares and drops together.

Gives: unit_bound(), group_bounds(). Linear and Gaussian, white readings every cycle; the bus voltage and the bank's
current are free at every instant, so that contrasts between modules decouple. Free with each contrast: level and slope
of every two hours of the voltage sensor and of emf with current sensor; the temperature or age factor of the cells;
with a prior R1 2 %, R2 5 %, slope of the open-circuit curve 30 %, gain of the voltage sensor 0.03 %. No temperature is
read. A pattern g of module currents i passes its growth on with (g'Pg) sum (g'i)^2 / sum mean(i)^2 times the
information of a single unit contrast: that is the bound of a chain or of a bar's segments, with the currents that its
modules really carry (the last of sixteen fed at one end carries half of the mean).
Limits: equal modules; other groups are known.
Source: Fisher information of a linear model with priors [stated law]; list of nuisances: the reference study.
"""

from __future__ import annotations

import numpy as np
from scipy.signal import lfilter

from bankwright.watch.joints.wiring import Wiring

OHMIC, METAL, ONE, TWO, TAU1, TAU2 = 6.0e-3, 1.5e-3, 5e-3, 5e-3, 35.0, 1000.0
SLOPE = 0.9 / 360e3  # V per A s on the plateau, 16 cells; common practice, no source
SPAN = 7200.0  # s of a level and a slope
PRIOR_ONE, PRIOR_TWO, PRIOR_SLOPE, PRIOR_GAIN = 0.02, 0.05, 0.30, 3e-4


def _relaxed(current: np.ndarray, ohm: float, tau: float, period: float) -> np.ndarray:
    keep = np.exp(-period / tau)
    return np.asarray(lfilter([0.0, ohm * (1 - keep)], [1.0, -keep], current))


def _shares_of(signal: np.ndarray, period: float) -> np.ndarray:
    """What a voltage in one module's loop does to its current: the inverse of its resistance with both relaxations."""
    a1, a2 = np.exp(-period / TAU1), np.exp(-period / TAU2)
    p1, p2 = np.array([1.0, -a1]), np.array([1.0, -a2])
    top = np.convolve(p1, p2)
    bottom = (OHMIC + METAL) * top
    bottom = (
        bottom + np.convolve(np.array([0.0, ONE * (1 - a1)]), p2) + np.convolve(np.array([0.0, TWO * (1 - a2)]), p1)
    )
    return np.asarray(lfilter(top, bottom, signal))


def _levels(time: np.ndarray) -> np.ndarray:
    part = np.floor(time / SPAN).astype(int)
    part -= part[0]
    count = int(part[-1]) + 1
    found = np.zeros((len(time), 2 * count))
    inside = (time % SPAN) / SPAN - 0.5
    found[np.arange(len(time)), part] = 1.0
    found[np.arange(len(time)), count + part] = inside
    return found


def _information(wanted: np.ndarray, free: np.ndarray, known: np.ndarray, prior: np.ndarray) -> float:
    """Of one parameter, where others are free or known to a prior (standard deviations)."""
    other = np.concatenate([free, known], axis=1)
    normal = other.T @ other + np.diag(np.concatenate([np.full(free.shape[1], 1e-12), 1 / prior**2]))
    cross = other.T @ wanted
    return float(wanted @ wanted - cross @ np.linalg.solve(normal, cross))


def unit_bound(time: np.ndarray, mean: np.ndarray, period: float, sigma_v: float, sigma_i: float) -> float:
    """Variance [ohm2] of the growth in a unit contrast of modules that all carry `mean` (cycle,) [A]."""
    levels = _levels(time)
    one, two = _relaxed(mean, ONE, TAU1, period), _relaxed(mean, TWO, TAU2, period)
    swing = (OHMIC + METAL) * mean + one + two
    drops = _information(mean / sigma_v, levels / sigma_v, swing[:, None] / sigma_v, np.array([PRIOR_GAIN]))
    moved = np.stack([OHMIC * mean + one + two, one, two, np.cumsum(mean) * period * SLOPE])
    seen = np.stack([_shares_of(row, period) for row in moved])
    emf = np.stack([_shares_of(row, period) for row in levels.T]).T
    free = np.concatenate([emf, seen[:1].T], axis=1) / sigma_i
    prior = np.array([PRIOR_ONE, PRIOR_TWO, PRIOR_SLOPE])
    shares = _information(_shares_of(mean, period) / sigma_i, free, seen[1:].T / sigma_i, prior)
    return 1.0 / (drops + shares)


def group_bounds(wiring: Wiring, unit: float, currents: np.ndarray | None = None, days: int = 14) -> np.ndarray:
    """Standard deviation [ohm] of each group's growth in one day against a baseline of `days` like it, (group,).

    `currents` (module, module): second moment of the modules' currents that day; else all carry the same.
    """
    count = len(wiring.modules)
    moment = np.ones((count, count)) if currents is None else currents / currents.mean()
    strength = wiring.strength() * np.einsum("em,mn,en->e", wiring.patterns, moment, wiring.patterns)
    return np.asarray(np.sqrt(unit * (1 + 1 / days) / strength))
