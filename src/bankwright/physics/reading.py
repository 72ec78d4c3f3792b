"""What spoils a reading: thermal voltage under a probe, bare metal before a camera, the field beside a main, haste.

Gives: thermal_ohms(), camera_reading(), stray_field(), time_constant(), reached(). SI floats, degC.
Limits: each alone; a film coefficient is a guess of +-50 %.
Sources: at each function.
"""

from __future__ import annotations

import math

__all__ = ["camera_reading", "reached", "stray_field", "thermal_ohms", "time_constant"]

PERMEABILITY, ZERO = 4e-7 * math.pi, 273.15  # H/m (to 1e-9 of the measured value), K
COPPER_HEAT = 8960.0 * 385.0  # J/(m3 K): density and specific heat of copper, handbook values [from memory]


def thermal_ohms(seebeck: float, kelvin: float, current: float) -> float:
    """Resistance that a thermal voltage looks like. [ohm]

    Parameters
    ----------
    seebeck : thermal voltage of the two metals. [V/K]
    kelvin : difference of temperature between the two contacts. [K]
    current : under which the millivolts are read. [A]

    References
    ----------
    S dT / I [stated law].
    """
    return seebeck * kelvin / current


def camera_reading(true_degc: float, room_degc: float, emissivity: float, emissivity_set: float = 0.95) -> float:
    """Temperature that a thermal camera shows of an opaque surface. [degC]

    Parameters
    ----------
    true_degc : of the surface. [degC]
    room_degc : of everything that it mirrors. [degC]
    emissivity : of the surface. [-]
    emissivity_set : that the camera is set to. [-]

    References
    ----------
    e T^4 + (1 - e) T_room^4 read with the set e; law of Stefan and Boltzmann over all wavelengths [derived].
    """
    true, room = (true_degc + ZERO) ** 4, (room_degc + ZERO) ** 4
    seen = emissivity * true + (1.0 - emissivity) * room
    return float(((seen - (1.0 - emissivity_set) * room) / emissivity_set) ** 0.25 - ZERO)


def stray_field(current: float, distance: float) -> float:
    """Magnetic flux density beside a long conductor. [T]

    Parameters
    ----------
    current : in it. [A]
    distance : from its axis. [m]

    References
    ----------
    mu0 I / (2 pi d) [stated law].
    """
    return PERMEABILITY * current / (2.0 * math.pi * distance)


def time_constant(section: float, perimeter: float, film: float) -> float:
    """Time constant of the warming of a copper conductor. [s]

    Parameters
    ----------
    section : of the metal. [m2]
    perimeter : of what gives off heat. [m]
    film : heat given off by an area and a kelvin. [W/(m2 K)]

    References
    ----------
    rho c A / (h p) [derived].
    """
    return COPPER_HEAT * section / (film * perimeter)


def reached(time: float, constant: float) -> float:
    """Part of its final rise that a conductor has after a time under a steady load. [-]

    Parameters
    ----------
    time : since the load came on. [s]
    constant : time constant of the conductor. [s]

    References
    ----------
    1 - exp(-t / tau) [stated law].
    """
    return 1.0 - math.exp(-time / constant)
