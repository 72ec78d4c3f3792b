"""Laws of loads on the bank as its loads see it: power, current, voltage, resistance, bolted short.

Gives: Power, Current, Voltage, Resistance, SHORT, IDLE, load_currents(). Positive: the load draws; a charger pushes,
so its power and current are negative.
Guard: a solution with constant power is accepted only if |U J - P| <= 1e-10 P and every eigenvalue of the Jacobian
diag(U) - diag(J) Z has a positive real part (one load: U > U_oc/2); else the largest common fraction is found.
Source: maximum power of a source behind a resistance, U_oc^2 / 4Z [stated law]; the guard is derived in docs/method.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array
from bankwright.circuit.solver.power import power_currents

__all__ = ["IDLE", "SHORT", "Current", "Law", "Power", "Resistance", "Voltage", "load_currents"]


@dataclass(frozen=True, slots=True)
class Power:
    """Constant power at the terminals, DC side: rated power over efficiency. [W]"""

    power: float


@dataclass(frozen=True, slots=True)
class Current:
    """Given current. [A]"""

    current: float


@dataclass(frozen=True, slots=True)
class Voltage:
    """Terminals held at a voltage, either direction of current. [V]"""

    voltage: float


@dataclass(frozen=True, slots=True)
class Resistance:
    """A resistor. [ohm]"""

    resistance: float


Law = Power | Current | Voltage | Resistance
SHORT = Resistance(0.0)
IDLE = Current(0.0)


def load_currents(laws: Sequence[Law], voltage: Array, resistance: Array) -> tuple[Array, Array]:
    """Currents (batch, loads) and the fraction of the power asked for that they stand for (batch,), 1 when all of it.

    Given currents are put in, voltages and resistors eliminated; what stays is a bank seen from its power loads.
    """
    given = [i for i, law in enumerate(laws) if isinstance(law, Current)]
    held = [i for i, law in enumerate(laws) if isinstance(law, Voltage | Resistance)]
    powers = [i for i, law in enumerate(laws) if isinstance(law, Power)]
    J = np.zeros_like(voltage)
    J[:, given] = [law.current for law in laws if isinstance(law, Current)]
    if not held and not powers:
        return J, np.ones(len(J))
    rest = voltage - (resistance[:, :, given] @ J[:, given, None])[..., 0]
    own = np.diag([law.resistance if isinstance(law, Resistance) else 0.0 for law in (laws[i] for i in held)])
    target = np.array([law.voltage if isinstance(law, Voltage) else 0.0 for law in (laws[i] for i in held)])
    if held:
        inner = resistance[:, held][:, :, held] + own
        alone = np.linalg.solve(inner, (rest[:, held] - target)[..., None])
        pulled = np.linalg.solve(inner, resistance[:, held][:, :, powers])
    else:
        alone, pulled = np.zeros((len(J), 0, 1)), np.zeros((len(J), 0, len(powers)))
    across = resistance[:, powers][:, :, held]
    open_voltage = rest[:, powers] - (across @ alone)[..., 0]
    source = resistance[:, powers][:, :, powers] - across @ pulled
    wanted = np.array([law.power for law in laws if isinstance(law, Power)])
    J[:, powers], fraction = power_currents(wanted, open_voltage, source)
    J[:, held] = (alone - pulled @ J[:, powers, None])[..., 0]
    return J, fraction
