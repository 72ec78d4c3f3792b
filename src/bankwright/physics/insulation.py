"""Insulation of a floating bank from a voltmeter alone: each pole to the frame, with the meter's own resistance.

Gives: Leaks, leaks(), spread(), leak_beside().
Limits: a steady, resistive leak; nothing alternating on the poles. Two equal leaks look like none in the ratio of the
readings and show only in their sum.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Leaks", "leak_beside", "leaks", "spread"]


@dataclass(frozen=True, slots=True)
class Leaks:
    """Resistance of both poles together to the frame, and of each; infinite where nothing leaks. [ohm]"""

    both: float
    plus: float
    minus: float


def leaks(bank: float, plus: float, minus: float, meter: float) -> Leaks:
    """Resistances of a floating bank to the frame. [ohm]

    Parameters
    ----------
    bank : voltage plus to minus. [V]
    plus : plus to frame, as a size. [V]
    minus : frame to minus, as a size. [V]
    meter : resistance of the meter, with what is laid across its leads. [ohm]

    References
    ----------
    Nodal equation of the frame for each reading [derived]: R = Rm (U - S) / S with S the sum of both readings.
    """
    total = plus + minus
    if total <= 0.0:
        return Leaks(float("inf"), float("inf"), float("inf"))
    both = meter * max(bank - total, 0.0) / total
    of_plus = both * total / minus if minus > 0.0 else float("inf")
    of_minus = both * total / plus if plus > 0.0 else float("inf")
    return Leaks(both, of_plus, of_minus)


def spread(plus: float, minus: float, meter: float, counts: float) -> float:
    """Half width of the insulation for counts of the three readings together. [ohm]

    Parameters
    ----------
    plus : plus to frame, as a size. [V]
    minus : frame to minus, as a size. [V]
    meter : resistance of the meter. [ohm]
    counts : limits of the three readings, added. [V]

    References
    ----------
    Rm dU / S: the gain of one meter on one range cancels, its counts do not [derived].
    """
    total = plus + minus
    return meter * counts / total if total > 0.0 else float("inf")


def leak_beside(low: float, high: float, resistor: float) -> float:
    """Leak at the pole that reads lower, beside two equal resistors from the poles to the frame. [ohm]

    Parameters
    ----------
    low : lower voltage of the two poles to the frame, as a size. [V]
    high : the other one. [V]
    resistor : of each pole to the frame. [ohm]

    References
    ----------
    Divider: low / high = (R Rd / (R + Rd)) / Rd, so R = Rd low / (high - low) [derived]. Equal leaks at both poles are
    not seen; infinite where both read alike.
    """
    return float("inf") if low >= high else resistor * low / (high - low)
