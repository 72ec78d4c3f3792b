"""By how much a cell's own curve lies off the one that is assumed: two pictures of it.

Gives: CurveError, Drifting, Lasting, Motion, NODES. `Drifting`: one number that forgets itself as charge moves, right
for the first passes over a curve. `Lasting`: a value at each of 21 places of the curve that stays for good, right for
weeks: a daily pass over the same place is then no new evidence, and a full charge teaches the curve.
Sources: first-order Gauss-Markov process; Gaussian process with an exponential covariance [stated laws]. Which is right
when: own trials (drifting over a month: up to 14 points off with a band that never covers; lasting on a first pass with
a large offset: 8 to 14 points).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from bankwright.circuit.network import Array, frozen
from bankwright.watch.charge.library import GRID

__all__ = ["NODES", "CurveError", "Drifting", "Lasting", "Motion"]

NODES = frozen(np.concatenate([[0.0, 0.05, 0.1], np.arange(0.15, 0.96, 0.05), [0.975, 1.0]]))
AGEING = 1e-3 / np.sqrt(100 * 24)  # V per sqrt(h): a curve moves by 1 mV in 100 days [own choice]


@dataclass(frozen=True, slots=True)
class Motion:
    """What happened in a block: charge counted out (share of capacity, as read) and hours passed. (series,)"""

    charge: Array
    hours: float


class CurveError(Protocol):
    """States of a curve's error, and how they show in a voltage."""

    @property
    def states(self) -> int:
        """How many."""

    def prior(self) -> Array:
        """Covariance at the start."""

    def carried(self, motion: Motion) -> tuple[Array | float, Array | float]:
        """What is left of the states after a block, as a factor, and the variance that is added. (series,)"""

    def rows(self, z: Array, rows: Array, x: Array) -> Array:
        """Fill `rows` with how the states x show at z (series, component); the voltage they make."""


@dataclass(frozen=True, eq=False, slots=True)
class Drifting:
    """One state in units of the curve's doubt; forgets itself over `along` of the charge."""

    doubt: Array  # on GRID, V
    along: float

    @property
    def states(self) -> int:
        """One."""
        return 1

    def prior(self) -> Array:
        """One standard deviation of the curve."""
        return np.ones((1, 1))

    def carried(self, motion: Motion) -> tuple[Array | float, Array | float]:
        """Forget by the charge that moved."""
        kept = np.exp(-np.abs(motion.charge) / self.along)
        return kept, 1 - kept * kept

    def rows(self, z: Array, rows: Array, x: Array) -> Array:
        """Scaled by the doubt of the curve at z."""
        place = np.clip(z, 0, 1) * (len(GRID) - 1)
        rows[..., 0] = self.doubt[np.rint(place).astype(int)]
        return np.asarray(rows[..., 0] * x[..., 0])


@dataclass(frozen=True, eq=False, slots=True)
class Lasting:
    """A value at each node of the charge, straight between them; for good, but for slow ageing."""

    doubt: Array  # on GRID, V
    along: float

    @property
    def states(self) -> int:
        """One a node."""
        return len(NODES)

    def prior(self) -> Array:
        """Neighbouring nodes lie off together."""
        sd = np.interp(NODES, GRID, self.doubt)
        apart = np.abs(NODES[:, None] - NODES)
        return np.asarray(sd[:, None] * sd * np.exp(-apart / self.along))

    def carried(self, motion: Motion) -> tuple[Array | float, Array | float]:
        """Age."""
        return 1.0, AGEING**2 * motion.hours

    def rows(self, z: Array, rows: Array, x: Array) -> Array:
        """Straight between the two nodes around z."""
        inside = np.minimum(np.maximum(z, 0.0), 1.0)
        left = np.searchsorted(NODES[1:-1], inside, "right")
        part = (inside - NODES[left]) / (NODES[left + 1] - NODES[left])
        m, h = np.arange(z.shape[0])[:, None], np.arange(z.shape[1])[None, :]
        rows[m, h, left], rows[m, h, left + 1] = 1 - part, part
        return np.asarray((1 - part) * x[m, h, left] + part * x[m, h, left + 1])
