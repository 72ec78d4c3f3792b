"""A row of steps beside each other: states at their ends, by repetition of what is not straight on exact modes.

Gives: Pieces, Straight, Course, course_of(). Curve and load are what bends; both enter the modes of the rest as a
parabola through both ends and the middle of a step, and are read off again until the emfs settle.
The first steps settle first.
Limits: see circuit/run/stretch. A row that runs away gives figures that are not finite, and never settles.
Source: waveform relaxation by Picard, exact on the linear part [derived in docs/run.md].
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from bankwright.circuit.network import Array
from bankwright.circuit.run.modes import Modes, Weights, carried
from bankwright.circuit.run.step import Node, Rig

__all__ = ["SETTLED", "Course", "Pieces", "Straight", "course_of"]

TURNS = 24
SETTLED = 1e-3  # of the tolerance
HASTY = 0.5  # of a step: how much of it a slope may answer that the modes do not have


class Pieces(NamedTuple):
    """Equal pieces of a profile, each in equal parts: ends of all steps (n + 1,), and the value on each (n,)."""

    times: Array
    values: Array
    h: float
    parts: int


class Straight(NamedTuple):
    """The rig made straight: its modes, the slopes (M,) they are made for, and whether its load asks power."""

    rig: Rig
    modes: Modes
    slope: Array
    power: bool


class Course(NamedTuple):
    """All steps as they stand: states at their ends, load currents just after each start and just before each end."""

    Y: Array  # (3, n + 1, M)
    E: Array  # (n + 1, M)
    slope: Array  # of the curve
    J0: Array  # (n,)
    J1: Array
    off: Array  # (n + 1,) change of the emfs in the last turn [V]
    fed: np.ndarray  # (n,)
    error: Array  # (n,) [V]


class Read(NamedTuple):
    """What curve and load say at states (3, times, M)."""

    E: Array
    alpha: Array
    volts: Array  # of the curve, beside the straight one of the modes


def _read(straight: Straight, node: Node, Y: Array) -> Read:
    curve, alpha = straight.rig.modules.curves.look_up(Y[0], straight.rig.modules.shift)
    return Read(curve - Y[1] - Y[2], alpha, curve - straight.slope * (Y[0] - node.Y[0]))


def _drawn(straight: Straight, node: Node, values: Array, E: Array) -> tuple[Array, np.ndarray]:
    """Load currents, and where they can be had; the closed form of circuit/run/loads."""
    if not straight.power:
        return values, np.ones(len(values), dtype=bool)
    open_volts = E @ node.view.u[0]
    room = open_volts * open_volts - 4.0 * float(node.view.Z[0, 0]) * values
    return 2.0 * values / (open_volts + np.sqrt(np.maximum(room, 0.0))), (room >= 0.0) & (open_volts > 0.0)


def course_of(node: Node, straight: Straight, pieces: Pieces, tolerance: float) -> Course:
    """Follow all pieces from a node on."""
    modes, count = straight.modes, len(pieces.values)
    whole, half = (Weights.of(modes.rates, pieces.h * part) for part in (1.0, 0.5))
    rest = np.zeros_like(node.Y)
    rest[0] = node.Y[0]
    start, level = modes.into(node.Y - rest), node.E + node.Y[1] + node.Y[2]
    read = Read(*(np.broadcast_to(each, (count + 1, len(level))) for each in (node.E, node.alpha, level)))
    J0, fed = _drawn(straight, node, pieces.values, read.E[:-1])
    J1, bend, error, near = J0, np.zeros((count, len(modes.rates))), np.full(count, np.inf), False
    for _ in range(TURNS):
        pushes, before = modes.pushes(read.volts), read.E
        first, last = (part + J[:, None] * modes.by_load for part, J in ((pushes[:-1], J0), (pushes[1:], J1)))
        y = carried(whole, start, whole.start * first + whole.end * last + whole.bend * bend)
        Y = modes.back(y, node.Y[0])
        read = _read(straight, node, Y)
        J0, fed = _drawn(straight, node, pieces.values, read.E[:-1])
        J1, then = _drawn(straight, node, pieces.values, read.E[1:])
        off = np.abs(read.E - before).max(axis=1)
        if near and not off.max() > SETTLED * tolerance:
            break
        near = not off.max() > tolerance
        if near:  # the bends count from here on
            middle = half.decay * y[:-1] + half.start * first + half.end * (first + last) / 2
            missed, error = _bends(node, straight, modes.back(middle, node.Y[0]), read, (J0, J1, pieces))
            bend = modes.pushes(missed[0]) + missed[1][:, None] * modes.by_load
    return Course(Y, read.E, read.alpha, J0, J1, off, fed & then, error)


def _bends(
    node: Node, straight: Straight, Y: Array, ends: Read, load: tuple[Array, Array, Pieces]
) -> tuple[tuple[Array, Array], Array]:
    """By how much the curves (n, M) and the load (n,) lie off their straight lines in the middle of each step, and the
    volts (n,) that this makes in a step: what a parabola leaves over is less.

    Endless where a slope that the modes do not have would answer within a step.
    """
    (J0, J1, pieces), m, slope = load, straight.rig.modules, straight.slope
    there = _read(straight, node, Y)
    volts = there.volts - (ends.volts[:-1] + ends.volts[1:]) / 2
    drawn = _drawn(straight, node, pieces.values, there.E)[0] - (J0 + J1) / 2
    missed = volts @ node.view.K.T + drawn[:, None] * node.view.k[:, 0]
    slopes = (ends.alpha[:-1], there.alpha, ends.alpha[1:])
    answer = np.max(np.abs(slopes), axis=0) * pieces.h / m.capacity
    for r, tau in ((m.r1, m.tau1), (m.r2, m.tau2)):
        answer = answer - r * node.factor * np.expm1(-pieces.h / tau)
    unlike = np.max(np.abs(np.array(slopes) - slope), axis=0)
    hasty = (unlike * straight.rig.stiffness * pieces.h > HASTY).any(axis=1)
    error = np.where(hasty, np.inf, (np.abs(missed) * answer).max(axis=1) * (2.0 / 3.0))
    return (volts, drawn), error
