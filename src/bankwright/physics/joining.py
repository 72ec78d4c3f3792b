"""Current at the moment two modules are joined.

Gives: first_current(), largest_difference().
Limits: the first instant; what follows, and any number of modules: circuit/run and circuit/joining.
Source: Ohm's law [stated law].
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["first_current", "largest_difference"]

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
