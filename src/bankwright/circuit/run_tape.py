"""What a run writes down: its nodes in growing arrays, and an account of energy.

Gives: Tape, Ledger. The ledger takes Simpson's rule over every step, with the state at its middle computed for it.
Limits: the ledger costs one more step computed a step; a run keeps it only when asked.
"""

from __future__ import annotations

import numpy as np

from bankwright.circuit.network import Array
from bankwright.circuit.run_step import Node, Stepper

__all__ = ["Ledger", "Tape"]


class Tape:
    """Nodes written one after another into growing arrays."""

    def __init__(self, shape: tuple[int, ...], loads: int, every: float | None) -> None:
        """Keep all nodes, or about one in `every` seconds and those of events."""
        self.every, self.next, self.count = every, 0.0, 0
        lead = shape[:-1]
        self.time = np.empty(256)
        self.state = np.empty((256, 6, *shape))
        self.load = np.empty((256, 2, *lead, loads))

    def add(self, node: Node, stepper: Stepper, keep: bool = False) -> None:
        """Write a node unless it is too near to the last one kept."""
        if not keep and self.every is not None and node.time < self.next:
            return
        if self.every is not None:
            self.next = (np.floor(node.time / self.every + 1e-9) + 1) * self.every
        if self.count == len(self.time):
            self.time = np.concatenate([self.time, np.empty_like(self.time)])
            self.state = np.concatenate([self.state, np.empty_like(self.state)])
            self.load = np.concatenate([self.load, np.empty_like(self.load)])
        n, m = self.count, stepper.m
        self.time[n] = node.time
        row = self.state[n]
        row[:3] = node.Y
        row[3] = node.current
        row[4] = node.E - (m.metal + m.ohmic_cells * node.factor) * node.current
        row[5] = node.temperature
        self.load[n, 0], self.load[n, 1] = node.J, node.U
        self.count = n + 1


class Ledger:
    """Energy in and out, by Simpson's rule over every step; the state at its middle is computed for it."""

    def __init__(self, stepper: Stepper) -> None:
        """Start at nothing."""
        self.stepper = stepper
        self.start: Array | None = None
        self.load: float | Array = 0.0
        self.lost: float | Array = 0.0

    def add(self, node: Node, end: Node, h: float) -> None:
        """Add one step."""
        if self.start is None:
            self.start = self._held(node)
        tried = self.stepper.try_step(node, h / 2)
        middle = tried[0] if tried is not None else node
        for at, weight in ((node, h / 6), (middle, 2 * h / 3), (end, h / 6)):
            self.load = self.load + weight * np.sum(np.atleast_1d(at.U) * np.atleast_1d(at.J), axis=-1)
            ports = self.stepper.ports
            drop = (ports.passive @ at.current[..., None])[..., 0]
            J = np.atleast_1d(at.J)[..., len(ports.fed) :]
            across = (ports.across @ J[..., None])[..., 0] if J.shape[-1] else 0.0
            metal = ((drop + across) * at.current).sum(-1)
            if J.shape[-1]:
                own = (ports.own @ J[..., None])[..., 0] + (np.swapaxes(ports.across, -1, -2) @ at.current[..., None])[
                    ..., 0
                ]
                metal = metal + (own * J).sum(-1)
            self.lost = self.lost + weight * (self.stepper.heat(at, at.current).sum(-1) + metal)

    def _held(self, node: Node) -> Array:
        """Energy held by curve and branches."""
        m = self.stepper.m
        charge = (m.capacity * m.curves.energy(node.Y[0], m.shift)).sum(-1)
        one = np.divide(m.tau1, m.r1, out=np.zeros(m.r1.shape), where=m.r1 > 0) * node.Y[1] ** 2 / 2
        two = np.divide(m.tau2, m.r2, out=np.zeros(m.r2.shape), where=m.r2 > 0) * node.Y[2] ** 2 / 2
        return np.asarray(charge + (one + two).sum(-1))

    def closed(self, node: Node) -> dict[str, float | Array]:
        """Energy given by the modules, taken by loads, lost; in J."""
        start = self._held(node) if self.start is None else self.start
        return {"given": start - self._held(node), "taken": self.load, "lost": self.lost}
