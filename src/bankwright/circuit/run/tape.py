"""What a run writes down: its nodes in growing arrays.

Gives: Tape. One row a node; the same time stands twice where currents jump.
"""

from __future__ import annotations

import numpy as np

from bankwright.circuit.run.step import Node, Rig
from bankwright.circuit.run.stretch import Stretch

__all__ = ["Tape"]


class Tape:
    """Nodes written one after another into growing arrays."""

    def __init__(self, rig: Rig, loads: int) -> None:
        """Begin an empty tape."""
        m = rig.modules
        self.metal, self.cells, self.count = m.metal, m.ohmic_cells, 0
        self.time = np.empty(256)
        self.state = np.empty((256, 6, *rig.shape))  # state of charge, branches, current, voltage, temperature
        self.load = np.empty((256, 2, *rig.lead, loads))

    def _room(self, rows: int) -> None:
        while self.count + rows > len(self.time):
            self.time = np.concatenate([self.time, np.empty_like(self.time)])
            self.state = np.concatenate([self.state, np.empty_like(self.state)])
            self.load = np.concatenate([self.load, np.empty_like(self.load)])

    def add(self, node: Node) -> None:
        """Write a node."""
        self._room(1)
        n = self.count
        self.time[n] = node.time
        row = self.state[n]
        row[:3] = node.Y
        row[3] = node.current
        row[4] = node.E - (self.metal + self.cells * node.factor) * node.current
        row[5] = node.temperature
        self.load[n, 0], self.load[n, 1] = node.J, node.U
        self.count = n + 1

    def add_many(self, found: Stretch) -> None:
        """Write the nodes of a stretch but its first and its last."""
        rows = len(found.time)
        self._room(rows)
        part = slice(self.count, self.count + rows)
        self.time[part] = found.time
        row = self.state[part]
        row[:, :3] = np.moveaxis(found.Y, 0, 1)
        row[:, 3] = found.current
        row[:, 4] = found.E - (self.metal + self.cells * found.state.factor) * found.current
        row[:, 5] = found.state.temperature
        self.load[part, 0, 0], self.load[part, 1, 0] = found.J, found.U
        self.count += rows
