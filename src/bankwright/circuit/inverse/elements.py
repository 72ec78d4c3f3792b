"""What readings can tell apart, and what they never can: loop patterns, rank, groups.

Gives: series_groups(), Alike, rank(), groups(), Told, told(), PARALLEL. Module currents see an element only through
the loops it lies in: elements with the same row of loops are one thing to them, whatever the load. With other readings
the columns of the sensitivity decide: two that are parallel change every reading alike.
Limits: linear, about one set of resistances; a cosine above PARALLEL counts as parallel [common practice, no source].
Source: rank of a linear map, its singular values [stated law]; loop rows from circuit/solver/basis.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array, Network
from bankwright.circuit.solver.basis import shared_basis

__all__ = ["PARALLEL", "Alike", "Told", "groups", "rank", "series_groups", "told"]

PARALLEL = 0.999  # cosine between two columns; common practice, no source
TINY = 1e-9  # of the largest singular value, or column; below it stands the arithmetic, not the bank


@dataclass(frozen=True, slots=True)
class Alike:
    """Elements that change every current alike, and those that change them exactly the other way."""

    names: tuple[str, ...]
    mirror: tuple[str, ...]


def series_groups(network: Network, flow: Array, off: frozenset[str] = frozenset()) -> tuple[Alike, ...]:
    """Elements that no current anywhere can tell apart: growth of one changes all currents as growth of another.

    Exact, from the rows of loops with every load's current given; flow (edges,) are the currents, of which the sign
    alone counts. `mirror` holds those that change them the other way: parted only because resistance grows and does
    not shrink. What no loop passes (mains), and what carries nothing, is in no group.
    """
    basis = shared_basis(network, frozenset(network.load_names) | off)
    rows: dict[tuple[int, ...], list[str]] = {}
    for element, edge in zip(network.elements, network.edge_of, strict=True):
        row = np.rint(basis.inner_loops[edge] * np.sign(flow[edge])).astype(int)
        if row.any():
            rows.setdefault(tuple(row.tolist()), []).append(element.name)
    return tuple(
        Alike(tuple(names), tuple(rows.get(tuple(-entry for entry in key), ()))) for key, names in rows.items()
    )


def rank(rows: Array, tiny: float = TINY) -> int:
    """Numbers that readings give about unknowns: rank of their sensitivity (readings, unknowns)."""
    if 0 in rows.shape:
        return 0
    sizes = np.linalg.svd(rows, compute_uv=False)
    return int((sizes > tiny * sizes[0]).sum()) if sizes[0] > 0.0 else 0


def groups(rows: Array, names: Sequence[str], parallel: float = PARALLEL) -> tuple[tuple[str, ...], ...]:
    """Unknowns whose columns point one way, those that stand alone too; one that no reading sees is left out."""
    sizes = np.linalg.norm(rows, axis=0)
    seen = np.flatnonzero(sizes > TINY * max(float(sizes.max(initial=0.0)), 1e-300))
    found: list[list[int]] = []
    for place in seen:
        column = rows[:, place] / sizes[place]
        near = (g for g in found if float(column @ rows[:, g[0]]) > parallel * sizes[g[0]])
        home = next(near, None)
        found.append([int(place)]) if home is None else home.append(int(place))
    return tuple(tuple(names[place] for place in group) for group in found)


@dataclass(frozen=True, slots=True)
class Told:
    """What a set of readings says about the unknowns: `rank` numbers, groups that move alike, what is never seen."""

    rank: int
    count: int
    groups: tuple[tuple[str, ...], ...]
    unseen: tuple[str, ...]
    only_ratios: bool  # growing all together changes no reading: one voltage under load is missing

    @property
    def settles_all(self) -> bool:
        """True when every unknown has a value of its own."""
        return self.rank == self.count


def told(rows: Array, names: Sequence[str], ohms: Array) -> Told:
    """Judge a sensitivity (readings, unknowns) of unknowns with these resistances (unknowns,)."""
    known = groups(rows, names)
    seen = {name for group in known for name in group}
    scaled = rows * ohms
    together = float(np.abs(scaled.sum(axis=1)).max(initial=0.0))
    alone = float(np.abs(scaled).max(initial=0.0))
    unseen = tuple(name for name in names if name not in seen)
    return Told(rank(scaled), len(names), known, unseen, alone > 0.0 and together < 1e-6 * alone)
