"""A string of solar modules by its plate: open volts and short current under the sun and temperature of the moment.

Gives: string_voltage(), short_current(). SI floats, degC.
Limits: alike solar modules, all in the same sun; one diode, no series resistance: above some 200 W/m2.
Sources: coefficients of the plate, linear in temperature; diode law of the open voltage [stated law].
"""

from __future__ import annotations

import math

__all__ = ["short_current", "string_voltage"]

BOLTZMANN, CHARGE = 1.380649e-23, 1.602176634e-19  # J/K, C: exact in the International System
FULL_SUN, PLATE_DEGC, ZERO = 1000.0, 25.0, 273.15  # W/m2, degC, K


def string_voltage(
    open_voltage: float, drift: float, cells: int, degc: float, sun: float, *, in_series: int = 1, ideality: float = 1.2
) -> float:
    """Open voltage of a string. [V]

    Parameters
    ----------
    open_voltage : of one solar module at 1000 W/m2 and 25 degC. [V]
    drift : its change by temperature. [1/K]
    cells : cells in series in one solar module. [-]
    degc : of the cells. [degC]
    sun : on their plane. [W/m2]
    in_series : solar modules in the string. [-]
    ideality : of the diode, 1.0 to 1.4. [-]

    References
    ----------
    n (Voc (1 + b (T - 25)) + Ns m k T / q ln(G / 1000)) [stated law].
    """
    thermal = BOLTZMANN * (degc + ZERO) / CHARGE
    one = open_voltage * (1.0 + drift * (degc - PLATE_DEGC)) + cells * ideality * thermal * math.log(sun / FULL_SUN)
    return in_series * one


def short_current(short: float, drift: float, degc: float, sun: float) -> float:
    """Short current of a string. [A]

    Parameters
    ----------
    short : of one solar module at 1000 W/m2 and 25 degC. [A]
    drift : its change by temperature. [1/K]
    degc : of the cells. [degC]
    sun : on their plane. [W/m2]

    References
    ----------
    I (G / 1000) (1 + a (T - 25)) [stated law].
    """
    return short * sun / FULL_SUN * (1.0 + drift * (degc - PLATE_DEGC))
