"""Direct-current arcs: bound of the incident energy, and the current an arc lets flow.

Gives: most_power_current(), incident_energy(), boundary(), arc_voltage(), arc_current(). SI floats or arrays; energy in
J/m2 (1 cal/cm2 = 41 840 J/m2).
Limits: the maximum power method is an upper bound, far above what an arc can draw across centimetres at the 48 V class;
burns from a bridged tool are not covered. The arc model is for currents above 10 A + 0.2 A/mm times the gap.
Sources: D. R. Doan, IEEE Trans. Ind. Appl. 46(6), 2010, and NFPA 70E Annex D.5.1; A. D. Stokes and W. T. Oppenlander,
J. Phys. D 24 (1991) 26. Both equations from memory; the constant of the first is re-derived.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["ONSET", "arc_current", "arc_voltage", "boundary", "incident_energy", "most_power_current"]

Values = float | npt.NDArray[np.float64]

CALORIE = 4.184  # J, thermochemical
PRINTED = 0.01 * CALORIE  # J/(V A s); 0.01 as printed with D in cm; the derivation gives 1/(8 pi) = 0.0398
ONSET = 1.2 * CALORIE * 1e4  # J/m2, onset of a second-degree burn, NFPA 70E [read]
STEPS = 60  # halvings; 1e-18 of the range


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


def boundary(voltage: Values, arc: Values, time: Values, factor: Values = 1.0) -> Values:
    """Distance at which the bound falls to the onset of a second-degree burn. [m]

    Parameters
    ----------
    voltage : of the bank. [V]
    arc : current of the arc. [A]
    time : until the device ahead clears. [s]
    factor : 1 in the open. [-]

    References
    ----------
    The same equation at 1.2 cal/cm2 [from memory].
    """
    return np.sqrt(factor * PRINTED * voltage * np.asarray(arc, dtype=float) * time / ONSET)


def arc_voltage(current: Values, gap: Values) -> Values:
    """Voltage across an arc. [V]

    Parameters
    ----------
    current : of the arc. [A]
    gap : between the metals. [m]

    References
    ----------
    Stokes and Oppenlander 1991, (20 + 0.534 z) I^0.12 with z in mm [from memory].
    """
    return (20.0 + 534.0 * np.asarray(gap, dtype=float)) * np.asarray(current, dtype=float) ** 0.12


def arc_current(voltage: Values, resistance: Values, gap: Values) -> Values:
    """Current of an arc fed through a resistance; NaN where the model holds no arc. [A]

    Parameters
    ----------
    voltage : open-circuit voltage. [V]
    resistance : of the loop. [ohm]
    gap : between the metals. [m]

    References
    ----------
    Stokes and Oppenlander 1991 with E = R I + V_arc(I), solved by halving; valid above 10 + 0.2 z [from memory].
    """
    emf, r, z = np.broadcast_arrays(*(np.asarray(value, dtype=float) for value in (voltage, resistance, gap)))
    low, high = np.zeros_like(emf), emf / r
    for _ in range(STEPS):
        middle = (low + high) / 2
        below = r * middle + arc_voltage(middle, z) < emf
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    found = (low + high) / 2
    return np.where(found > 10.0 + 200.0 * z, found, np.nan)[()]
