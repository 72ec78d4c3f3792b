"""The same case over thousands of variants inside the stated tolerances.

Gives: scatter(), Scatter: currents(), quantile(), chance(), ratios(), dominant(), low/middle/high; variants(),
QUANTILES. Variants are 8,192 shifted Sobol points, one column a cause, solved in chunks;
each case is solved when it is first asked for.
Limits: conductors stay at the temperature of the nominal solution; a variant whose power cannot be delivered counts
with the most it can deliver, and `undelivered` says how many there are. Equal emfs unless a cause spreads them.
Sources: share of variance of one cause: squared correlation ratio over equal slices of its column, with the bias of the
slices taken off (epsilon squared) [from memory: Pearson 1905, Kelley 1935; as a sensitivity measure Plischke 2013].
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from bankwright.circuit.cases import CHARGE, LOWEST, SURGE, is_away
from bankwright.circuit.errors import CircuitError
from bankwright.circuit.network import Array, Network, frozen
from bankwright.circuit.scatter.causes import Cause, default_causes
from bankwright.circuit.scatter.sobol import points
from bankwright.circuit.solution import Case
from bankwright.circuit.solver.solve import currents
from bankwright.circuit.steady import Steady
from bankwright.forms.checks import NeedsValue

__all__ = ["COUNT", "QUANTILES", "Scatter", "scatter", "variance_share", "variants", "worst_away"]

COUNT = 8192
QUANTILES = (0.01, 0.5, 0.99)
CHUNK = 1024
SLICES = 32


@dataclass(frozen=True, eq=False)
class Scatter:
    """Variants of some cases of one bank; `causes` None: every tolerance of the bank and its rack's gradient."""

    steady: Steady
    names: tuple[str, ...]
    causes: tuple[Cause, ...] | None = None
    count: int = COUNT
    seed: int = 1
    _solved: dict[str, tuple[Array, Array]] = field(default_factory=dict, repr=False)
    _samples: dict[int, Array] = field(default_factory=dict, repr=False)

    @property
    def network(self) -> Network:
        """The network all names refer to."""
        return self.steady.network

    def causes_of(self, name: str) -> tuple[Cause, ...]:
        """Columns of a case, in order."""
        if self.causes is not None:
            return self.causes
        case = self._case(name)
        network = self.steady.network_for(case.resistance, case.temperature_degc)
        return default_causes(self.steady.bank, network, case.resistance)

    def _case(self, name: str) -> Case:
        return self.steady.case(name).case

    def currents(self, name: str) -> Array:
        """Edge currents of a case (variants, edges)."""
        return self._both(name)[0]

    def undelivered(self, name: str) -> float:
        """Part of the variants whose power could not be delivered in full. [-]"""
        return float((self._both(name)[1] < 1.0).mean())

    def _both(self, name: str) -> tuple[Array, Array]:
        if name not in self._solved:
            self._solved[name] = self._solve(name)
        return self._solved[name]

    def _sample(self, dimensions: int) -> Array:
        if dimensions not in self._samples:
            self._samples[dimensions] = points(self.count, dimensions, self.seed)
        return self._samples[dimensions]

    def _solve(self, name: str) -> tuple[Array, Array]:
        nominal = self.steady.case(name)
        case, network = nominal.case, nominal.network
        hot = network.resistances() * self.steady.warmth(network).factor(nominal.edge_current)
        causes = self.causes_of(name)
        u = self._sample(len(causes))
        found = np.empty((self.count, len(network.edges)))
        fraction = np.empty(self.count)
        for start in range(0, self.count, CHUNK):
            part = slice(start, min(start + CHUNK, self.count))
            R, E = variants(network, causes, hot, nominal.emf, u[part])
            found[part], fraction[part] = currents(network, case, R, E)
        return frozen(found), frozen(fraction)

    def edge(self, name: str, case: str) -> Array:
        """Current of one edge or element over the variants."""
        return np.asarray(self.currents(case)[:, self.network.edge_index[name]])

    def quantile(self, name: str, q: float, case: str | None = None) -> float:
        """Quantile of the size of a current; over all cases the largest. [A]"""
        chosen = self.names if case is None else (case,)
        return max(float(np.quantile(np.abs(self.edge(name, each)), q)) for each in chosen)

    def chance(self, name: str, over: float, case: str | None = None) -> float:
        """Chance that the size of a current passes a limit; over all cases the largest. [-]"""
        chosen = self.names if case is None else (case,)
        return max(float((np.abs(self.edge(name, each)) > over).mean()) for each in chosen)

    def ratios(self, case: str, limits: Mapping[str, float]) -> Array:
        """Largest |current| / limit over the named things, variant by variant (variants,)."""
        columns = [self.network.edge_index[name] for name in limits]
        return frozen((np.abs(self.currents(case)[:, columns]) / np.array(list(limits.values()))).max(axis=1))

    def dominant(self, case: str, values: Array, most: int = 5) -> tuple[tuple[str, float], ...]:
        """Causes that explain most of the variance of some values (variants,), with their first-order share."""
        causes = self.causes_of(case)
        u = self._sample(len(causes))
        shares = [(cause.name, variance_share(u[:, place], values)) for place, cause in enumerate(causes)]
        return tuple(sorted(shares, key=lambda pair: -pair[1])[:most])

    def _band(self, q: float) -> Array:
        return frozen([np.quantile(self.currents(name), q, axis=0) for name in self.names])

    @cached_property
    def low(self) -> Array:
        """1 % quantile of every edge's signed current (case, edge)."""
        return self._band(QUANTILES[0])

    @cached_property
    def middle(self) -> Array:
        """Median of every edge's signed current (case, edge)."""
        return self._band(QUANTILES[1])

    @cached_property
    def high(self) -> Array:
        """99 % quantile of every edge's signed current (case, edge)."""
        return self._band(QUANTILES[2])


def variants(network: Network, causes: Sequence[Cause], hot: Array, emf: Array, u: Array) -> tuple[Array, Array]:
    """Resistances (variants, elements) and emfs (variants, modules) at the points u (variants, causes)."""
    R, E = np.tile(hot, (len(u), 1)), np.tile(emf, (len(u), 1))
    flat = [place for place, cause in enumerate(causes) if cause.ends is not None and len(cause.touches) == 1]
    R[:, [network.element_index[causes[place].touches[0]] for place in flat]] *= _factors(causes, flat, u)
    for place in sorted(set(range(len(causes))) - set(flat)):
        cause = causes[place]
        values = cause.values(u[:, place])
        if cause.kind == "volts":
            E[:, [network.module_names.index(name) for name in cause.touches]] += values
        else:
            R[:, [network.element_index[name] for name in cause.touches]] *= values
    return R, E


def _factors(causes: Sequence[Cause], flat: Sequence[int], u: Array) -> Array:
    """Factors (variants, causes) of causes that are flat between two ends, each on an element of its own."""
    low, high = np.array([causes[place].ends or (1.0, 1.0) for place in flat]).reshape(-1, 2).T
    return np.asarray(low + (high - low) * u[:, flat])


def variance_share(u: Array, values: Array) -> float:
    """First-order share of the variance of values that the column u explains, between 0 and 1. [-]"""
    slices = np.minimum((u * SLICES).astype(np.intp), SLICES - 1)
    counts = np.bincount(slices, minlength=SLICES)
    means = np.bincount(slices, values, SLICES) / np.maximum(counts, 1)
    total = float(((values - values.mean()) ** 2).sum())
    if total <= 1e-18 * max(float((values**2).sum()), 1e-300):
        return 0.0
    between = float((counts * (means - values.mean()) ** 2).sum())
    within = (total - between) / max(len(values) - SLICES, 1)
    return min(max((between - (SLICES - 1) * within) / total, 0.0), 1.0)


def worst_away(steady: Steady) -> str | None:
    """Name of the continuous case with one module away in which some module carries most; None without such a case."""
    found = []
    for name in steady.continuous:
        if is_away(steady.bank, name):
            try:
                found.append((float(np.abs(steady.case(name).module_currents()).max()), name))
            except (CircuitError, NeedsValue):
                continue
    if not found:
        return None
    top = max(current for current, _ in found)
    return next(name for current, name in found if current >= top * (1.0 - 1e-9))


def scatter(
    steady: Steady, names: Sequence[str] | None = None, causes: Sequence[Cause] | None = None, seed: int = 1
) -> Scatter:
    """Prepare a scatter: of full discharge, surge, full charge and the worst module away, if nothing else is named."""
    if names is None:
        wanted = [LOWEST, SURGE, CHARGE, worst_away(steady)]
        names = [name for name in wanted if name is not None and _solvable(steady, name)]
    return Scatter(steady, tuple(names), None if causes is None else tuple(causes), seed=seed)


def _solvable(steady: Steady, name: str) -> bool:
    try:
        steady.case(name)
    except (CircuitError, NeedsValue, KeyError):
        return False
    return True
