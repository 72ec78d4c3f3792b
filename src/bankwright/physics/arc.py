"""Direct-current arcs: bound of the incident energy.

Gives: most_power_current(), incident_energy(), ONSET. SI floats or arrays; energy in J/m2 (1 cal/cm2 = 41 840 J/m2).
Limits: the maximum power method is an upper bound, far above what an arc can draw across centimetres at the 48 V class;
burns from a bridged tool are not covered.
Sources: D. R. Doan, IEEE Trans. Ind. Appl. 46(6), 2010, and NFPA 70E Annex D.5.1: equation from memory, its constant
re-derived. No measured energy at this voltage stands beside it.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from bankwright.forms.constants import CALORIE

__all__ = ["ONSET", "incident_energy", "most_power_current"]

Values = float | npt.NDArray[np.float64]

PRINTED = 0.01 * CALORIE  # J/(V A s); 0.01 as printed with D in cm; the derivation gives 1/(8 pi) = 0.0398
ONSET = 1.2 * CALORIE * 1e4  # J/m2, onset of a second-degree burn, NFPA 70E [read]


def most_power_current(bolted: Values) -> Values:
    """Arc current at which the arc takes the most power. [A]

    Parameters
    ----------
    bolted : current of the bolted short. [A]

    References
    ----------
    Doan 2010: half the voltage, half the current [principle read, equation from memory].
    """
    return 0.5 * bolted


def incident_energy(voltage: Values, arc: Values, time: Values, distance: Values, factor: Values = 1.0) -> Values:
    """Heat that arrives on a surface, upper bound. [J/m2]

    Parameters
    ----------
    voltage : of the bank. [V]
    arc : current of the arc, half the bolted one for the bound. [A]
    time : until the device ahead clears at that arc current; 2 s where there is none. [s]
    distance : of face and chest. [m]
    factor : 1 in the open; 3 in a box, up to about 0.72 m. [-]

    References
    ----------
    NFPA 70E Annex D.5.1, E = 0.01 V I t / D^2 in cal/cm2 with D in cm [from memory]; spread over a sphere it is
    0.0095, rounded up in print [derived]. Factor 3 [from memory], reached at 0.72 m by published box values [derived].
    """
    return factor * PRINTED * voltage * arc * time / distance**2
