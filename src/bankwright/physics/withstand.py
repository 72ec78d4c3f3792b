"""Short-circuit withstand of a conductor: all heat stays in the metal.

Gives: k_factor(), least_section(), longest_time(), withstand_current(), withstand_let_through(), icea_current(). SI
floats or arrays; k in A s^0.5 / m2 (a printed 143 is 143e6).
Limits: copper, up to 5 s; under 0.1 s with a device, use its published let-through. Printed k values are a table.
Sources: IEC 60364-5-54:2011 Annex A; IEC 60364-4-43:2008, 434.5.2; ICEA P-32-382-2007.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = [
    "CIRCULAR_MIL",
    "LONGEST",
    "icea_current",
    "k_factor",
    "least_section",
    "longest_time",
    "withstand_current",
    "withstand_let_through",
]

Values = float | npt.NDArray[np.float64]

HEAT = 3.45e-3  # J/(K mm3)  volumetric heat of copper at 20 degC, IEC 60364-5-54, Annex A [read]
BETA = 234.5  # degC       reciprocal of the temperature coefficient at 0 degC, the same [read]
RHO_20 = 17.241e-6  # ohm mm     resistivity of copper at 20 degC, the same [read]
ICEA = 0.0297  # A2s/cmil2  ICEA P-32-382-2007, copper [read]
ICEA_BETA = 234.0  # degC       the same [read]
CIRCULAR_MIL = np.pi / 4 * 25.4e-6**2  # m2, circle 0.001 in wide [definition]
LONGEST = 5.0  # s          end of the law, IEC 60364-4-43, 434.5.2 [read]


def k_factor(initial_degc: Values, final_degc: Values) -> Values:
    """Withstand of copper between two temperatures, all heat kept. [A s0.5/m2]

    Parameters
    ----------
    initial_degc : of the metal before the short: its rating, or what it really has. [degC]
    final_degc : that the insulation stands for the short. [degC]

    References
    ----------
    IEC 60364-5-54:2011, Annex A, k = sqrt(Qc (beta+20)/rho20 ln(1 + (Tf-Ti)/(beta+Ti))) [read].
    """
    rise = np.log1p((final_degc - initial_degc) / (BETA + initial_degc))
    return 1e6 * np.sqrt(HEAT * (BETA + 20.0) / RHO_20 * rise)


def least_section(current: Values, time: Values, k: Values) -> Values:
    """Smallest section that stands a current for a time. [m2]

    Parameters
    ----------
    current : steady over the time. [A]
    time : until it is cleared, up to 5 s. [s]
    k : withstand of the metal and insulation. [A s0.5/m2]

    References
    ----------
    IEC 60364-4-43:2008, 434.5.2, S = sqrt(I^2 t)/k [read, as BS 7671 434.5.2].
    """
    return np.sqrt(current**2 * np.asarray(time, dtype=float)) / k


def longest_time(section: Values, current: Values, k: Values) -> Values:
    """Longest time a section stands a current; the law itself ends at 5 s. [s]

    Parameters
    ----------
    section : of metal. [m2]
    current : steady over the time. [A]
    k : withstand of the metal and insulation. [A s0.5/m2]

    References
    ----------
    IEC 60364-4-43:2008, 434.5.2, t = (k S / I)^2 [read, as BS 7671 434.5.2].
    """
    return (k * section / current) ** 2


def withstand_current(section: Values, time: Values, k: Values) -> Values:
    """Current a section stands for a time. [A]

    Parameters
    ----------
    section : of metal. [m2]
    time : up to 5 s. [s]
    k : withstand of the metal and insulation. [A s0.5/m2]

    References
    ----------
    IEC 60364-4-43:2008, 434.5.2, I = k S / sqrt(t) [read, as BS 7671 434.5.2].
    """
    return k * section / np.sqrt(time)


def withstand_let_through(section: Values, k: Values) -> Values:
    """Integral of the square of the current that a section stands. [A2s]

    Parameters
    ----------
    section : of metal. [m2]
    k : withstand of the metal and insulation. [A s0.5/m2]

    References
    ----------
    IEC 60364-4-43:2008, 434.5.2, I^2 t < k^2 S^2 [read, as BS 7671 434.5.2].
    """
    return (k * section) ** 2


def icea_current(section: Values, time: Values, initial_degc: Values, final_degc: Values) -> Values:
    """Current that copper stands for a time by the North American equation: a second road to withstand_current. [A]

    Parameters
    ----------
    section : of metal. [m2]
    time : of the current. [s]
    initial_degc : of the metal before. [degC]
    final_degc : that the insulation stands. [degC]

    References
    ----------
    ICEA P-32-382-2007, (I/A)^2 t = 0.0297 log10((T2+234)/(T1+234)), A in circular mils [read].
    """
    per_cmil = np.sqrt(ICEA * np.log10((final_degc + ICEA_BETA) / (initial_degc + ICEA_BETA)) / time)
    return section / CIRCULAR_MIL * per_cmil
