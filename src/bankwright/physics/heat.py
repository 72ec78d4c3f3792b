"""What a single-phase inverter's ripple adds to the heat of a current.

Gives: ripple_share(), heating_factor(), worst_heating_factor(). SI floats or arrays.
Limits: an alternating part at twice the line frequency on top of the mean;
balanced three-phase inverters make none on common conductors.
Sources: derived (current divider), checked by numeric integration.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = [
    "heating_factor",
    "ripple_share",
    "worst_heating_factor",
]

Values = float | npt.NDArray[np.float64]


def ripple_share(
    resistance: Values, inductance: Values, capacitance: Values, line_frequency: Values, series: Values = 0.0
) -> Values:
    """Part of the inverter's alternating current that the bank gives, the rest coming from its capacitors. [-]

    Parameters
    ----------
    resistance : of bank and cables, at 100 or 120 Hz. [ohm]
    inductance : of the loop. [H]
    capacitance : of the inverter's input; 0 for none. [F]
    line_frequency : 50 or 60; the ripple has twice that. [Hz]
    series : resistance of the capacitors. [ohm]

    References
    ----------
    Current divider, |Zc / (Zc + R + jwL)|, w = 4 pi f [derived]; it can exceed 1 near resonance.
    """
    w = 4 * np.pi * np.asarray(line_frequency, dtype=float)
    admittance = 1j * w * np.asarray(capacitance, dtype=float)
    capacitors = 1 + admittance * series  # Zc times the admittance, so that no capacitance needs no division by zero
    share: Values = np.abs(capacitors / (capacitors + admittance * (resistance + 1j * w * inductance)))[()]
    return share


def heating_factor(share: Values) -> Values:
    """RMS over mean of a single-phase inverter's battery current. [-]

    Parameters
    ----------
    share : part of the alternating current that the bank gives; 1 without capacitors. [-]

    References
    ----------
    Mean 1 and a full alternating part of amplitude a: sqrt(1 + a^2/2); 1.225 at a = 1 [derived].
    """
    return np.sqrt(1 + np.asarray(share, dtype=float) ** 2 / 2)[()]


def worst_heating_factor(resistance: float, inductance: float, line_frequency: float, most: float = 0.1) -> float:
    """Largest heating factor over every input capacitance up to a most. [-]

    Parameters
    ----------
    resistance : of bank and cables. [ohm]
    inductance : of the loop. [H]
    line_frequency : 50 or 60. [Hz]
    most : largest capacitance thought of; 100 mF where not given. [F]

    References
    ----------
    Largest of the current divider: C = wL / (w (R^2 + (wL)^2)) or the end of the range [derived].
    """
    w = 4 * np.pi * line_frequency
    reactance = w * inductance
    best = min(reactance / (w * (resistance**2 + reactance**2)), most)
    return float(heating_factor(ripple_share(resistance, inductance, best, line_frequency)))
