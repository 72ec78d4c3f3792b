"""Current between two modules just joined, as a closed form.

Gives: first_current(), largest_difference(), join_current(). Each module is a capacitor (its open-circuit voltage over
charge) behind a resistance with one relaxation branch; both branches have one time constant.
Limits: linear about the working point; on the flat part of an iron phosphate curve the capacitor is far larger than
near the ends. Any number of modules and curves: circuit/run and circuit/joining.
Sources: derived; checked with a matrix exponential and ngspice to 3e-6.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["first_current", "join_current", "largest_difference"]

Values = float | npt.NDArray[np.float64]


def first_current(difference: Values, loop: Values) -> Values:
    """Current at the moment of joining. [A]

    Parameters
    ----------
    difference : of the rested voltages. [V]
    loop : both ohmic resistances and the lead. [ohm]

    References
    ----------
    Ohm's law, I0 = dV / sum of R0 [stated law].
    """
    return difference / loop


def largest_difference(current: Values, loop: Values) -> Values:
    """Largest difference of rested voltages for a first current. [V]

    Parameters
    ----------
    current : allowed at once. [A]
    loop : both ohmic resistances and the lead. [ohm]

    References
    ----------
    Ohm's law [stated law].
    """
    return current * loop


def join_current(
    difference: float, loop: float, branch: float, branch_capacitance: float, capacitance: float, time: Values
) -> Values:
    """Current some time after joining. [A]

    Parameters
    ----------
    difference : of the rested voltages. [V]
    loop : R0, both ohmic resistances and the lead. [ohm]
    branch : R1, both relaxation branches in series. [ohm]
    branch_capacitance : C1, both branches in series. [F]
    capacitance : Cb, both modules in series, charge over voltage. [F]
    time : since joining. [s]

    References
    ----------
    Roots of s^2 + (1/(R1 C1) + 1/(R0 C1) + 1/(R0 Cb)) s + 1/(R0 Cb R1 C1) with i(0) = dV/R0 and
    i'(0) = -(i(0)/R0)(1/C1 + 1/Cb) [derived]; valid for equal time constants of both branches.
    """
    b = 1 / (branch * branch_capacitance) + 1 / (loop * branch_capacitance) + 1 / (loop * capacitance)
    c = 1 / (loop * capacitance * branch * branch_capacitance)
    root = np.sqrt(b * b - 4 * c)
    fast, slow = (-b - root) / 2, (-2 * c) / (b + root)
    first = difference / loop
    slope = -first / loop * (1 / branch_capacitance + 1 / capacitance)
    part = (slope - slow * first) / (fast - slow)
    since = np.asarray(time, dtype=float)
    current: Values = (part * np.exp(fast * since) + (first - part) * np.exp(slow * since))[()]
    return current
