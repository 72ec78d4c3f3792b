"""Currents of constant-power loads, guarded against solutions that no bank can hold.

Gives: power_currents(). One load has a closed form; several take Newton steps from J = P / U_oc.
Guard and largest common fraction: see circuit/laws. Powers below zero (charging) always have a solution of their own.
Limits: the fraction scales what is drawn, not what is pushed in; a batch is independent variants.
Source: U J = P with U = U_oc - Z J, J = 2P / (U_oc + sqrt(U_oc^2 - 4 Z P)) [derived: quadratic formula].
"""

from __future__ import annotations

import numpy as np

from bankwright.circuit.network import Array

__all__ = ["power_currents"]

NEWTON_STEPS = 30
BISECTIONS = 40
MAX_MISS = 1e-10  # of the power


def power_currents(wanted: Array, voltage: Array, resistance: Array) -> tuple[Array, Array]:
    """Currents (batch, loads), and the fraction of the wanted power (batch,): 1, or the most that is possible."""
    if wanted.size == 0:
        return np.zeros_like(voltage), np.ones(len(voltage))
    if wanted.size == 1:
        return _one(float(wanted[0]), voltage, resistance)
    power = np.broadcast_to(wanted, voltage.shape)
    J, held = _several(power, voltage, resistance)
    fraction = np.ones(len(voltage))
    if not held.all():
        lost = np.logical_not(held)
        J[lost], fraction[lost] = _largest(power[lost], voltage[lost], resistance[lost])
    return J, fraction


def _one(wanted: float, voltage: Array, resistance: Array) -> tuple[Array, Array]:
    U, Z = voltage[:, 0], resistance[:, 0, 0]
    room = U * U - 4.0 * Z * wanted
    most = np.divide(U * U, 4.0 * Z, out=np.full_like(U, np.inf), where=Z > 0)
    lost = (room <= 0.0) | (U <= 0.0)
    fraction = np.where(lost, np.clip(most / wanted if wanted else most, 0.0, 1.0), 1.0)
    power = np.where(lost, np.where(U > 0.0, most, 0.0), wanted)
    root = np.sqrt(np.maximum(room, 0.0))
    J = np.divide(2.0 * power, U + root, out=np.zeros_like(U), where=U + root > 0)
    return J[:, None], fraction


def _several(power: Array, voltage: Array, resistance: Array) -> tuple[Array, np.ndarray]:
    """Newton on U J = P; True where the guard accepts the result."""
    J = np.divide(power, voltage, out=np.zeros_like(voltage), where=voltage > 0)
    for _ in range(NEWTON_STEPS):
        U, jacobian = _slope(J, voltage, resistance)
        miss = U * J - power
        if np.all(np.abs(miss) <= 1e-14 * np.abs(power).max(axis=1, keepdims=True)):
            break
        J = J - _step(jacobian, miss)
    U, jacobian = _slope(J, voltage, resistance)
    exact = np.asarray((np.abs(U * J - power) <= MAX_MISS * np.abs(power).max(axis=1, keepdims=True)).all(axis=1))
    return J, np.asarray(exact & _holds(jacobian) & (U > 0).all(axis=1))


def _slope(J: Array, voltage: Array, resistance: Array) -> tuple[Array, Array]:
    U = voltage - (resistance @ J[..., None])[..., 0]
    jacobian = -J[..., None] * resistance
    places = np.arange(J.shape[1])
    jacobian[:, places, places] += U
    return U, jacobian


def _step(jacobian: Array, miss: Array) -> Array:
    """Newton step; a variant at an exactly singular point is left where it is and fails the guard."""
    if miss.shape[1] == 2:
        a, b, c, d = jacobian[:, 0, 0], jacobian[:, 0, 1], jacobian[:, 1, 0], jacobian[:, 1, 1]
        det = a * d - b * c
        det = np.where(det == 0.0, np.inf, det)
        first, second = miss[:, 0], miss[:, 1]
        return np.stack([(d * first - b * second) / det, (a * second - c * first) / det], axis=1)
    singular = np.linalg.det(jacobian) == 0.0
    jacobian = np.where(singular[:, None, None], np.eye(miss.shape[1]), jacobian)
    step = np.linalg.solve(jacobian, miss[..., None])[..., 0]
    return np.where(singular[:, None], 0.0, step)


def _holds(jacobian: Array) -> np.ndarray:
    """True where every eigenvalue of the Jacobian has a positive real part."""
    if jacobian.shape[1] == 2:
        trace = jacobian[:, 0, 0] + jacobian[:, 1, 1]
        det = jacobian[:, 0, 0] * jacobian[:, 1, 1] - jacobian[:, 0, 1] * jacobian[:, 1, 0]
        return np.asarray((trace > 0) & (det > 0))
    finite = np.asarray(np.isfinite(jacobian).all(axis=(1, 2)))
    clean = np.where(finite[:, None, None], jacobian, -np.eye(jacobian.shape[1]))
    return np.asarray((np.linalg.eigvals(clean).real > 0).all(axis=1))


def _largest(power: Array, voltage: Array, resistance: Array) -> tuple[Array, Array]:
    """Largest fraction of what is drawn that the guard accepts, by bisection; what is pushed in stays whole."""
    low, high = np.zeros(len(power)), np.ones(len(power))
    best = np.zeros_like(power)
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        J, held = _several(np.where(power > 0, middle[:, None] * power, power), voltage, resistance)
        best[held], low[held] = J[held], middle[held]
        high[~held] = middle[~held]
    return best, low
