"""Standing, rolling and pressing on the floor: statics of a rack.

Gives: centre(), tipping_angle_deg(), tipping_force(), tipping_acceleration(), stop_speed(), shift_of_pulled(),
push_of_test(), caster_load(), pressure(). SI; angles in degrees where the name says so.
Limits: a rigid body on a level floor with blocked feet; no strength of frame, rails or floor.
Anchors: anchoring.py.
Sources: statics and conservation of angular momentum about the edge (derived); tests named at the functions.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from bankwright.forms.constants import GRAVITY

__all__ = [
    "caster_load",
    "centre",
    "pressure",
    "push_of_test",
    "shift_of_pulled",
    "stop_speed",
    "tipping_acceleration",
    "tipping_angle_deg",
    "tipping_force",
]


def centre(masses: Sequence[float], places: Sequence[float]) -> float:
    """Centre of gravity along one axis. [m]

    Parameters
    ----------
    masses : of the parts. [kg]
    places : of their centres along the axis, same order. [m]

    References
    ----------
    Statics: sum(m z) / sum(m).
    """
    return math.fsum(m * z for m, z in zip(masses, places, strict=True)) / math.fsum(masses)


def tipping_angle_deg(edge: float, height: float) -> float:
    """Tilt at which a body stands over its edge. [deg]

    Parameters
    ----------
    edge : horizontal distance from the centre of gravity to the tipping edge. [m]
    height : of the centre of gravity. [m]

    References
    ----------
    Statics: atan(b / h).
    """
    return math.degrees(math.atan2(edge, height))


def tipping_force(mass: float, edge: float, push_height: float) -> float:
    """Horizontal push that tips a body whose feet are blocked; the height of its centre does not enter. [N]

    Parameters
    ----------
    mass : of the whole. [kg]
    edge : centre of gravity to tipping edge. [m]
    push_height : where it is pushed. [m]

    References
    ----------
    Statics: M g b / h.
    """
    return mass * GRAVITY * edge / push_height


def tipping_acceleration(edge: float, height: float) -> float:
    """Steady sideways acceleration that tips a body. [m/s2]

    Parameters
    ----------
    edge : centre of gravity to tipping edge. [m]
    height : of the centre of gravity. [m]

    References
    ----------
    Statics: g b / h.
    """
    return GRAVITY * edge / height


def stop_speed(edge: float, height: float) -> float:
    """Speed at which a cart tips when its wheel stops dead; mass lumped at the centre, so on the low side. [m/s]

    Parameters
    ----------
    edge : centre of gravity to the line of the stopped wheels. [m]
    height : of the centre of gravity. [m]

    References
    ----------
    Conservation of angular momentum about the edge, then energy: (r/h) sqrt(2 g (r - h)), r = hypot(b, h). Derived.
    """
    radius = math.hypot(edge, height)
    return radius / height * math.sqrt(2 * GRAVITY * (radius - height))


def shift_of_pulled(pulled_mass: float, pull: float, total_mass: float) -> float:
    """How far the centre of gravity moves when one part is pulled out; it tips when this passes the edge. [m]

    Parameters
    ----------
    pulled_mass : of the part on its rails. [kg]
    pull : how far it is pulled. [m]
    total_mass : of everything, the part included. [kg]

    References
    ----------
    Statics: m x / M.
    """
    return pulled_mass * pull / total_mass


def push_of_test(mass: float, fraction: float, cap: float) -> float:
    """Sideways push that equipment must stand: a fraction of its weight, at most a cap. [N]

    Parameters
    ----------
    mass : of the equipment. [kg]
    fraction : of the weight, 0.20 in IEC 62368-1:2018. [-]
    cap : largest push, 250 N in IEC 62368-1:2018. [N]

    References
    ----------
    IEC 62368-1:2018, 8.6.5 (handbook/data/stability_tests.toml).
    """
    return min(fraction * mass * GRAVITY, cap)


def caster_load(mass: float, casters: int, factor: float = 1.0) -> float:
    """Mass that one caster must be rated for: three of four carry on an uneven floor, or factor over n. [kg]

    Parameters
    ----------
    mass : of cart and load. [kg]
    casters : number of casters. [-]
    factor : 1.0 to 1.5 moved by hand indoors over small obstacles, up to 2.2 over higher ones. [-]

    References
    ----------
    Trade rule of three wheels; catalogue rule (E + Z) S / n (handbook/data/caster_factors.toml).
    """
    return max(mass / max(casters - 1, 1), mass * factor / casters)


def pressure(mass: float, area: float) -> float:
    """Pressure of a weight on an area. [Pa]

    Parameters
    ----------
    mass : that stands on it. [kg]
    area : footprint, or pad of a foot. [m2]

    References
    ----------
    Statics: M g / A.
    """
    return mass * GRAVITY / area
