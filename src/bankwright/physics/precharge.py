"""Filling an inverter's capacitors: through a resistor before the switch is closed, and what happens without.

Gives: voltage_left(), time_to_reach(), energy(), first_current(), held_power(), closing_current(), time_of_peak(),
overshoot(). SI floats or arrays.
Limits: one lumped capacitor behind one loop; the inverter draws a constant standby current meanwhile. V/R is only the
bound of the closing current: the loop's inductance makes it smaller and makes the capacitors ring above the bank.
Sources: step response of R-C and R-L-C [stated law].
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = [
    "closing_current",
    "energy",
    "first_current",
    "held_power",
    "left_after",
    "overshoot",
    "time_of_peak",
    "time_to_reach",
    "voltage_left",
]

Values = float | npt.NDArray[np.float64]
Array = npt.NDArray[np.float64]


def voltage_left(resistance: Values, standby: Values) -> Values:
    """Voltage that stays across the switch however long one waits. [V]

    Parameters
    ----------
    resistance : of the pre-charge. [ohm]
    standby : current that all inverters behind it draw. [A]

    References
    ----------
    Ohm's law [stated law].
    """
    return resistance * standby


def time_to_reach(
    difference: Values, emf: Values, resistance: Values, capacitance: Values, standby: Values = 0.0
) -> Values:
    """Time until the voltage across the switch has fallen to a difference; infinity where it never does. [s]

    Parameters
    ----------
    difference : at which the switch may be closed. [V]
    emf : of the bank. [V]
    resistance : of the pre-charge. [ohm]
    capacitance : of all inverters behind it. [F]
    standby : current that they draw. [A]

    References
    ----------
    t = -R C ln((dV - R Is)/(E - R Is)), R-C step with a steady draw [derived].
    """
    left = np.asarray(voltage_left(resistance, standby), dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = (difference - left) / (emf - left)
        time = -resistance * np.asarray(capacitance, dtype=float) * np.log(ratio)
    return np.where(difference > left, np.maximum(time, 0.0), np.inf)[()]


def left_after(time: Values, emf: Values, resistance: Values, capacitance: Values, standby: Values = 0.0) -> Values:
    """Voltage that is still across the switch after some time of pre-charge. [V]

    Parameters
    ----------
    time : since the pre-charge began. [s]
    emf : of the bank. [V]
    resistance : of the pre-charge. [ohm]
    capacitance : of all inverters behind it. [F]
    standby : steady draw behind it. [A]

    References
    ----------
    R Is + (E - R Is) exp(-t/(R C)), R-C step with a steady draw [derived].
    """
    left = np.asarray(voltage_left(resistance, standby), dtype=float)
    return (left + (emf - left) * np.exp(-np.asarray(time) / (resistance * np.asarray(capacitance))))[()]


def energy(emf: Values, capacitance: Values) -> Values:
    """Heat that the resistor takes while the capacitors fill; as much again is then in them. [J]

    Parameters
    ----------
    emf : of the bank. [V]
    capacitance : of all inverters behind it. [F]

    References
    ----------
    C E^2 / 2, whatever the resistance [stated law].
    """
    return capacitance * emf**2 / 2


def first_current(emf: Values, resistance: Values) -> Values:
    """Current at the moment the pre-charge begins. [A]

    Parameters
    ----------
    emf : of the bank. [V]
    resistance : of the pre-charge. [ohm]

    References
    ----------
    Ohm's law with empty capacitors [stated law].
    """
    return emf / resistance


def held_power(emf: Values, resistance: Values) -> Values:
    """Power in the resistor at its first moment, and for as long as the input behind it is shorted. [W]

    Parameters
    ----------
    emf : of the bank. [V]
    resistance : of the pre-charge. [ohm]

    References
    ----------
    E^2 / R [stated law].
    """
    return emf**2 / resistance


def _roots(resistance: Values, inductance: Values, capacitance: Values) -> tuple[Array, Array]:
    """Damping and natural frequency of the loop, 1/s and rad/s; NaN frequency where it does not ring."""
    damping = np.asarray(resistance, dtype=float) / (2 * np.asarray(inductance, dtype=float))
    square = 1 / (np.asarray(inductance, dtype=float) * capacitance) - damping**2
    return damping, square


def time_of_peak(resistance: Values, inductance: Values, capacitance: Values) -> Values:
    """When the closing current is largest, after closing onto empty capacitors. [s]

    Parameters
    ----------
    resistance : whole loop. [ohm]
    inductance : whole loop, above zero. [H]
    capacitance : of the inputs. [F]

    References
    ----------
    Series R-L-C step, tan(w t) = w/a when it rings, tanh(s t) = s/a when it does not [derived].
    """
    damping, square = _roots(resistance, inductance, capacitance)
    rate = np.sqrt(np.abs(square))
    with np.errstate(divide="ignore", invalid="ignore"):
        ringing = np.arctan2(rate, damping) / rate
        creeping = np.arctanh(np.minimum(rate / damping, 1.0)) / rate
        level = 1 / damping
    return np.where(square > 0, ringing, np.where(square < 0, creeping, level))[()]


def closing_current(emf: Values, resistance: Values, inductance: Values, capacitance: Values) -> Values:
    """Largest current when a switch closes onto empty capacitors. [A]

    Parameters
    ----------
    emf : of the bank. [V]
    resistance : whole loop. [ohm]
    inductance : whole loop, above zero. [H]
    capacitance : of the inputs. [F]

    References
    ----------
    Series R-L-C step at its peak: i = (E/(L w0)) exp(-a t_peak), w0^2 = 1/(L C), ringing or not [derived].
    """
    damping, _ = _roots(resistance, inductance, capacitance)
    peak = time_of_peak(resistance, inductance, capacitance)
    natural = np.sqrt(np.asarray(inductance, dtype=float) * capacitance)
    return (emf * natural / inductance * np.exp(-damping * peak))[()]


def overshoot(emf: Values, resistance: Values, inductance: Values, capacitance: Values) -> Values:
    """Highest voltage of the capacitors after closing; the bank's own where the loop does not ring. [V]

    Parameters
    ----------
    emf : of the bank. [V]
    resistance : whole loop. [ohm]
    inductance : whole loop, above zero. [H]
    capacitance : of the inputs. [F]

    References
    ----------
    Series R-L-C step, first crest E (1 + exp(-a pi/w)) [derived].
    """
    damping, square = _roots(resistance, inductance, capacitance)
    with np.errstate(divide="ignore", invalid="ignore"):
        crest = np.exp(-damping * np.pi / np.sqrt(np.where(square > 0, square, np.nan)))
    return (emf * (1 + np.where(square > 0, crest, 0.0)))[()]
