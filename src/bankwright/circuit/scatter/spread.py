"""How far every current of one case reaches inside the tolerances: its 99 % quantile, and its corner.

Gives: Spread, spread(). The quantile is taken over 512 variants, as a scatter makes them. The corner of an edge holds
every cause at the end that raises that edge's current: the end its least-squares slope over the variants points to.
Limits: as circuit/scatter/scatter. Drawn at random, a quantile of 512 lies between the true 98 % and 99.8 % quantiles
19 times in 20; points that fill the cube evenly do better. Only where a power is held or one direction of a module is
blocked may a current turn back inside a tolerance and miss its corner.
Sources: binomial spread of an order statistic [stated law]; with currents drawn, a current is a ratio of two terms that
are each linear in one resistance, so it only rises or only falls with it [derived].
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache, cached_property

import numpy as np

from bankwright.circuit.cases import case_of, emf_of
from bankwright.circuit.network import Array, Network
from bankwright.circuit.scatter.causes import Cause, default_causes, own_causes
from bankwright.circuit.scatter.scatter import variants
from bankwright.circuit.scatter.sobol import points
from bankwright.circuit.solution import Case
from bankwright.circuit.solver.solve import currents
from bankwright.circuit.steady import Steady

__all__ = ["VARIANTS", "Spread", "spread"]

VARIANTS = 512
SEED = 1


@dataclass(frozen=True, eq=False)
class Spread:
    """A case inside its tolerances: the variants once solved, a corner when it is asked for."""

    network: Network
    case: Case
    causes: tuple[Cause, ...]
    hot: Array = field(repr=False)  # resistances (elements,) [ohm]
    emf: Array = field(repr=False)

    @cached_property
    def _found(self) -> Array:
        return self._solved(_points(len(self.causes)))

    def _solved(self, u: Array) -> Array:
        R, E = variants(self.network, self.causes, self.hot, self.emf, u)
        return currents(self.network, self.case, R, E)[0]

    def quantile(self, name: str) -> float:
        """Size that the current of an edge or element passes in one bank of a hundred. [A]"""
        return float(np.quantile(np.abs(self._found[:, self.network.edge_index[name]]), 0.99))

    def corner(self, name: str) -> float:
        """Size of that current with every cause at the end that raises it. [A]"""
        place = self.network.edge_index[name]
        values, u = self._found[:, place], _points(len(self.causes))
        middle = values.mean()
        slopes = (values - middle) @ (u - 0.5)
        ends = (slopes * np.sign(middle) > 0.0).astype(np.float64)
        return abs(float(self._solved(ends[None, :])[0, place]))


def spread(steady: Steady, name: str) -> Spread | None:
    """A case inside its tolerances; None where the file gives none. CircuitError as Steady.edge_current()."""
    case = case_of(steady.bank, name)
    network = steady.network_for(case.resistance, case.temperature_degc)
    nominal = steady.edge_current(name)
    if not own_causes(network):
        return None
    causes = default_causes(steady.bank, network, case.resistance)
    hot = network.resistances() * steady.warmth(network).factor(nominal)
    return Spread(network, case, causes, hot, emf_of(steady.bank, case.emf))


@cache
def _points(dimensions: int) -> Array:
    return points(VARIANTS, dimensions, SEED)
