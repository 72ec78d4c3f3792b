"""Limits of a sum of independent errors, each flat between its own limits.

Gives: half_width(), bounded(). A single flat error +-a has its middle 95 % in +-0.95 a, the sum of many the normal
law's 1.96 standard deviations; between the two the sum is sampled: its largest parts flat, the rest as one normal part.
What is known to lie between bounds has a shorter band near them: the readings alone, taken as normal, cut off there.
Limits: errors independent and symmetric; the largest PARTS are kept flat, the others are taken together.
Source: JCGM 100:2008, 4.3.7 and G.2 (flat limits; sum of many is nearly normal) [from memory];
sampling: JCGM 101:2008 [from memory].
"""

from __future__ import annotations

import math
from functools import cache

import numpy as np

from bankwright.circuit.network import Array, frozen

__all__ = ["COVERAGE", "bounded", "half_width"]

COVERAGE = 0.95
PARTS = 6
COUNT = 8192


@cache
def _sample() -> tuple[Array, Array]:
    """Flat parts (COUNT, PARTS) in -1 to 1, and one normal part (COUNT,): quantiles of each, shuffled."""
    luck = np.random.default_rng(5)
    even = (2.0 * np.arange(COUNT) + 1.0) / COUNT - 1.0
    flat = np.stack([luck.permutation(even) for _ in range(PARTS)], axis=1)
    return frozen(flat), frozen(luck.permutation(np.sort(luck.standard_normal(64 * COUNT))[32::64]))


def half_width(limits: Array, coverage: float = COVERAGE) -> Array:
    """Half of the band that holds a share `coverage` of the sum (rows,) of errors with these limits (rows, errors).

    Each row is one sum; a limit may be of either sign, 0 is no error. Same unit as the limits.
    """
    sizes = np.sort(np.abs(np.atleast_2d(limits)), axis=1)[:, ::-1]
    flat, normal = _sample()
    large = sizes[:, :PARTS]
    rest = np.sqrt((sizes[:, PARTS:] ** 2).sum(axis=1) / 3.0)
    sums = np.abs(large @ flat[:, : large.shape[1]].T + rest[:, None] * normal)
    return np.asarray(np.quantile(sums, coverage, axis=1))


_erf = np.vectorize(math.erf, otypes=[np.float64])
NORMAL_95 = 1.959964  # standard deviations of the normal law that hold 95 %


def bounded(middle: Array, half: Array, low: Array, high: Array, coverage: float = COVERAGE) -> Array:
    """Shortest band (values, 2) that holds a share `coverage` of a normal law cut off at bounds.

    middle, half (values,): the readings alone, half of their 95 % band; low, high (values,) bounds. One unit for all.
    """
    width = high - low
    sigma = np.clip(half / NORMAL_95, 1e-9 * np.maximum(width, 1e-300), 1e4 * np.maximum(width, 1e-300))
    peak = np.clip(middle, low - 6.0 * sigma, high + 6.0 * sigma)  # beyond, the nearer bound is all that is left

    def mass(first: Array, last: Array) -> Array:
        return np.asarray(_erf((last - peak) / (sigma * math.sqrt(2))) - _erf((first - peak) / (sigma * math.sqrt(2))))

    whole = mass(low, high)
    near, far = np.zeros_like(width), width + np.abs(peak - np.clip(peak, low, high))
    for _ in range(50):
        reach = (near + far) / 2
        enough = mass(np.maximum(low, peak - reach), np.minimum(high, peak + reach)) >= coverage * whole
        near, far = np.where(enough, near, reach), np.where(enough, reach, far)
    return np.stack([np.clip(peak - far, low, high), np.clip(peak + far, low, high)], axis=1)
