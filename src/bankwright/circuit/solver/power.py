"""Currents of constant-power loads, guarded against solutions that no bank can hold.

Gives: power_currents(). One load has a closed form; several take Newton steps from J = P / U_oc.
Guard and largest common fraction: see circuit/solver/laws.
Powers below zero (charging) always have a solution of their own.
Limits: the fraction scales what is drawn, not what is pushed in; a batch is independent variants.
Source: physics/source for one load, terminal_voltage() and most_power(); U J = P for several [derived].
"""

from __future__ import annotations

import math

import numpy as np

from bankwright.circuit.network import Array
from bankwright.physics.source import most_power, terminal_voltage

__all__ = ["power_currents"]

NEWTON_STEPS = 30
BISECTIONS = 40
FEW, FEW_PARTS = 8, 16  # so few variants are tried at fifteen fractions beside each other
FOLD_STEPS = 12
HAIR = 1e-9  # of the largest fraction: a hair less must hold, a hair more must not
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
    most = np.where(U > 0.0, most_power(U, Z), 0.0)
    lost = wanted >= most
    fraction = np.where(lost, np.clip(most / wanted if wanted else most, 0.0, 1.0), 1.0)
    power = np.where(lost, most, wanted)
    at_load = np.where(lost, U / 2.0, terminal_voltage(U, Z, wanted))
    J = np.divide(power, at_load, out=np.zeros_like(U), where=at_load > 0)
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
    """Largest fraction of what is drawn that the guard accepts: at the fold, by division where that is not found."""
    best, fraction, found = _at_the_fold(power, voltage, resistance)
    if not found.all():
        rest = ~found
        best[rest], fraction[rest] = _by_division(power[rest], voltage[rest], resistance[rest])
    return best, fraction


def _at_the_fold(power: Array, voltage: Array, resistance: Array) -> tuple[Array, Array, np.ndarray]:
    """Newton on the point where the Jacobian A loses its rank: U J = p(s), A v = 0, |v| = 1, with p(s) = s times what
    is drawn and the whole of what is pushed.

    A is diag(U) - diag(J) Z, and A v differentiated by J along w is -diag(w) Z v - diag(Z w) v. Counted as found only
    where the guard accepts a hair less of the power and refuses a hair more.
    """
    drawn = np.where(power > 0, power, 0.0)
    J, s, v = _near_the_fold(power, voltage, resistance)
    off = np.full(len(J), np.inf)
    for _ in range(FOLD_STEPS):
        step, off = _fold_step(J, s, v, (power, drawn, voltage, resistance))
        J, s, v = J - step[:, : J.shape[1]], s - step[:, -1], v - step[:, J.shape[1] : -1]
        if (off <= 1e-14).all():
            break
    sound = np.asarray(np.isfinite(J).all(axis=1) & (s > 0.0) & (s <= 1.0) & (off <= 1e-12))
    J, s = np.where(sound[:, None], J, 0.0), np.where(sound, s, 0.0)
    asked = np.concatenate([power + ((1.0 + hair) * s - 1.0)[:, None] * drawn for hair in (-HAIR, HAIR)])
    held = _several(asked, np.tile(voltage, (2, 1)), np.tile(resistance, (2, 1, 1)))[1].reshape(2, -1)
    return J, s, np.asarray(sound & held[0] & ~held[1])


def _near_the_fold(power: Array, voltage: Array, resistance: Array) -> tuple[Array, Array, Array]:
    """The last of sixteen fractions that holds, and the direction that the Jacobian there weakens most."""
    J, s = _divided(power, voltage, resistance, FEW_PARTS, 1)
    J = np.where((s > 0.0)[:, None], J, np.divide(power, voltage, out=np.zeros_like(J), where=voltage > 0) / 2)
    _, jacobian = _slope(J, voltage, resistance)
    finite = np.asarray(np.isfinite(jacobian).all(axis=(1, 2)))
    v = np.linalg.svd(np.where(finite[:, None, None], jacobian, np.eye(J.shape[1])))[2][:, -1]
    return J, s, v


def _fold_step(J: Array, s: Array, v: Array, given: tuple[Array, Array, Array, Array]) -> tuple[Array, Array]:
    """Newton step of (J, v, s) (batch, 2 loads + 1), and how far off the equations are."""
    miss, slope = _fold_equations(J, s, v, given)
    n, size = J.shape[1], np.abs(given[0]).max(axis=1)
    lost = ~np.isfinite(slope).all(axis=(1, 2)) | ~np.isfinite(miss).all(axis=1)
    slope[lost], miss[lost] = np.eye(2 * n + 1), 0.0
    try:
        step = np.linalg.solve(slope, miss[..., None])[..., 0]
    except np.linalg.LinAlgError:
        step = np.zeros_like(miss)
    off = np.abs(miss[:, :n]).max(axis=1) / size + np.abs(miss[:, n:-1]).max(axis=1) / np.abs(given[2]).max(axis=1)
    return np.asarray(step), np.asarray(np.where(lost, np.inf, off), dtype=np.float64)


def _fold_equations(J: Array, s: Array, v: Array, given: tuple[Array, Array, Array, Array]) -> tuple[Array, Array]:
    """What is left of the equations of the fold, and its derivative by (J, v, s)."""
    power, drawn, voltage, Z = given
    n = J.shape[1]
    U, A = _slope(J, voltage, Z)
    miss = np.zeros((len(J), 2 * n + 1))
    miss[:, :n] = U * J - power - (s - 1.0)[:, None] * drawn
    miss[:, n:-1] = (A @ v[..., None])[..., 0]
    miss[:, -1] = ((v * v).sum(axis=1) - 1.0) / 2
    slope = np.zeros((len(J), 2 * n + 1, 2 * n + 1))
    slope[:, :n, :n], slope[:, n:-1, n:-1] = A, A
    slope[:, :n, -1], slope[:, -1, n:-1] = -drawn, v
    slope[:, n:-1, :n] = -v[..., None] * Z
    places = np.arange(n)
    slope[:, n + places, places] -= (Z @ v[..., None])[..., 0]
    return miss, slope


def _by_division(power: Array, voltage: Array, resistance: Array) -> tuple[Array, Array]:
    """Largest fraction of what is drawn that the guard accepts; what is pushed in stays whole."""
    parts = FEW_PARTS if len(power) <= FEW else 2
    return _divided(power, voltage, resistance, parts, math.ceil(BISECTIONS / math.log2(parts)))


def _divided(power: Array, voltage: Array, resistance: Array, parts: int, rounds: int) -> tuple[Array, Array]:
    """Currents and fraction after so many rounds of division into parts."""
    count, loads = power.shape
    low, step = np.zeros(count), np.full(count, 1.0 / parts)
    best = np.zeros_like(power)
    again = [np.repeat(each, parts - 1, axis=0) for each in (power, voltage, resistance)]
    for _ in range(rounds):
        tried = low[:, None] + step[:, None] * np.arange(1, parts)
        asked = np.where(again[0] > 0, tried.reshape(-1, 1) * again[0], again[0])
        J, held = _several(asked, *again[1:])
        good = np.logical_and.accumulate(held.reshape(count, parts - 1), axis=1).sum(axis=1)
        rows = np.flatnonzero(good)
        best[rows] = J.reshape(count, parts - 1, loads)[rows, good[rows] - 1]
        low, step = low + step * good, step / parts
    return best, low
