"""Short circuits through an arc.

Gives: arcing_fault(). SI floats or arrays.
Limits: bolted shorts are solved in circuit/shorts; the share that an arc leaves is practice, not a law.
Source: stands at the function.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["Values", "arcing_fault", "time_constant"]

Values = float | npt.NDArray[np.float64]


def arcing_fault(current: Values, share: Values = 0.5) -> Values:
    """Least current of a short through an arc, from the least bolted one. [A]

    Parameters
    ----------
    current : least bolted fault current. [A]
    share : part that is left. [-]

    References
    ----------
    Half: common practice, no source; an arc holds some 20 to 45 V of a 48 V-class bank.
    """
    return share * current


def time_constant(inductance: Values, resistance: Values) -> Values:
    """Time constant with which a current rises in a loop, and dies away. [s]

    Parameters
    ----------
    inductance : of the loop. [H]
    resistance : of the loop. [ohm]

    References
    ----------
    i(t) = (V/R) (1 - exp(-t R/L)), solution of a loop of resistance and inductance [stated law].
    """
    return inductance / resistance
