"""Resistance, voltage drop and inductance of conductors.

Gives: resistance(), at_temperature(), at_temperature_nec(), loop_drop(), drop_by_circular_mils(), length_limit(),
loop_inductance(). Takes and gives SI floats or arrays; knows no bank and no size label (those are in handbook/wires).
Limits: direct current; temperature of the metal, not of the room; lugs and joints are in joint.py, warming in
ampacity.py.
Sources: IEC 60028:1925 (annealed copper, read in a handbook); IEC 60228 Annex B; NEC Chapter 9 Table 8, note.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = [
    "ALPHA_75_NEC",
    "COPPER_ALPHA_20",
    "COPPER_RHO_20",
    "COPPER_ZERO_DEGC",
    "at_temperature",
    "at_temperature_nec",
    "drop_by_circular_mils",
    "length_limit",
    "loop_drop",
    "loop_inductance",
    "resistance",
]

Values = float | npt.NDArray[np.float64]

COPPER_RHO_20 = 1.7241e-8  # ohm m  IEC 60028:1925, annealed copper at 20 degC [read]
COPPER_ALPHA_20 = 3.93e-3  # 1/K    IEC 60028:1925, constant mass, at 20 degC [read]
COPPER_ZERO_DEGC = -234.5  # degC   temperature at which the straight law reaches zero, FAA AC 43.13-1B [read]
ALPHA_75_NEC = 3.23e-3  # 1/K    NEC Chapter 9 Table 8, note, copper at 75 degC [read]


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
    return resistivity * length / area * (1 + alpha * (temperature_degc - 20.0))


def at_temperature(resistance_20: Values, temperature_degc: Values) -> Values:
    """Resistance of copper at a temperature, from that at 20 degC. [ohm]

    Parameters
    ----------
    resistance_20 : at 20 degC. [ohm]
    temperature_degc : of the metal. [degC]

    References
    ----------
    IEC 60228:2004, Annex B, R(T) = R20 (234.5 + T) / 254.5 [read]; its printed factors round the coefficient to 0.004.
    """
    return resistance_20 * (temperature_degc - COPPER_ZERO_DEGC) / (20.0 - COPPER_ZERO_DEGC)


def at_temperature_nec(resistance_75: Values, temperature_degc: Values) -> Values:
    """Resistance of copper at a temperature, from that at 75 degC. [ohm]

    Parameters
    ----------
    resistance_75 : at 75 degC. [ohm]
    temperature_degc : of the metal. [degC]

    References
    ----------
    NEC Chapter 9 Table 8, note: R2 = R1 (1 + 0.00323 (T2 - 75)) [read].
    """
    return resistance_75 * (1 + ALPHA_75_NEC * (temperature_degc - 75.0))


def loop_drop(current: Values, ohm_per_m: Values, one_way: Values) -> Values:
    """Voltage lost in a pair of conductors, out and back. [V]

    Parameters
    ----------
    current : in the pair. [A]
    ohm_per_m : of one conductor at its running temperature. [ohm/m]
    one_way : length of the run, not of the loop. [m]

    References
    ----------
    Ohm's law, V = 2 L r I [stated law].
    """
    return 2 * one_way * ohm_per_m * current


def drop_by_circular_mils(current: Values, one_way_ft: Values, circular_mils: Values, k: Values = 12.9) -> Values:
    """Voltage lost in a pair of conductors by the K-factor of handbooks; a second road to loop_drop. [V]

    Parameters
    ----------
    current : in the pair. [A]
    one_way_ft : length of the run. [ft]
    circular_mils : section. [cmil]
    k : resistance of a foot of one circular mil; 12.9 is copper at 75 degC. [ohm cmil/ft]

    References
    ----------
    V = 2 K I L / CM, K = 12.9 for copper at 75 degC [read]; the boat practice K = 10.75 is [from memory].
    """
    return 2 * k * current * one_way_ft / circular_mils


def length_limit(length_at_20: Values, temperature_degc: Values) -> Values:
    """Longest run at a conductor temperature, from the longest at 20 degC and the same drop. [m]

    Parameters
    ----------
    length_at_20 : longest run with the conductor at 20 degC. [m]
    temperature_degc : of the metal. [degC]

    References
    ----------
    FAA AC 43.13-1B, 11-66, L2 = 254.5 L1 / (234.5 + T2) [read].
    """
    return length_at_20 * (20.0 - COPPER_ZERO_DEGC) / (temperature_degc - COPPER_ZERO_DEGC)


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
