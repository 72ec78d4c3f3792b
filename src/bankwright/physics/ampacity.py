"""How warm a conductor and its ends get at a current, and how much less it may carry in warm air.

Gives: usable(), conductor_temperature(), tripping_limit(). SI floats or arrays; base values, factors of a book and
ratings are tables of the handbook.
Limits: steady state, one conductor of the kind the table is for; the estimate of a terminal's temperature leaves out
the heat that the device itself makes (a fuse is warmer than its cable).
Sources: heat law of the correction tables, NEC 310.15(B) and IEC 60364-5-52 table B.52.14.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["conductor_temperature", "tripping_limit", "usable"]

Values = float | npt.NDArray[np.float64]


def usable(base: Values, ambient: Values, bundling: Values, termination: Values) -> Values:
    """Current a conductor may carry: corrected for air and neighbours, and no more than its terminals take. [A]

    Parameters
    ----------
    base : column of its insulation, at the table's air. [A]
    ambient : factor for the air. [-]
    bundling : factor for conductors that lie together. [-]
    termination : column of its terminals, uncorrected; infinity where the book has no such rule. [A]

    References
    ----------
    NEC 310.15 and 110.14(C): the corrected value may not exceed the termination column [read].
    """
    return np.minimum(base * np.asarray(ambient, dtype=float) * bundling, termination)[()]


def conductor_temperature(
    current: Values, column: Values, column_degc: Values, air_degc: Values, basis_degc: Values = 30.0
) -> Values:
    """Temperature that a conductor reaches, and its terminals with it. [degC]

    Parameters
    ----------
    current : heating (RMS) value. [A]
    column : current of the table for this size. [A]
    column_degc : conductor temperature that the column is for. [degC]
    air_degc : around the conductor. [degC]
    basis_degc : air that the table is for. [degC]

    References
    ----------
    Rise goes with the square of the current: the law behind the ambient factors, read backward [derived].
    """
    return air_degc + (column_degc - basis_degc) * (current / column) ** 2


def tripping_limit(ampacity: Values, conductor_factor: Values, device_factor: Values) -> Values:
    """Largest device rating whose tripping current stays inside what the conductor stands for hours. [A]

    Parameters
    ----------
    ampacity : of the conductor as it lies, Iz. [A]
    conductor_factor : 1.45. [-]
    device_factor : tripping current over rating, 1.45 for a breaker, 1.6 for a gG fuse from 16 A. [-]

    References
    ----------
    IEC 60364-4-43:2008, 433.1, I2 <= 1.45 Iz [read, as BS 7671 433.1.1].
    """
    return conductor_factor * ampacity / device_factor
