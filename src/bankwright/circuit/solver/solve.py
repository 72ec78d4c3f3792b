"""Solve a case on a network: one, or thousands of variants as one batch in chunks.

Gives: solve() of one case, variants() and currents() of many. Arguments: resistances by element, emfs by module.
Modules that pass one direction only are set and released until all signs agree.
Limits: steady; what resistance and emf a case means is settled in circuit/steady.
Source: see circuit/solver/seen and circuit/solver/laws; one-way modules: complementarity with a
positive definite matrix has one solution, found by principal pivoting [from memory: Murty 1974, least index rule].
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from bankwright.circuit.errors import CircuitError, NotDeliverable
from bankwright.circuit.network import Array, Network, frozen
from bankwright.circuit.solution import Case, Solution, Variants
from bankwright.circuit.solver.basis import Basis, shared_basis
from bankwright.circuit.solver.by_nodes import ByNodes, by_nodes
from bankwright.circuit.solver.laws import IDLE, Current, Law, Power, load_currents
from bankwright.circuit.solver.seen import Seen, seen

__all__ = ["CHUNK_NUMBERS", "currents", "solve", "variants"]

CHUNK_NUMBERS = 400_000  # numbers in G of one chunk: 3 MB, fits the cache
LEAST_CHUNK = 1024  # the cost of a step of the elimination is shared by so many
NODES_PAY = 512  # variants x loops from which potentials are quicker than loops [measured]
EASY_FLIPS = 12
MAX_FLIPS = 400


def solve(network: Network, case: Case, resistance: Array, emf: Array, partly: bool = False) -> Solution:
    """Solve one case (elements,), (modules,); with `partly`, power that cannot be delivered is marked, not raised."""
    if resistance.ndim != 1 or emf.ndim != 1:
        raise ValueError("solve() takes one case; variants() takes many")
    f, V, fraction = _in_chunks(network, case, resistance[None], emf[None], 1, potentials=True)
    _refuse(case, fraction, partly)
    return Solution(
        network=network, case=case, edge_current=frozen(f[0]), node_potential=frozen(V[0]),
        dead=shared_basis(network, case.open).dead, resistance=frozen(resistance), emf=frozen(emf),
        fraction=frozen(fraction[0]),
    )  # fmt: skip


def variants(network: Network, case: Case, resistance: Array, emf: Array, partly: bool = False) -> Variants:
    """Solve a case many times: resistances ([variant], elements), emfs ([variant], modules), one of them by variant."""
    R, E = np.atleast_2d(resistance), np.atleast_2d(emf)
    count = max(len(R), len(E))
    f, V, fraction = _in_chunks(network, case, R, E, count, potentials=True)
    _refuse(case, fraction, partly)
    return Variants(
        network=network, case=case, edge_current=frozen(f), node_potential=frozen(V),
        dead=shared_basis(network, case.open).dead, resistance=frozen(np.broadcast_to(R, (count, R.shape[1]))),
        emf=frozen(np.broadcast_to(E, (count, E.shape[1]))), fraction=frozen(fraction),
    )  # fmt: skip


def _refuse(case: Case, fraction: Array, partly: bool) -> None:
    if not partly and (fraction < 1.0).any():
        raise NotDeliverable(case.name, float(fraction.min()))


def currents(network: Network, case: Case, resistance: Array, emf: Array) -> tuple[Array, Array]:
    """Edge currents (variant, edges) and delivered fraction (variant,), nothing else: the road of a scatter."""
    R, E = np.atleast_2d(resistance), np.atleast_2d(emf)
    edge_current, _, fraction = _in_chunks(network, case, R, E, max(len(R), len(E)), potentials=False)
    return edge_current, fraction


def _in_chunks(
    network: Network, case: Case, R: Array, E: Array, count: int, *, potentials: bool
) -> tuple[Array, Array, Array]:
    basis = shared_basis(network, case.open)
    edge_current = np.empty((count, len(network.edges)))
    node_potential = np.empty((count if potentials else 0, len(network.nodes)))
    fraction = np.empty(count)
    for part in _chunks(count, len(basis.inner)):
        r = network.edge_resistances(R[part] if len(R) > 1 else R, basis.dead)
        r = np.broadcast_to(r, (part.stop - part.start, r.shape[1]))
        e = np.zeros((len(E[part]) if len(E) > 1 else 1, len(network.edges)))
        e[:, list(network.modules)] = E[part] if len(E) > 1 else E
        f, U, fraction[part] = _solve_batch(basis, case, r, e)
        edge_current[part] = f
        if potentials:
            node_potential[part] = _potentials(basis, f, r, e, U)
    return edge_current, node_potential, fraction


def _chunks(count: int, inner: int) -> Iterator[slice]:
    step = max(1, min(count, max(LEAST_CHUNK, CHUNK_NUMBERS // max(1, inner * inner))))
    for start in range(0, count, step):
        yield slice(start, min(start + step, count))


def _laws(basis: Basis, case: Case) -> tuple[Law, ...]:
    return tuple(case.loads.get(basis.network.edges[i].name, IDLE) for i in basis.loads)


def _pull(law: Law) -> float:
    """Which way a load moves current when modules are few: out of them (positive) or into them."""
    return law.power if isinstance(law, Power) else law.current if isinstance(law, Current) else 0.0


def _solve_batch(basis: Basis, case: Case, R: Array, E: Array) -> tuple[Array, Array, Array]:
    """Edge currents, load voltages (batch, loads of the basis), fraction."""
    off = None
    ways = {basis.network.edge_index[name]: 1.0 if way == "discharge" else -1.0 for name, way in case.only.items()}
    held_in_tree = [i for i in ways if i in basis.tree and not basis.dead[i]]
    if held_in_tree:
        raise CircuitError(f"{basis.network.edges[held_in_tree[0]].name} ties two parts and cannot be one-way here")
    sign = np.array([ways.get(i, 0.0) for i in basis.inner])
    wanted = np.sign(sum(_pull(law) for law in _laws(basis, case)))
    for turn in range(MAX_FLIPS):
        view = _view(basis, R, E, off)
        J, fraction = load_currents(_laws(basis, case), view.voltage, view.resistance)
        J[view.cut_off], fraction[view.cut_off] = 0.0, 1.0  # no module is left: dark, as behind an open main
        f = view.currents(J)
        U = view.voltage - (view.resistance @ J[..., None])[..., 0]
        flips = _flips(basis, sign, off, f, R, E=E, U=U) if ways else None
        if flips is not None and view.cut_off.any():
            flips[view.cut_off] = off[view.cut_off] & (sign == wanted)  # type: ignore[index]
        if flips is None or not flips.any():
            return f, U, fraction
        if turn >= EASY_FLIPS:
            flips &= np.cumsum(flips, axis=1) == 1
        off = flips if off is None else off ^ flips
    raise CircuitError(f"{case.name}: the one-way modules do not settle")


def _view(basis: Basis, R: Array, E: Array, off: np.ndarray | None) -> Seen | ByNodes:
    found = by_nodes(basis, R, E, off) if len(R) * len(basis.inner) >= NODES_PAY else None
    return seen(basis, R, E, off) if found is None else found


def _flips(basis: Basis, sign: Array, off: np.ndarray | None, f: Array, R: Array, *, E: Array, U: Array) -> np.ndarray:
    """Loops to set or release: a wrong sign of the current, or a module off that would drive the right way."""
    scale = 1e-9 * np.maximum(np.abs(f).max(axis=1, keepdims=True), 1e-12)
    wrong = sign * f[:, list(basis.inner)] < -scale
    if off is None:
        return np.asarray(wrong)
    drive = (E - R * f) @ basis.without_loads[0] - U[:, : len(basis.tree_loads)] @ basis.load_rows[0]
    return np.asarray(np.where(off, sign * drive > 1e-12 * np.abs(E).max(), wrong))


def _potentials(basis: Basis, f: Array, R: Array, E: Array, U: Array) -> Array:
    """Walk the tree: rise of potential along each edge, summed on the way to each node."""
    rise = E - R * f
    rise[:, list(basis.loads)] = -U
    values = rise @ basis.ways.T
    values[:, basis.part_of != basis.part_of[0]] = np.nan
    return np.asarray(values)
