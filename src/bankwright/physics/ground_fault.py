"""What two voltages to frame say of a floating bank: no fault, a fault of one pole, or nothing.

Gives: leakage_share(), faulted_pole(). SI floats or arrays. A pair of equal high resistors from the poles to the frame
makes each read half of the bank's voltage when nothing else leaks.
Limits: equal leakage of both poles reads as no fault; a fault inside the string of cells reads in between. The first
fault trips nothing, and a second one on the other pole is a short: the first must be told.
Source: voltage divider [stated law]; principle of the method read in a battery conference abstract.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
import numpy.typing as npt

__all__ = ["faulted_pole", "leakage_share"]

Values = float | npt.NDArray[np.float64]
BOLTED = 0.02  # of the bank's voltage under which a pole counts as tied to the frame; common practice, no source


def leakage_share(to_plus: Values, to_minus: Values) -> Values:
    """How far the frame is drawn to one pole: 0 in the middle, 1 at the minus pole, -1 at the plus pole. [-]

    Parameters
    ----------
    to_plus : from frame to the plus pole. [V]
    to_minus : from the minus pole to frame. [V]

    References
    ----------
    Divider of two equal resistors and the leakage beside one of them [derived].
    """
    return (to_plus - to_minus) / (to_plus + np.asarray(to_minus, dtype=float))[()]


def faulted_pole(
    to_plus: float, to_minus: float, accuracy: float
) -> Literal["none seen", "minus, bolted", "plus, bolted", "minus, partial", "plus, partial"]:
    """Which pole leaks to frame: the one that reads lower. [-]

    Parameters
    ----------
    to_plus : from frame to the plus pole. [V]
    to_minus : from the minus pole to frame. [V]
    accuracy : of each reading, plus or minus. [V]

    References
    ----------
    The pole with the lower reading leaks; 0 is bolted [derived]; 2 percent: common practice, no source.
    """
    if abs(to_plus - to_minus) <= 2 * accuracy:
        return "none seen"
    pole = "minus" if to_minus < to_plus else "plus"
    least = max(min(to_plus, to_minus) - accuracy, 0.0)
    tied = least <= BOLTED * (to_plus + to_minus)
    if pole == "minus":
        return "minus, bolted" if tied else "minus, partial"
    return "plus, bolted" if tied else "plus, partial"
