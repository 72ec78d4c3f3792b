"""Short-circuit withstand of a conductor: all heat stays in the metal.

Gives: k_factor(), withstand_let_through(), LONGEST. SI floats or arrays; k in A s^0.5 / m2 (a printed 143 is 143e6).
Limits: copper, up to 5 s; under 0.1 s with a device, use its published let-through. Printed k values are a table.
Sources: IEC 60364-5-54:2011 Annex A; IEC 60364-4-43:2008, 434.5.2.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = [
    "LONGEST",
    "k_factor",
    "withstand_let_through",
]

Values = float | npt.NDArray[np.float64]

HEAT = 3.45e-3  # J/(K mm3)  volumetric heat of copper at 20 degC, IEC 60364-5-54, Annex A [read]
BETA = 234.5  # degC       reciprocal of the temperature coefficient at 0 degC, the same [read]
RHO_20 = 17.241e-6  # ohm mm     resistivity of copper at 20 degC, the same [read]
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
