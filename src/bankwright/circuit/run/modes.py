"""A bank on straight curves and with a given load current: a linear system, taken apart into modes.

Gives: Modes, Weights, carried(). In the charge and branch voltages of each module, scaled by the roots of what they
store, the system is symmetric: x' = -H x - (what curve and load push in); its modes decay each on its own. A step whose
pushes are straight lines is exact, and many equal steps are one sum over earlier ones.
Limits: one variant, one load, no heat; slopes of the curve above zero.
Sources: normal modes of a network of resistances and capacities [derived in docs/run.md].
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array
from bankwright.circuit.run.modules import RunModules
from bankwright.circuit.run.ports import View

__all__ = ["Modes", "Weights", "carried"]

SMALL = 1e-3  # decays over a step under which the weights come from their series


@dataclass(frozen=True, eq=False, slots=True)
class Weights:
    """One length of step: decay of each mode, what a straight push adds by its start, its end and the bend between."""

    decay: Array  # (modes,)
    start: Array
    end: Array
    bend: Array  # of a push that lies 1 above its straight line in the middle, on a parabola

    @classmethod
    def of(cls, rates: Array, h: float) -> Weights:
        """Integrals over a step of exp(-rate (h - t)) times 1 - t/h, t/h and 4 t/h (1 - t/h)."""
        a = rates * h
        safe = np.maximum(a, SMALL)
        whole = np.where(a < SMALL, 1 - a / 2 + a * a / 6, -np.expm1(-safe) / safe)
        end = np.where(a < SMALL, 0.5 - a / 6 + a * a / 24, (safe + np.expm1(-safe)) / safe**2)
        squares = np.where(a < SMALL, 1 / 3 - a / 12 + a * a / 60, (1 - 2 * end) / safe)
        return cls(np.exp(-a), h * (whole - end), h * end, 4 * h * (end - squares))


@dataclass(frozen=True, eq=False, slots=True)
class Modes:
    """Modes of one state of the switches at one slope of the curve of each module."""

    rates: Array  # (modes,) 1/s
    scale: Array  # (3, M): charge and branch voltages times this are x; 0 where a branch has no resistance
    unscale: Array  # (3, M)
    basis: Array  # (modes, 3 M), orthonormal rows
    by_volts: Array  # (M, modes): what volts of the curve push
    by_load: Array  # (modes,): what an ampere of the load pushes

    @classmethod
    def of(cls, view: View, m: RunModules, slope: Array, factor: float | Array) -> Modes:
        """Take the bank apart; `slope` (M,) of the curves, above zero. [V]"""
        conductive = np.array([slope / m.capacity, m.r1 * factor / m.tau1, m.r2 * factor / m.tau2])  # 1/C of each
        unscale = np.sqrt(conductive) / np.array([slope, np.ones_like(slope), np.ones_like(slope)])
        scale = np.divide(1.0, unscale, out=np.zeros_like(unscale), where=unscale > 0)
        g = np.sqrt(conductive) * np.array([1.0, -1.0, -1.0])[:, None]
        G = np.concatenate([np.diag(row) for row in g], axis=1)  # (M, 3 M): volts of x
        decay = np.concatenate([np.zeros_like(slope), 1.0 / m.tau1, 1.0 / m.tau2])
        K = (view.K + view.K.T) / 2
        rates, V = np.linalg.eigh(G.T @ K @ G + np.diag(decay))
        pushed = -G @ V
        return cls(np.maximum(rates, 0.0), scale, unscale, V.T.copy(), K @ pushed, view.k[:, 0] @ pushed)

    def into(self, Y: Array) -> Array:
        """Modes (modes,) of a state (3, M)."""
        return np.asarray(self.basis @ (self.scale * Y).reshape(-1))

    def back(self, y: Array, soc: Array) -> Array:
        """States (3, times, M) of modes (times, modes) that count from a state of charge (M,)."""
        x = (y @ self.basis).reshape(len(y), *self.scale.shape)
        Y = (x * self.unscale).swapaxes(0, 1)
        Y[0] += soc
        return np.asarray(Y)

    def pushes(self, volts: Array) -> Array:
        """Pushes (times, modes) of volts (times, M) of the curves."""
        return np.asarray(volts @ self.by_volts)


def carried(weights: Weights, y: Array, added: Array) -> Array:
    """Modes (times + 1, modes) from their start and what each step adds (times, modes): a sum by doubling."""
    found = np.concatenate([y[None], added])
    reach, decay = 1, weights.decay
    while reach < len(found):
        found[reach:] += decay * found[:-reach]
        reach, decay = 2 * reach, decay * decay
    return found
