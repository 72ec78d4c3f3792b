"""A lithium iron phosphate cell between its terminals: state of charge, relaxation, temperature.

Gives: state_of_charge(), branch_weights(), resistance_factor(), rest_left().
SI floats or arrays; knows no bank and no table of its own.
Limits: a curve is straight between its points and ends at its ends: nothing is extrapolated, outside it is NaN.
Sources: stand at each function; the curves themselves are in the handbook.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

__all__ = [
    "branch_weights",
    "resistance_factor",
    "rest_left",
    "state_of_charge",
]

Values = npt.ArrayLike
Array = np.ndarray


def state_of_charge(voltage: Values, curve_soc: Values, curve_voltage: Values) -> tuple[Array, Array]:
    """Lowest and highest state of charge at which a curve passes a voltage; its end where the voltage lies outside. [-]

    Parameters
    ----------
    voltage : any shape, of a cell. [V]
    curve_soc : (points,), rising. [-]
    curve_voltage : (points,), may be level or fall a little between points. [V]

    References
    ----------
    Inverse of the broken line [derived]: running highest and lowest make it single-valued, the two answers bracket it.
    """
    soc, volts = np.asarray(curve_soc, dtype=float), np.asarray(curve_voltage, dtype=float)
    upper = np.maximum.accumulate(volts)
    lower = np.minimum.accumulate(volts[::-1])[::-1]
    return _first_reach(voltage, soc, upper), _last_reach(voltage, soc, lower)


def _first_reach(voltage: Values, soc: Array, rising: Array) -> Array:
    keep = np.concatenate([[True], np.diff(rising) > 0])
    return np.asarray(np.interp(np.asarray(voltage, dtype=float), rising[keep], soc[keep]))


def _last_reach(voltage: Values, soc: Array, rising: Array) -> Array:
    keep = np.concatenate([np.diff(rising) > 0, [True]])
    return np.asarray(np.interp(np.asarray(voltage, dtype=float), rising[keep], soc[keep]))


def branch_weights(ratio: Values) -> tuple[Array | float, Array | float, Array | float, Array | float]:
    """Decay and moments m0, m1, m2 of a branch over one step: integral of a exp(-a(1-x)) x^k, k = 0, 1, 2. [-]

    Parameters
    ----------
    ratio : a, step over time constant, above zero. [-]

    References
    ----------
    Exponential integrators, variation of constants; m_k = 1 - k m_(k-1) / a [derived by parts]; series a^n below 0.05.
    """
    if isinstance(ratio, float) and ratio > 0.05:
        fall, m0 = math.exp(-ratio), -math.expm1(-ratio)
        m1 = 1 - m0 / ratio
        return fall, m0, m1, 1 - 2 * m1 / ratio
    a = np.asarray(ratio, dtype=float)
    small = a < 0.05
    safe = np.where(small, 1.0, a)
    rest = -np.expm1(-a)
    m1 = np.where(small, a / 2 - a**2 / 6 + a**3 / 24 - a**4 / 120 + a**5 / 720, 1 - rest / safe)
    series = a / 3 - a**2 / 12 + a**3 / 60 - a**4 / 360 + a**5 / 2520
    m2 = np.where(small, series, 1 - 2 * m1 / safe)
    return np.exp(-a), rest, m1, m2


def resistance_factor(temperature_degc: Values, table_degc: Values, table_factor: Values) -> Array:
    """Resistance of the cells against 25 degC; NaN outside the table. [-]

    Parameters
    ----------
    temperature_degc : of the cells. [degC]
    table_degc : (points,), rising. [degC]
    table_factor : (points,), 1 at 25 degC. [-]

    References
    ----------
    Straight in the logarithm between the points [derived: the factor falls nearly exponentially with temperature].
    """
    degc, points = np.asarray(temperature_degc, dtype=float), np.asarray(table_degc, dtype=float)
    logs = np.interp(degc, points, np.log(np.asarray(table_factor, dtype=float)), left=np.nan, right=np.nan)
    return np.asarray(np.exp(logs))


def rest_left(rested: Values, amplitude_1: Values, time_1: Values, amplitude_2: Values, time_2: Values) -> Array:
    """What is left of a cell's relaxation after some rest, two exponentials: a lower bound. [V]

    Parameters
    ----------
    rested : time without current. [s]
    amplitude_1 : of the quick part at the start. [V]
    time_1 : its time constant. [s]
    amplitude_2 : of the slow part at the start. [V]
    time_2 : its time constant. [s]

    References
    ----------
    Two exponentials fitted to measured relaxation [derived; handbook table of relaxation]; the slow tail is missing.
    """
    rest = np.asarray(rested, dtype=float)
    quick = np.asarray(amplitude_1) * np.exp(-rest / np.asarray(time_1))
    return np.asarray(quick + np.asarray(amplitude_2) * np.exp(-rest / np.asarray(time_2)))
