"""The bank as its loads see it: U = U_oc - Z J, and every edge current behind it.

Gives: Seen, seen(). One small linear system a variant, K = modules + rings; a masked loop carries exactly zero.
Equations, C split into loops solved for (x) and loops of loads (J_c), T = C without load rows, D = rows of tree loads:
    G x = T_x' E - T_x' R T_J J_c - D_x' U_t,  G = T_x' R T_x     hence x = a - h J_c - g U_t
Limits: linear; the laws of the loads are in circuit/solver/laws.
Source: loop analysis [stated law: Kirchhoff]; the elimination is derived in docs/method.md.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bankwright.circuit.errors import RingWithoutResistance
from bankwright.circuit.network import Array
from bankwright.circuit.solver.basis import Basis

__all__ = ["Seen", "seen"]

LEAST_FOR_PRODUCT = 64  # variants below which P is not worth making
MAX_PRODUCT = 4_000_000  # numbers in P above which G is built variant by variant


@dataclass(frozen=True, eq=False, slots=True)
class Seen:
    """Open-circuit voltage (batch, loads) and resistance (batch, loads, loads), loads as in `basis.loads`."""

    basis: Basis
    voltage: Array
    resistance: Array
    a: Array  # (batch, inner)
    h: Array  # (batch, inner, loop loads)
    g: Array  # (batch, inner, tree loads)
    cut_off: np.ndarray  # (batch,) True where no module is left to feed the tree load

    def tree_voltage(self, J: Array) -> Array:
        """Voltage at the tree loads (batch, tree loads) under load currents J (batch, loads)."""
        count = len(self.basis.tree_loads)
        return np.asarray(self.voltage[:, :count] - (self.resistance[:, :count] @ J[..., None])[..., 0])

    def currents(self, J: Array) -> Array:
        """Current of every edge (batch, edges)."""
        count = len(self.basis.tree_loads)
        x = self.a.copy()
        if self.basis.loop_loads:
            x -= (self.h @ J[:, count:, None])[..., 0]
        if count:
            x -= (self.g @ self.tree_voltage(J)[..., None])[..., 0]
        if not self.basis.loop_loads:
            return np.asarray(x @ self.basis.inner_loops.T)
        return np.asarray(np.concatenate([x, J[:, count:]], axis=1) @ self.basis.loops.T)


def _grams(basis: Basis, R: Array) -> tuple[Array, Array, Array]:
    """G, H, S: T' diag(R) T for inner loops, inner against load loops, load loops (batch, ., .)."""
    inner, loads = basis.without_loads
    K, L = inner.shape[1], loads.shape[1]
    if len(R) >= LEAST_FOR_PRODUCT and K * K * R.shape[1] <= MAX_PRODUCT:
        G, H, S = (R @ product for product in basis.products)
        return G.reshape(len(R), K, K), H.reshape(len(R), K, L), S.reshape(len(R), L, L)
    weighted = inner.T * R[:, None, :]
    return weighted @ inner, weighted @ loads, (loads.T * R[:, None, :]) @ loads


def seen(basis: Basis, R: Array, E: Array, off: np.ndarray | None = None) -> Seen:
    """Solve the inner loops once for all right sides.

    R (batch, edges) resistances, E (batch or 1, edges) emfs, off (batch, inner) True for loops held at zero current.
    """
    Tx, TJ = basis.without_loads
    Dx, DJ = basis.load_rows
    G, H, S = _grams(basis, R)
    sides = np.empty((len(R), len(basis.inner), 1 + TJ.shape[1] + len(Dx)))
    sides[:, :, 0] = E @ Tx
    split = 1 + TJ.shape[1]
    sides[:, :, 1:split] = H
    sides[:, :, split:] = Dx.T
    if off is not None:
        _hold_at_zero(G, sides, off)
        H[off] = 0.0
    answers = _solved(basis, G, sides)
    a, h, g = answers[:, :, 0], answers[:, :, 1:split], answers[:, :, split:]
    A, p, Q = Dx @ g, a @ Dx.T, Dx @ h - DJ
    cut_off = np.zeros(len(R), dtype=bool)
    if len(Dx):
        cut_off = np.asarray((np.abs(np.diagonal(A, axis1=1, axis2=2)) < 1e-300).any(axis=1))
        A[cut_off] = np.eye(len(Dx))
    inverse = 1.0 / A if len(Dx) == 1 else np.linalg.inv(A)
    far = np.swapaxes(Q, 1, 2) @ inverse
    Ht = np.swapaxes(H, 1, 2)
    q = E @ TJ - (Ht @ a[..., None])[..., 0]
    voltage = np.concatenate([(inverse @ p[..., None])[..., 0], q + (far @ p[..., None])[..., 0]], axis=1)
    near = np.concatenate([inverse, inverse @ Q], axis=2)
    resistance = np.concatenate([near, np.concatenate([far, S - Ht @ h + far @ Q], axis=2)], axis=1)
    return Seen(basis, voltage, resistance, a, h, g, cut_off)


def _hold_at_zero(G: Array, sides: Array, off: np.ndarray) -> None:
    """Clear row, column and right side of the loops that are off, put 1 on the diagonal."""
    keep = ~off
    G *= keep[:, :, None] & keep[:, None, :]
    places = np.arange(G.shape[1])
    G[:, places, places] += off
    sides *= keep[:, :, None]


def _solved(basis: Basis, G: Array, sides: Array) -> Array:
    try:
        return np.asarray(np.linalg.solve(G, sides))
    except np.linalg.LinAlgError as error:
        names = (basis.network.edges[i].name for i in basis.inner)
        raise RingWithoutResistance(names) from error
