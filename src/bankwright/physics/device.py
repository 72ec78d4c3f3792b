"""Devices against time, heat and curves: derating, clearing time on a curve, let-through of a steady current.

Gives: derated(), clearing_time(), steady_let_through(). SI floats or arrays.
Limits: a curve is straight between its points on logarithmic paper and ends at its ends: below its smallest current the
device never opens (infinity), above its largest the answer is NaN. Under 0.1 s use published let-through instead.
Sources: stand at each function; points and slopes come from the bank file or the handbook.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["clearing_time", "derated", "steady_let_through"]

Values = float | npt.NDArray[np.float64]


def derated(rating: Values, air_degc: Values, begins_degc: Values, per_kelvin: Values) -> Values:
    """Current a device carries in hot air. [A]

    Parameters
    ----------
    rating : printed on it. [A]
    air_degc : around it. [degC]
    begins_degc : air from which it carries less. [degC]
    per_kelvin : share of the rating lost for each kelvin above. [1/K]

    References
    ----------
    Straight line of makers' derating curves; 0.5 percent per kelvin above 25 degC is common practice, no source.
    """
    above = np.maximum(np.asarray(air_degc, dtype=float) - begins_degc, 0.0)
    return (rating * np.maximum(1 - per_kelvin * above, 0.0))[()]


def clearing_time(current: Values, curve_current: npt.ArrayLike, curve_time: npt.ArrayLike) -> Values:
    """Time a device takes to clear a steady current, on its curve. [s]

    Parameters
    ----------
    current : through it. [A]
    curve_current : (points,), rising. [A]
    curve_time : (points,), falling. [s]

    References
    ----------
    Straight between points on double logarithmic paper, as such curves are printed [derived].
    """
    points, times = np.asarray(curve_current, dtype=float), np.asarray(curve_time, dtype=float)
    with np.errstate(divide="ignore"):
        logs = np.interp(np.log(np.abs(current)), np.log(points), np.log(times), left=np.inf, right=np.nan)
    time: Values = np.exp(logs)[()]
    return time


def steady_let_through(current: Values, time: Values) -> Values:
    """Let-through of a steady current until it is cleared; right above 0.1 s, not below. [A2s]

    Parameters
    ----------
    current : through the device. [A]
    time : until it has cleared. [s]

    References
    ----------
    I^2 t [derived]; under 0.1 s use the published let-through.
    """
    return current**2 * time
