"""Resistance and inductance of conductors.

Gives: resistance(), temperature_factor(), loop_inductance(), conduit_fill(). SI floats or arrays; knows no bank and no
size label (those are in handbook/wires).
Limits: direct current; temperature of the metal, not of the room;
lugs and joints are in joint.py, warming in ampacity.py.
Sources: IEC 60028:1925 (annealed copper, read in a handbook).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from bankwright.forms.constants import COPPER_ALPHA_20, COPPER_RHO_20

__all__ = [
    "conduit_fill",
    "loop_inductance",
    "resistance",
    "temperature_factor",
]

Values = float | npt.NDArray[np.float64]

REFERENCE_DEGC = 20.0


def temperature_factor(temperature_degc: Values, alpha: Values = COPPER_ALPHA_20) -> Values:
    """Resistance of a metal over that at 20 degC. [-]

    Parameters
    ----------
    temperature_degc : of the metal. [degC]
    alpha : temperature coefficient at 20 degC; copper where not given. [1/K]

    References
    ----------
    IEC 60028:1925, straight law of standard annealed copper [read].
    """
    return 1.0 + alpha * (temperature_degc - REFERENCE_DEGC)


def resistance(
    length: Values,
    area: Values,
    temperature_degc: Values = 20.0,
    resistivity: Values = COPPER_RHO_20,
    alpha: Values = COPPER_ALPHA_20,
) -> Values:
    """Resistance of a straight piece of metal. [ohm]

    Parameters
    ----------
    length : along the metal, out or back, not both. [m]
    area : cross-section of metal. [m2]
    temperature_degc : of the metal. [degC]
    resistivity : at 20 degC; annealed copper where not given. [ohm m]
    alpha : temperature coefficient at 20 degC; copper where not given. [1/K]

    References
    ----------
    IEC 60028:1925, resistivity and temperature coefficient of standard annealed copper [read].
    """
    return resistivity * length / area * temperature_factor(temperature_degc, alpha)


def loop_inductance(length: Values, spacing: Values, radius: Values) -> Values:
    """Inductance of a pair of parallel round conductors. [H]

    Parameters
    ----------
    length : of the pair, one way. [m]
    spacing : between the middles of the two. [m]
    radius : of the metal of one. [m]

    References
    ----------
    Two parallel wires, (mu0/pi) l (ln(d/a) + 1/4), current spread evenly over the section [stated law].
    """
    return 4e-7 * length * (np.log(spacing / radius) + 0.25)


def conduit_fill(count: Values, across: Values, bore: Values) -> Values:
    """Share of a conduit's inside area that round cables of one size take. [-]

    Parameters
    ----------
    count : of cables. [-]
    across : outer diameter of one. [m]
    bore : inside diameter of the conduit. [m]

    References
    ----------
    Areas of circles, n d^2 / D^2 [stated law].
    """
    return count * (across / bore) ** 2
