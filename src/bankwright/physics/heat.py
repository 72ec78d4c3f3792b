"""Heat of a bank and its room, and what a single-phase inverter's ripple adds.

Gives: ripple_share(), heating_factor(), worst_heating_factor(), converter_loss(), room_rise(), enclosure_rise(). SI
floats or arrays.
Limits: an alternating part at twice the line frequency on top of the mean; balanced three-phase inverters make none on
common conductors. Steady state for rooms and boxes.
Sources: derived (current divider), checked by numeric integration; textbook heat balance.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = [
    "converter_loss",
    "enclosure_rise",
    "heating_factor",
    "ripple_share",
    "room_rise",
    "worst_heating_factor",
]

Values = float | npt.NDArray[np.float64]

AIR = 1206.0  # J/(m3 K)  density times heat capacity of dry air near 20 degC [from memory]


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


def converter_loss(power_out: Values, efficiency: Values) -> Values:
    """Heat a converter leaves in the room. [W]

    Parameters
    ----------
    power_out : given. [W]
    efficiency : at that power, 0..1. [-]

    References
    ----------
    P (1/eta - 1), definition of efficiency [stated law].
    """
    return power_out * (1 / efficiency - 1)


def room_rise(heat: Values, conductance: Values, volume: Values = 0.0, changes_per_hour: Values = 0.0) -> Values:
    """Rise of a room's air over its surroundings in steady state. [K]

    Parameters
    ----------
    heat : left in the room. [W]
    conductance : of walls, floor and ceiling, area times transmittance. [W/K]
    volume : of the room. [m3]
    changes_per_hour : of its air. [1/h]

    References
    ----------
    Heat balance, Q / (UA + rho cp V n / 3600) [stated law]; rho cp 1206 J/(m3 K) [from memory].
    """
    return heat / (conductance + AIR * volume * changes_per_hour / 3600)


def enclosure_rise(heat: Values, area: Values, transfer: Values = 5.5) -> Values:
    """Rise of the air in a closed painted steel box over the room. [K]

    Parameters
    ----------
    heat : left in the box. [W]
    area : of its outer surface that gives heat off. [m2]
    transfer : 5.5 for painted sheet steel in still air; 4.6 by a chart. [W/(m2 K)]

    References
    ----------
    Q / (U A); U from the practice of IEC TR 60890 [from memory].
    """
    return heat / (transfer * area)
