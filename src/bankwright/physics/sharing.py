"""How unlike modules share a current: bound near full and empty, and how far two are from sharing fairly.

Gives: knee_bound(), unlike(). The shares of a wiring are solved in circuit/.
Limits: just after a step from rest; later the states of charge pull the shares.
Sources: superposition; shares of sources in parallel [derived].
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = [
    "knee_bound",
    "unlike",
]

Values = float | npt.NDArray[np.float64]
Array = npt.NDArray[np.float64]


def knee_bound(current: Values, spread: Values, modules: Values, resistance: Values) -> Values:
    """Largest current of a module near full or empty, where open-circuit voltages part. [A]

    Parameters
    ----------
    current : its share with equal voltages. [A]
    spread : of open-circuit voltage between it and the others. [V]
    modules : on the bank. [-]
    resistance : its 30 s value. [ohm]

    References
    ----------
    Superposition: one source dE above N-1 equal ones drives dE (1 - 1/N) / R more [derived].
    """
    return current + spread * (1 - 1 / modules) / resistance


def unlike(resistance: npt.ArrayLike, capacity_ah: npt.ArrayLike) -> Array:
    """How far each module's resistance times capacity lies from the mean; 0 shares in proportion to capacity. [-]

    Parameters
    ----------
    resistance : (modules,), 30 s values. [ohm]
    capacity_ah : (modules,). [Ah]

    References
    ----------
    Sources in parallel share as 1/R, and a fair share is as Q, so R Q must be one number [derived].
    """
    product = np.asarray(resistance, dtype=float) * np.asarray(capacity_ah, dtype=float)
    return np.asarray(product / product.mean() - 1)
