"""Capacity from what was counted between two anchors, and whether it falls.

Gives: Pair, Sizes, total(), trend(), Trend, years_left(). Both the charge between two anchors and what was counted
carry errors, so total least squares; ordinary least squares would come out low. A fall is told from 2.6 standard
deviations on, and then "gain or capacity": a sensor whose gain drifts looks the same.
Limits: an error of the curve that both anchors share is in the capacity itself, not in its trend. Ten pairs make the
baseline, five more the first trend.
Sources: total least squares with a known ratio of errors, closed form [derived: smaller root of the quadratic of
Deming's line through the origin]; 2.6 sd, ten pairs, 0.3 % a year of gain: own trials (docs/cells.md).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.forms.toleranced import Toleranced

__all__ = ["ALARM", "BASELINE", "Pair", "Sizes", "Trend", "total", "trend", "years_left"]

ALARM = 2.6  # standard deviations
BASELINE, AFTER = 10, 5  # pairs
GAIN_DRIFT = 0.003  # a year, one standard deviation
FORGET = 0.95  # of the weight of a pair for each that comes after it
YEAR = 365.25 * 86400.0
STRAIGHT = 1.96  # standard deviations of a band of 95 %


@dataclass(frozen=True, slots=True)
class Pair:
    """Two anchors: when the second was, the charge between them as a share, and what was counted. [s, -, Ah]"""

    time: float
    share: float
    counted: float
    hours: float = 0.0  # between the two


@dataclass(frozen=True, slots=True)
class Sizes:
    """One standard deviation of a pair: of the share, and of what was counted. [-, Ah]"""

    share: float
    counted: float


@dataclass(frozen=True, slots=True)
class Trend:
    """Capacity at first and now with one standard deviation each [Ah], and the fall as a share of the first."""

    first: float
    first_sd: float
    now: float
    now_sd: float
    fall: float
    fall_sd: float
    years: float  # between the two, as they are weighted
    lag: float  # years from the later of the two to the last pair
    pairs: int

    @property
    def falls(self) -> bool:
        """Whether the fall is beyond what luck and the sensor's own drift make."""
        return self.fall > ALARM * self.fall_sd


def total(pairs: Sequence[Pair], sizes: Sizes, weights: Sequence[float] | None = None) -> tuple[float, float]:
    """Capacity by total least squares, and one standard deviation. [Ah]

    References
    ----------
    Q = (B + sqrt(B^2 + 4 k^2 Sxy^2)) / (2 Sxy), B = Syy - k^2 Sxx, k = sy / sx [derived].
    """
    if not pairs:
        raise ValueError("a pair is needed")
    weight = np.ones(len(pairs)) if weights is None else np.asarray(weights, dtype=float)
    x, y = np.array([p.share for p in pairs]), np.array([p.counted for p in pairs])
    ratio = sizes.counted / sizes.share
    xx, xy, yy = (float(weight @ part) for part in (x * x, x * y, y * y))
    if not xy > 0:
        raise ValueError("what was counted goes against the charge between the anchors")
    half = yy - ratio**2 * xx
    found = (half + float(np.sqrt(half**2 + 4 * ratio**2 * xy**2))) / (2 * xy)
    noise = sizes.counted**2 + (found * sizes.share) ** 2
    return found, float(np.sqrt(noise * float(weight**2 @ (x * x)))) / xx


def trend(pairs: Sequence[Pair], sizes: Sizes) -> Trend | None:
    """Compare what came after the first ten pairs with them; None with fewer than fifteen."""
    if len(pairs) < BASELINE + AFTER:
        return None
    ordered = sorted(pairs, key=lambda pair: pair.time)
    early, late = ordered[:BASELINE], ordered[BASELINE:]
    first, first_sd = total(early, sizes)
    weights = [FORGET ** (len(late) - 1 - k) for k in range(len(late))]
    now, now_sd = total(late, sizes, weights)
    middle = float(np.average([p.time for p in late], weights=weights))
    years = (middle - float(np.mean([p.time for p in early]))) / YEAR
    sd = float(np.hypot(np.hypot(first_sd, now_sd) / first, GAIN_DRIFT * years))
    lag = (late[-1].time - middle) / YEAR
    return Trend(first, first_sd, now, now_sd, 1 - now / first, sd, years, lag, len(ordered))


def years_left(found: Trend, end: float = 0.8) -> Toleranced | None:
    """Years until `end` of the first capacity, if it goes on falling in a straight line; None where no fall is sure.

    The band is that of the rate with 95 %. Ageing is seldom straight: slower later by the root of time, faster after a
    knee; neither is in it.
    """
    if not found.falls or not found.years > 0:
        return None
    left = found.now / found.first - end
    if left <= 0:
        return Toleranced(0.0, 0.0, 0.0)
    rates = [(found.fall + way * STRAIGHT * found.fall_sd) / found.years for way in (-1, 0, 1)]
    slow, middle, fast = (max(left / max(rate, 1e-6) - found.lag, 0.0) for rate in rates)
    return Toleranced(middle, min(fast, middle), max(slow, middle))
