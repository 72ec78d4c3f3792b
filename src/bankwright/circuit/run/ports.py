"""The passive part of a bank as its modules and loads see it, reduced once for a run over time.

Gives: Ports (from plain arrays or from a network), View (fixed matrices for one state of the switches).
Between events module currents are i = K E + k J and load voltages U = u E - Z J: a step costs small products only.
Axes: variants first where there are any, then modules or loads. Positive: out of a module, into a load.
Limits: linear; load laws are in circuit/run/loads, a run needs at least one load edge (an idle one will do).
Source: loop analysis [stated law: Kirchhoff]; rings are eliminated beforehand [derived in docs/run.md].
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array, Network, frozen
from bankwright.circuit.solver.basis import shared_basis

__all__ = ["Ports", "View"]


@dataclass(frozen=True, eq=False, slots=True)
class View:
    """Matrices of one switch state: K (.., M, M), k (.., M, L), u (.., L, M), Z (.., L, L).

    All are 0, and Z is 1, where no module is on.
    """

    K: Array
    k: Array
    u: Array
    Z: Array
    both: Array  # K over u, so that one product gives currents and open-circuit voltages


@dataclass(frozen=True, eq=False)
class Ports:
    """Resistance between module ports (.., M, M), coupling to loads, and the way back to every edge."""

    names: tuple[str, ...]
    load_names: tuple[str, ...]
    passive: Array  # W (.., M, M): passive drops in the loops of the modules
    fed: Array  # D (tree loads, M)
    fed_by: Array  # D_J (tree loads, loop loads)
    across: Array  # S (.., M, loop loads)
    own: Array  # (.., loop loads, loop loads)
    edge_of_module: Array | None = None  # (.., edges, M)
    edge_of_load: Array | None = None  # (.., edges, L)
    edges: tuple[str, ...] = ()

    @classmethod
    def common_bar(cls, leads: Array, main: float = 0.0, names: tuple[str, ...] = ()) -> Ports:
        """Modules behind leads (.., M) on one pair of bars, one load behind `main`."""
        lead = np.asarray(leads, dtype=float)
        M = lead.shape[-1]
        W = lead[..., None] * np.eye(M) + main
        names = names or tuple(f"M{i + 1}" for i in range(M))
        return cls(
            names,
            ("load",),
            frozen(W),
            frozen(np.ones((1, M))),
            frozen(np.zeros((1, 0))),
            frozen(np.zeros((*W.shape[:-1], 0))),
            frozen(np.zeros((*W.shape[:-2], 0, 0))),
        )

    @classmethod
    def of_network(cls, network: Network, edge_resistance: Array, opened: frozenset[str] = frozenset()) -> Ports:
        """Reduce a network; `edge_resistance` (.., edges) leaves out the modules' own resistance."""
        basis = shared_basis(network, opened)
        places = {edge: place for place, edge in enumerate(basis.inner)}
        lost = [network.edges[i].name for i in network.modules if i not in places]
        if lost:
            raise ValueError(f"not in a loop, so no load could be fed: {', '.join(lost)}. Add a load edge.")
        R = np.asarray(edge_resistance, dtype=float)
        inner = np.array([places[i] for i in network.modules])
        rings = np.array([place for edge, place in places.items() if edge not in network.modules], dtype=np.intp)
        Tx, TJ = basis.without_loads
        weighted = np.swapaxes(Tx, -1, -2) * R[..., None, :]
        G, H = weighted @ Tx, weighted @ TJ
        S = (np.swapaxes(TJ, -1, -2) * R[..., None, :]) @ TJ
        ring_of_module, ring_of_load = _rings(G, H, inner, rings)
        Gmr = G[..., inner[:, None], rings]
        Hr = H[..., rings, :]
        W = G[..., inner[:, None], inner] - Gmr @ ring_of_module
        across = H[..., inner, :] - Gmr @ ring_of_load
        own = S - np.swapaxes(Hr, -1, -2) @ ring_of_load
        Dx, DJ = basis.load_rows
        loops = basis.inner_loops
        of_module = loops[:, inner] - loops[:, rings] @ ring_of_module
        of_loop_load = basis.load_loops - loops[:, rings] @ ring_of_load
        tree = np.zeros((*of_loop_load.shape[:-1], len(basis.tree_loads)))
        return cls(
            network.module_names,
            tuple(network.edges[i].name for i in basis.loads),
            frozen((W + np.swapaxes(W, -1, -2)) / 2),
            frozen(Dx[:, inner]),
            frozen(DJ),
            frozen(across),
            frozen(own),
            frozen(of_module),
            frozen(np.concatenate([tree, of_loop_load], axis=-1)),
            tuple(edge.name for edge in network.edges),
        )

    def view(self, resistance: Array, on: np.ndarray) -> View:
        """Matrices with module resistances (.., M) in series and only the modules `on` (.., M) connected."""
        M = self.passive.shape[-1]
        W = np.empty((*np.broadcast_shapes(self.passive.shape[:-2], resistance.shape[:-1]), M, M))
        W[...] = self.passive
        diagonal = np.arange(M)
        W[..., diagonal, diagonal] += resistance
        all_on = bool(on.all())
        if all_on:
            A = np.linalg.inv(W)
        else:
            pairs = on[..., :, None] & on[..., None, :]
            W = np.where(pairs, W, 0.0)
            W[..., diagonal, diagonal] += ~on
            A = np.where(pairs, np.linalg.inv(W), 0.0)
        if len(self.fed) == 1 and self.across.shape[-1] == 0:
            return _one_load(A, self.fed[0], None if all_on else on)
        return self._view(A, on)

    def _view(self, A: Array, on: np.ndarray) -> View:
        D, S, DJ = self.fed, self.across, self.fed_by
        Dt, dead = D.T, ~np.asarray(on.any(axis=-1))
        Y = D @ A @ Dt
        if dead.any():
            Y = np.where(dead[..., None, None], np.eye(len(D)), Y)
        Yi = np.linalg.inv(Y)
        ut = Yi @ D @ A
        Zt = np.concatenate([Yi, Yi @ (D @ A @ S - DJ)], axis=-1)
        K = A - A @ Dt @ ut
        tree = np.zeros((*S.shape[:-1], len(D)))
        k = A @ Dt @ Zt - np.concatenate([np.broadcast_to(tree, (*A.shape[:-1], len(D))), A @ S], axis=-1)
        St = np.swapaxes(S, -1, -2)
        uc = -St @ K - DJ.T @ ut
        own = np.concatenate([np.zeros((*self.own.shape[:-1], len(D))), self.own], axis=-1)
        Zc = St @ k + own - DJ.T @ Zt
        u, Z = np.concatenate([ut, uc], axis=-2), np.concatenate([Zt, Zc], axis=-2)
        u = np.where(dead[..., None, None], 0.0, u)
        return View(K, k, u, Z, np.concatenate([K, u], axis=-2))

    def edge_currents(self, module_current: Array, load_current: Array) -> Array:
        """Current of every edge (.., time, edges) from those of modules and loads (.., time, M or L)."""
        if self.edge_of_module is None or self.edge_of_load is None:
            raise ValueError("these ports were made from plain arrays and know no edges")
        of_module, of_load = (np.swapaxes(m, -1, -2) for m in (self.edge_of_module, self.edge_of_load))
        return np.asarray(module_current @ of_module + load_current @ of_load)

    def imbalance(self, E: Array, current: Array, load_current: Array, load_voltage: Array) -> Array:
        """What drives each module's loop beyond its own resistance (.., M): above 0, a switched-off one would give."""
        count = len(self.fed)
        drop = (self.passive @ current[..., None])[..., 0] + load_voltage[..., :count] @ self.fed
        if self.across.shape[-1]:
            drop = drop + (self.across @ load_current[..., count:, None])[..., 0]
        return np.asarray(E - drop)


def _rings(G: Array, H: Array, inner: np.ndarray, rings: np.ndarray) -> tuple[Array, Array]:
    """Ring currents are -(first M module currents) - (second J)."""
    if not len(rings):
        lead = G.shape[:-2]
        return np.zeros((*lead, 0, len(inner))), np.zeros((*lead, 0, H.shape[-1]))
    Grr = np.linalg.inv(G[..., rings[:, None], rings])
    return Grr @ G[..., rings[:, None], inner], Grr @ H[..., rings, :]


def _one_load(A: Array, d: Array, on: np.ndarray | None) -> View:
    """Return the view of the usual case: one load, fed by all loops."""
    a = A @ d
    y = a @ d
    if on is not None:
        y = np.where(on.any(axis=-1), y, 1.0)
    u = a / y[..., None]
    K = A - a[..., :, None] * u[..., None, :]
    return View(K, u[..., :, None], u[..., None, :], 1.0 / y[..., None, None], np.concatenate([K, u[..., None, :]], -2))
