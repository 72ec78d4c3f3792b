"""A source behind a resistance and the load it feeds: current for a power, lowest voltage, most power.

Gives: power_in(), current_for_power(), terminal_voltage(), most_power(). SI floats or arrays.
Limits: steady state; a bank with several loads is solved in circuit/, these closed forms are its one-load case.
Sources: stand at each function.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = ["current_for_power", "most_power", "power_in", "terminal_voltage"]

Values = float | npt.NDArray[np.float64]


def power_in(power_out: Values, efficiency: Values) -> Values:
    """Power a converter takes for what it gives. [W]

    Parameters
    ----------
    power_out : given to the AC side. [W]
    efficiency : at that power, 0..1; divided by, never multiplied with. [-]

    References
    ----------
    Definition of efficiency [stated law].
    """
    return power_out / efficiency


def current_for_power(power_out: Values, efficiency: Values, voltage: Values) -> Values:
    """Current a converter takes at a voltage of its input. [A]

    Parameters
    ----------
    power_out : given to the AC side. [W]
    efficiency : at that power, 0..1. [-]
    voltage : at its input; the lowest at which it still gives the power makes the largest current. [V]

    References
    ----------
    P = U I and the definition of efficiency [stated law].
    """
    return power_in(power_out, efficiency) / voltage


def terminal_voltage(emf: Values, resistance: Values, power: Values) -> Values:
    """Voltage at a load of constant power behind a resistance; NaN where it cannot be delivered. [V]

    Parameters
    ----------
    emf : open-circuit voltage. [V]
    resistance : between source and load, the source's own in it. [ohm]
    power : taken at the load; negative is charging. [W]

    References
    ----------
    Upper root of U^2 - E U + R P = 0 [derived]; the lower root is not stable.
    """
    root = np.asarray(emf, dtype=float) ** 2 - 4 * np.asarray(resistance, dtype=float) * power
    return ((emf + np.sqrt(np.where(root >= 0, root, np.nan))) / 2)[()]


def most_power(emf: Values, resistance: Values) -> Values:
    """Largest power that a source behind a resistance can deliver. [W]

    Parameters
    ----------
    emf : open-circuit voltage. [V]
    resistance : between source and load, the source's own in it; 0 gives infinity. [ohm]

    References
    ----------
    Matched load, E^2 / 4R [derived].
    """
    with np.errstate(divide="ignore"):
        most: Values = (np.asarray(emf, dtype=float) ** 2 / (4 * np.asarray(resistance, dtype=float)))[()]
    return most
