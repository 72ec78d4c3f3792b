"""Current on a protective conductor with a second bond, and how fast a residual-current device must trip.

Gives: stray_current(), gfci_time(), between_legs().
Limits: resistances alone, both conductors from bond to bond; the soil carries nothing.
Sources: two conductors side by side [derived]; class A, (20 / I)^1.43 s with I in mA [read]; phasors [derived].
"""

from __future__ import annotations

import cmath
import math

__all__ = ["between_legs", "gfci_time", "stray_current"]


def stray_current(load: float, neutral: float, protective: float) -> float:
    """Current on the protective conductor where neutral and it are bonded at both ends. [A]

    Parameters
    ----------
    load : current that comes back. [A]
    neutral : its resistance between the bonds. [ohm]
    protective : resistance of the protective conductor between the bonds. [ohm]

    References
    ----------
    I g_PE / (g_N + g_PE) [derived].
    """
    return load * neutral / (neutral + protective)


def gfci_time(current: float) -> float:
    """Longest time in which a class A device trips at a residual current. [s]

    Parameters
    ----------
    current : residual current. [A]

    References
    ----------
    T = (20 / I)^1.43, I in mA [read].
    """
    return float((20.0 / (current * 1e3)) ** 1.43)


def between_legs(volts: float, degrees: float) -> float:
    """Voltage between two legs of the same size, some degrees apart. [V]

    Parameters
    ----------
    volts : of each leg to the neutral. [V]
    degrees : between the two, an angle. [-]

    References
    ----------
    |V - V e^(i phi)| [derived].
    """
    return abs(volts - volts * cmath.exp(1j * math.radians(degrees)))
