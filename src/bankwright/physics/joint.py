"""Joints, lugs and bars: heat, warming, comparison with their like, fit on a stud, density in a bar.

Gives: heat(), rise_at(), limit_among(), above_its_like(), clearance(), net_section(), density(). SI floats or arrays.
Limits: a joint's resistance is a reading or a value of the bank file, never computed from torque; limits of rise and
density are tables of the handbook.
Sources: stand at each function.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["above_its_like", "clearance", "density", "heat", "limit_among", "net_section", "rise_at"]

Values = float | npt.NDArray[np.float64]


def heat(current: Values, resistance: Values) -> Values:
    """Heat made in a resistance. [W]

    Parameters
    ----------
    current : heating (RMS) value. [A]
    resistance : of the joint or conductor. [ohm]

    References
    ----------
    Joule's law, P = I^2 R [stated law].
    """
    return current**2 * resistance


def rise_at(current: Values, test_current: Values, test_rise: Values) -> Values:
    """Rise of a connection over its surroundings at a current, from its rise at another. [K]

    Parameters
    ----------
    current : heating (RMS) value. [A]
    test_current : at which the rise was measured or is allowed. [A]
    test_rise : rise at that current. [K]

    References
    ----------
    Heat grows with the square of the current, loss to the air in proportion to the rise [derived].
    """
    return test_rise * (current / test_current) ** 2


def limit_among(resistances: npt.ArrayLike, ratio: float = 1.5) -> float:
    """Resistance above which a joint stands out among joints of one kind. [ohm]

    Parameters
    ----------
    resistances : (joints,), of one kind. [ohm]
    ratio : allowed over the lowest. [-]

    References
    ----------
    ANSI/NETA ATS-2009, 7.3.2: investigate above 150 percent of the lowest reading [read].
    """
    return float(np.nanmin(np.asarray(resistances, dtype=float))) * ratio


def above_its_like(resistances: npt.ArrayLike, ratio: float = 1.5) -> tuple[int, ...]:
    """Places of the joints that stand out among their like, counted from 0. [-]

    Parameters
    ----------
    resistances : (joints,), of one kind. [ohm]
    ratio : allowed over the lowest. [-]

    References
    ----------
    ANSI/NETA ATS-2009, 7.3.2 [read].
    """
    values = np.asarray(resistances, dtype=float)
    return tuple(int(place) for place in np.flatnonzero(values > limit_among(values, ratio)))


def clearance(hole: Values, stud: Values) -> Values:
    """Play of a lug on its stud; negative: it does not go on. [m]

    Parameters
    ----------
    hole : diameter in the lug. [m]
    stud : diameter. [m]

    References
    ----------
    Difference of the two; limits 0.2 mm and 1.6 mm are common practice, no source.
    """
    return hole - stud


def net_section(width: Values, thickness: Values, hole: Values = 0.0) -> Values:
    """Metal of a bar left beside a hole in its middle. [m2]

    Parameters
    ----------
    width : of the bar. [m]
    thickness : of the bar. [m]
    hole : diameter; 0 for none. [m]

    References
    ----------
    Rectangle less the strip of the hole [derived].
    """
    return (width - hole) * thickness


def density(current: Values, section: Values) -> Values:
    """Current density in a section. [A/m2]

    Parameters
    ----------
    current : heating (RMS) value. [A]
    section : of metal. [m2]

    References
    ----------
    Definition.
    """
    return current / section
