"""Many cases of one network as one batch: an open edge is a conductance of zero, no basis of its own.

Gives: Together, many(), whole(). Cases differ in what is open, what is one-way, and what their loads draw.
Limits: every load still fed where a module can be off or a load asks power (`whole`); the others are solved one by
one (circuit/solver/solve). Edge currents only: what is dead carries zero, it is not marked.
Source: circuit/solver/eliminate, circuit/solver/solve for the signs of one-way modules.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from bankwright.circuit.network import Array, Network
from bankwright.circuit.solution import Case
from bankwright.circuit.solver.basis import shared_basis
from bankwright.circuit.solver.by_nodes import along_the_tree, conductances, pushed
from bankwright.circuit.solver.eliminate import Elimination, Reduced, elimination_of
from bankwright.circuit.solver.graph import fed_loads
from bankwright.circuit.solver.laws import IDLE, Current, Law, load_currents

__all__ = ["Together", "many", "whole"]

MAX_FLIPS = 12
QUIET = 1e-9  # A; less is what is left of differences of potentials where nothing flows


def whole(network: Network, case: Case) -> bool:
    """True for a case that may stand in a batch: every load fed, one-way modules off too, or given currents only."""
    if not case.only and all(isinstance(law, Current) for law in case.loads.values()):
        return True
    return len(_fed(network, case.open | case.only.keys())) == len(network.loads)


def _fed(network: Network, opened: frozenset[str]) -> tuple[int, ...]:
    shut = frozenset(network.edge_index[name] for name in opened)
    return _fed_without(_ShapeOf(network), shut)


class _ShapeOf:
    """A network as a key: networks of one shape are equal here."""

    def __init__(self, network: Network) -> None:
        self.network, self.number = network, hash(network.shape)

    def __hash__(self) -> int:
        return self.number

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _ShapeOf) and self.network.shape == other.network.shape


@lru_cache(maxsize=1024)
def _fed_without(shaped: _ShapeOf, shut: frozenset[int]) -> tuple[int, ...]:
    return fed_loads(shaped.network, [edge for edge in range(len(shaped.network.edges)) if edge not in shut])


@dataclass(frozen=True, eq=False, slots=True)
class Together:
    """What a batch of cases asks of one network, whatever its resistances."""

    network: Network
    shut: np.ndarray  # (edges, cases)
    ways: Array  # (modules, cases): 1 discharge only, -1 charge only, 0 both
    given: Array | None  # (loads, cases) currents of the loads of the basis, where all are given [A]
    laws: tuple[Law, ...]  # else the one set of laws that all cases share, loads as in the basis

    @classmethod
    def of(cls, network: Network, cases: Sequence[Case]) -> Together:
        """Cases must be whole(), all with given currents or all with the same loads."""
        loads = [network.edges[load].name for load in shared_basis(network).loads]
        given = None
        if all(isinstance(law, Current) for case in cases for law in case.loads.values()):
            given = np.array([_drawn(network, case) for case in cases]).reshape(len(cases), len(loads)).T
        laws = tuple(cases[0].loads.get(name, IDLE) for name in loads)
        return cls(network, _shut(network, cases), _ways(network, cases), given, laws)

    def only(self, places: np.ndarray) -> Together:
        """Some of the cases."""
        given = None if self.given is None else self.given[:, places]
        return Together(self.network, self.shut[:, places], self.ways[:, places], given, self.laws)

    def draw(self, reduced: Reduced, ends: Sequence[tuple[int, int]]) -> tuple[Array, Array]:
        """Currents of the loads (loads, cases), and the fraction of what is asked for (cases,)."""
        if self.given is not None:
            return self.given, np.ones(self.given.shape[1])
        J, fraction = load_currents(self.laws, *reduced.seen_from(ends))
        return np.ascontiguousarray(J.T), fraction


def many(cases: Together, R: Array, E: Array) -> tuple[Array, Array] | None:
    """Edge currents (case, edge) and delivered fraction (case,), of resistances R (case, edge), emfs E (case, module).

    None where it does not apply: a zero resistance that potentials cannot pass, or signs that do not settle.
    """
    network, shut = cases.network, cases.shut
    basis = shared_basis(network)
    found = conductances(basis, R)
    if found is None:
        return None
    g, zero = found
    if shut[list(zero)].any():
        return None
    g[shut] = 0.0
    emf = np.zeros((len(R), len(network.edges)))
    emf[:, list(network.modules)] = E
    order = elimination_of(network.shape, zero, len(R))
    found_currents = _settled(cases, order, g, emf)
    if found_currents is None:
        return None
    settled, drawn, fraction = found_currents
    loops = [*settled[list(basis.inner)], *drawn[len(basis.tree_loads) :]]
    edges = along_the_tree(basis, basis.inner + basis.loop_loads, loops, len(R))
    edges[shut.T | (np.abs(edges) < QUIET)] = 0.0
    return edges, fraction


def _settled(cases: Together, order: Elimination, g: Array, emf: Array) -> tuple[Array, Array, Array] | None:
    """Currents of edges with a resistance (edge, case), of loads, the fraction; one-way modules off where they must."""
    network, ways = cases.network, cases.ways
    modules, tails, heads = list(network.modules), *network.ends.T
    ends = [network.end_pairs[load] for load in shared_basis(network).loads]
    on, off = g[modules], np.zeros(ways.shape, dtype=bool)
    for _ in range(MAX_FLIPS):
        g[modules] = np.where(off, 0.0, on)
        reduced = order.reduced(g, pushed(network, g, emf))
        drawn, fraction = cases.draw(reduced, ends)
        V = reduced.potentials(ends, drawn)
        driven = emf.T - (V[heads] - V[tails])
        current = np.where(g > 0.0, g * driven, 0.0)
        scale = np.abs(current[modules]).max(axis=0)
        wrong = ways * current[modules] < -1e-9 * np.maximum(scale, 1e-12)
        free = off & (ways * driven[modules] > 1e-12 * np.abs(emf).max())
        if not (wrong | free).any():
            return np.asarray(current), drawn, fraction
        off ^= wrong | free
    return None


def _shut(network: Network, cases: Sequence[Case]) -> np.ndarray:
    shut = np.zeros((len(network.edges), len(cases)), dtype=bool)
    for place, case in enumerate(cases):
        shut[[network.edge_index[name] for name in case.open], place] = True
    return shut


def _ways(network: Network, cases: Sequence[Case]) -> Array:
    """(modules, cases): 1 discharge only, -1 charge only, 0 both."""
    ways = np.zeros((len(network.modules), len(cases)))
    for place, case in enumerate(cases):
        for name, way in case.only.items():
            ways[network.module_names.index(name), place] = 1.0 if way == "discharge" else -1.0
    return ways


def _drawn(network: Network, case: Case) -> list[float]:
    """Currents of the loads of the basis, zero where the case leaves none to feed one."""
    basis = shared_basis(network)
    fed = _fed(network, case.open)
    laws = [case.loads.get(network.edges[load].name, IDLE) for load in basis.loads]
    return [
        law.current if load in fed and isinstance(law, Current) else 0.0
        for load, law in zip(basis.loads, laws, strict=True)
    ]
