"""Devices against time, heat and curves: derating, clearing time on a curve, let-through on a curve.

Gives: derated(), clearing_time(), curve_let_through(), conventional_current(). SI floats or arrays.
Limits: a curve is straight between its points on logarithmic paper and ends at its ends: below its smallest current the
device never opens (infinity), above its largest the answer is NaN. Under 0.1 s use published let-through instead.
Sources: stand at each function; points and slopes come from the bank file or the handbook.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["clearing_time", "conventional_current", "curve_let_through", "derated"]

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


def curve_let_through(current: Values, curve_current: npt.ArrayLike, curve_time: npt.ArrayLike) -> Values:
    """Let-through by curve and steady current; right above 0.1 s, not below. [A2s]

    Parameters
    ----------
    current : through it. [A]
    curve_current : (points,), rising. [A]
    curve_time : (points,), falling. [s]

    References
    ----------
    I^2 t at the time of the curve [derived]; under 0.1 s use the published let-through.
    """
    return np.asarray(current, dtype=float) ** 2 * clearing_time(current, curve_current, curve_time)


def conventional_current(rating: Values, multiple: Values) -> Values:
    """Current at which a device opens, or holds, within its conventional time. [A]

    Parameters
    ----------
    rating : printed on it. [A]
    multiple : 1.13 and 1.45 for IEC 60898-1 breakers, 1.25 and 1.6 for gG fuses from 16 A. [-]

    References
    ----------
    IEC 60898-1:2015 and IEC 60269-1, conventional currents as multiples of the rating [read].
    """
    return rating * multiple
