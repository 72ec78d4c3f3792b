"""Joints and bars: heat, comparison with their like, density in a bar.

Gives: heat(), led_away(), net_section(), density(), ABOVE_LOWEST. SI floats or arrays.
Limits: a joint's resistance is a reading or a value of the bank file, never computed from torque; limits of density
are tables of the handbook.
Sources: stand at each function.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["ABOVE_LOWEST", "density", "heat", "led_away", "net_section"]

Values = float | npt.NDArray[np.float64]
ABOVE_LOWEST = 1.5  # times the lowest of its like: investigate; ANSI/NETA ATS-2009, 7.3.2 [read]


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


def led_away(perimeter: Values, section: Values, film: Values = 10.0, conductivity: Values = 400.0) -> Values:
    """Heat that one long conductor leads away from a warm place on it, a kelvin of rise there. [W/K]

    Parameters
    ----------
    perimeter : of its outside, insulation included. [m]
    section : of metal. [m2]
    film : heat given off by its outside; 10 for a cable, 6 for a bar in still air. [W/(m2 K)]
    conductivity : of the metal, copper if not told. [W/(m K)]

    References
    ----------
    Long fin, G = sqrt(h p k A) [stated law]; h is a guess to +-50 % [common practice, no source];
    k of copper [from memory].
    """
    found: Values = np.sqrt(film * perimeter * conductivity * section)
    return found


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
