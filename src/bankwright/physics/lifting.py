"""Lifting by hand: the revised NIOSH equation and what a team may add to it.

Gives: the multipliers, recommended_mass(), lifting_index(), team_capacity(), horizontal_reach().
Metres, kilograms, degrees; `system` names the published set of constants.
Limits: the frequency and coupling multipliers are tables (niosh-94-110 in the handbook) and come in as numbers. The
equation does not hold for one hand, kneeling, a restricted space, carrying or pushing: then it is a lower bound.
Source: NIOSH Publication 94-110 (rev. 9/2021), Applications Manual for the Revised NIOSH Lifting Equation,
1.3 to 1.4.
"""

from __future__ import annotations

import math
from typing import Literal

from bankwright.forms.constants import INCH, POUND

__all__ = [
    "System",
    "asymmetry_multiplier",
    "distance_multiplier",
    "horizontal_multiplier",
    "horizontal_reach",
    "lifting_index",
    "recommended_mass",
    "team_capacity",
    "vertical_multiplier",
]

System = Literal["metric", "us"]
CM = 0.01
LOAD_CONSTANT_KG = {
    "metric": 23.0,
    "us": 51 * POUND,
}  # NIOSH 94-110, 1.3: 23 kg, 51 lb [read in a public specification]
MAX_ASYMMETRY_DEG = 135.0  # NIOSH 94-110, 1.3.4 [read in a public specification]


def horizontal_multiplier(horizontal: float, system: System = "metric") -> float:
    """HM: how far in front of the ankles the hands hold the load. [-]

    Parameters
    ----------
    horizontal : from the middle between the ankles to the middle between the hands. [m]
    system : "metric" (25 and 63 cm) or "us" (10 and 25 in). [-]

    References
    ----------
    NIOSH 94-110 (rev. 2021), 1.3.1.
    """
    near, far, unit = (25.0, 63.0, CM) if system == "metric" else (10.0, 25.0, INCH)
    reach = max(horizontal / unit, near)
    return near / reach if reach <= far * (1 + 1e-9) else 0.0


def vertical_multiplier(vertical: float, system: System = "metric") -> float:
    """VM: how high above the floor the hands are. [-]

    Parameters
    ----------
    vertical : height of the hands above the floor. [m]
    system : "metric" (75 and 175 cm) or "us" (30 and 70 in). [-]

    References
    ----------
    NIOSH 94-110 (rev. 2021), 1.3.2.
    """
    best, top, slope, unit = (75.0, 175.0, 0.003, CM) if system == "metric" else (30.0, 70.0, 0.0075, INCH)
    height = vertical / unit
    if height < -1e-9 or height > top * (1 + 1e-9):
        return 0.0
    return 1.0 - slope * abs(height - best)


def distance_multiplier(travel: float, system: System = "metric") -> float:
    """DM: how far up or down the load travels. [-]

    Parameters
    ----------
    travel : vertical distance between origin and destination. [m]
    system : "metric" (25 and 175 cm) or "us" (10 and 70 in). [-]

    References
    ----------
    NIOSH 94-110 (rev. 2021), 1.3.3.
    """
    least, most, constant, unit = (25.0, 175.0, 4.5, CM) if system == "metric" else (10.0, 70.0, 1.8, INCH)
    distance = max(abs(travel) / unit, least)
    return 0.82 + constant / distance if distance <= most * (1 + 1e-9) else 0.0


def asymmetry_multiplier(angle_deg: float) -> float:
    """AM: how far the body is turned. [-]

    Parameters
    ----------
    angle_deg : between the mid-sagittal plane and the load. [deg]

    References
    ----------
    NIOSH 94-110 (rev. 2021), 1.3.4.
    """
    return 1.0 - 0.0032 * abs(angle_deg) if abs(angle_deg) <= MAX_ASYMMETRY_DEG else 0.0


def recommended_mass(
    horizontal: float,
    vertical: float,
    travel: float,
    asymmetry_deg: float = 0.0,
    frequency_multiplier: float = 1.0,
    *,
    coupling_multiplier: float = 1.0,
    system: System = "metric",
) -> float:
    """RWL = LC HM VM DM AM FM CM: the recommended load at one end of a lift, one person. [kg]

    Parameters
    ----------
    horizontal : ankles to hands. [m]
    vertical : hands above the floor at this end. [m]
    travel : vertical distance of the lift. [m]
    asymmetry_deg : turn of the body at this end. [deg]
    frequency_multiplier : FM, by the height of the hands at the origin. [-]
    coupling_multiplier : CM, by the height of the hands at this end. [-]
    system : the set of constants; the metric and the inch set are parallel, not exact conversions. [-]

    References
    ----------
    NIOSH 94-110 (rev. 2021), 1.3.
    """
    geometry = (
        horizontal_multiplier(horizontal, system)
        * vertical_multiplier(vertical, system)
        * distance_multiplier(travel, system)
    )
    body = asymmetry_multiplier(asymmetry_deg) * frequency_multiplier * coupling_multiplier
    return LOAD_CONSTANT_KG[system] * geometry * body


def lifting_index(mass: float, capacity: float) -> float:
    """LI = L / RWL; infinity where nothing may be lifted. [-]

    Parameters
    ----------
    mass : of the load. [kg]
    capacity : recommended for one person, or for the team. [kg]

    References
    ----------
    NIOSH 94-110 (rev. 2021), 1.4: goal 1.0, above 3.0 nearly all workers at increased risk.
    """
    return mass / capacity if capacity > 0 else math.inf


def team_capacity(each: float, persons: int, factor: float) -> float:
    """What a team may lift together: a fraction of the sum of what each may lift. [kg]

    Parameters
    ----------
    each : what one person may lift. [kg]
    persons : number of people. [-]
    factor : 1 for one, 2/3 for two, 1/2 for three (handbook/data/lift_team.toml). [-]

    References
    ----------
    UK HSE guidance L23 on the Manual Handling Operations Regulations 1992; the NIOSH equation has no team factor.
    """
    return each * persons * factor


def horizontal_reach(box_depth: float, vertical: float) -> float:
    """H where it cannot be measured: 20 cm + W/2, from 25 cm up; 25 cm + W/2 below. [m]

    Parameters
    ----------
    box_depth : size of the load away from the body. [m]
    vertical : hands above the floor. [m]

    References
    ----------
    NIOSH 94-110 (rev. 2021), 1.3.1, p. 8.
    """
    return (0.20 if vertical >= 0.25 else 0.25) + box_depth / 2
