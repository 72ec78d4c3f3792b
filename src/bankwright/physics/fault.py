"""Short circuits of a bank: steady current, its rise, its let-through, what flows back into one module.

Gives: fault_current(), bank_fault(), backfeed(), rising_current(), rate_of_rise(), let_through(), arcing_fault(). SI
floats or arrays.
Limits: modules as equal sources on a common bar; any other wiring is solved in circuit/. The resistance that counts in
the first milliseconds is the ohmic one: a pulse value gives a current that is too low. Inverter capacitors and chargers
come on top.
Sources: Ohm's law on an equivalent source; form V/R with interconnection as read in IEEE 946 practice.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = [
    "arcing_fault",
    "backfeed",
    "bank_fault",
    "fault_current",
    "let_through",
    "rate_of_rise",
    "rising_current",
]

Values = float | npt.NDArray[np.float64]


def fault_current(voltage: Values, resistance: Values) -> Values:
    """Current of a bolted short after its rise. [A]

    Parameters
    ----------
    voltage : open-circuit voltage just before. [V]
    resistance : whole loop, ohmic. [ohm]

    References
    ----------
    Ohm's law [stated law].
    """
    return voltage / resistance


def bank_fault(voltage: Values, branch: Values, modules: Values, feeder: Values = 0.0) -> Values:
    """Current of a bolted short behind equal modules on a common bar. [A]

    Parameters
    ----------
    voltage : open-circuit voltage just before. [V]
    branch : one module with its leads, ohmic. [ohm]
    modules : how many are on the bar. [-]
    feeder : from the bar to the short, out and back. [ohm]

    References
    ----------
    I = V / (R/N + R_feeder), equal sources in parallel [derived]; form read in IEEE 946 practice.
    """
    return voltage / (branch / modules + feeder)


def backfeed(voltage: Values, branch: Values, modules: Values, shared: Values = 0.0) -> Values:
    """Current that the other modules drive into a short inside one of them, through that one's own lead. [A]

    Parameters
    ----------
    voltage : open-circuit voltage just before. [V]
    branch : one module with its leads, ohmic. [ohm]
    modules : all on the bar, the faulted one counted. [-]
    shared : from the bar to the short, the faulted lead. [ohm]

    References
    ----------
    I = (N-1) V / (R + (N-1) R_shared) [derived].
    """
    others = modules - 1
    return others * voltage / (branch + others * shared)


def rising_current(voltage: Values, resistance: Values, inductance: Values, time: Values) -> Values:
    """Current of a short some time after it began. [A]

    Parameters
    ----------
    voltage : open-circuit voltage. [V]
    resistance : whole loop. [ohm]
    inductance : whole loop. [H]
    time : since the short. [s]

    References
    ----------
    Step response of R and L, i = (V/R)(1 - exp(-t R/L)) [stated law].
    """
    return voltage / resistance * -np.expm1(-time * resistance / inductance)


def rate_of_rise(voltage: Values, inductance: Values) -> Values:
    """How fast a short's current grows at its first moment. [A/s]

    Parameters
    ----------
    voltage : open-circuit voltage. [V]
    inductance : whole loop. [H]

    References
    ----------
    V = L di/dt at i = 0 [stated law].
    """
    return voltage / inductance


def let_through(voltage: Values, resistance: Values, inductance: Values, time: Values) -> Values:
    """Integral of the square of a rising fault current up to a time, without a device. [A2s]

    Parameters
    ----------
    voltage : open-circuit voltage. [V]
    resistance : whole loop. [ohm]
    inductance : whole loop; 0 for a current that is there at once. [H]
    time : since the short. [s]

    References
    ----------
    Integral of the step response, I^2 (t - 2 tau (1-e^(-t/tau)) + tau/2 (1-e^(-2t/tau))) [derived].
    """
    tau = np.asarray(inductance / resistance, dtype=float)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(tau > 0, time / tau, np.inf)
    part = time + 2 * tau * np.expm1(-ratio) - tau / 2 * np.expm1(-2 * ratio)
    square: Values = ((voltage / resistance) ** 2 * part)[()]
    return square


def arcing_fault(current: Values, share: Values = 0.5) -> Values:
    """Least current of a short through an arc, from the least bolted one. [A]

    Parameters
    ----------
    current : least bolted fault current. [A]
    share : part that is left. [-]

    References
    ----------
    Half: common practice, no source; an arc holds some 20 to 45 V of a 48 V-class bank.
    """
    return share * current
