"""Capacity by counted charge: the sensor's offset from both ways, and what is left after it.

Gives: sensor_offset(), counted_capacity(), shift_between(). SI floats, Ah, h.
Limits: the same full at both ends; no charge is lost in between:
above 99 % of it comes back in LFP cells [common practice, no source].
"""

from __future__ import annotations

from itertools import pairwise

__all__ = ["counted_capacity", "sensor_offset", "shift_between"]


def sensor_offset(out: float, back: float, hours_out: float, hours_back: float) -> float:
    """Offset of the current sensor, from the charge counted down and the charge counted up to the same full. [A]

    Parameters
    ----------
    out : counted while discharging. [Ah]
    back : counted while charging. [Ah]
    hours_out : time of the discharge. [h]
    hours_back : time of the charge. [h]

    References
    ----------
    (A_dis - A_cha) / (t_dis + t_cha), coulomb efficiency 1 [derived].
    """
    return (out - back) / (hours_out + hours_back)


def counted_capacity(out: float, offset: float, hours_out: float) -> float:
    """Charge that went out, the sensor's offset taken off. [Ah]

    Parameters
    ----------
    out : counted while discharging. [Ah]
    offset : of the sensor, positive where it shows too much discharge. [A]
    hours_out : time of the discharge. [h]

    References
    ----------
    A_dis - o t_dis [derived].
    """
    return out - offset * hours_out


def shift_between(rate: float, shifts: tuple[tuple[float, float], ...]) -> float:
    """Part of the capacity that a rate misses, straight between the rates of a table, nought at none. [-]

    Parameters
    ----------
    rate : current over the capacity of an hour. [-]
    shifts : (rate, part) rising. [-]

    References
    ----------
    Straight from point to point; beyond the last the slope of the last [common practice, no source].
    """
    points = ((0.0, 0.0), *shifts)
    for (low, first), (high, second) in pairwise(points):
        if rate <= high or (high, second) == points[-1]:
            return first + (second - first) * (rate - low) / (high - low)
    return points[-1][1]
