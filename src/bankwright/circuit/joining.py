"""Order of closing the breakers of a bank at rest: currents of every order, the gentlest one, the largest difference.

Gives: Joining: currents(), step_ratio(), orders(), gentlest(), largest_difference(). Modules are closed one after the
other onto those already joined, quickly, so that nothing has levelled: the currents at once of each set of modules.
Up to six modules every order is looked at; beyond, a good one is built step by step from every start.
Limits: no time here (circuit/run); only the ohmic resistance acts in the first instant.
Source: Ohm's and Kirchhoff's laws on the bank's network [stated law].
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import permutations

import numpy as np

from bankwright.circuit.network import Array
from bankwright.circuit.run.ports import Ports

__all__ = ["ALL_ORDERS", "Joining", "Order"]

ALL_ORDERS = 6  # modules up to which every order is looked at
STILL = 1e-9  # A


@dataclass(frozen=True, slots=True)
class Order:
    """An order of closing, with the worst ratio of a current to its limit, and after which closing it occurs."""

    names: tuple[str, ...]
    ratio: float
    step: int
    at: str
    current: float


@dataclass(frozen=True, eq=False)
class Joining:
    """Modules at rest with voltages (M,), ohmic resistances and limits of current; limits are positive numbers."""

    ports: Ports
    emf: Array
    resistance: Array
    charge_limit: Array
    discharge_limit: Array
    _matrix: dict[frozenset[int], Array] = field(default_factory=dict, repr=False)

    def matrix(self, joined: frozenset[int]) -> Array:
        """Currents of a set of modules per volt of each emf (M, M)."""
        if joined not in self._matrix:
            on = np.isin(np.arange(len(self.emf)), list(joined))
            self._matrix[joined] = self.ports.view(self.resistance, on).K
        return self._matrix[joined]

    def currents(self, joined: frozenset[int]) -> Array:
        """Current of every module when exactly these are joined (M,); no load."""
        return np.asarray(self.matrix(joined) @ self.emf)

    def step_ratio(self, joined: frozenset[int]) -> tuple[float, int, float]:
        """Worst ratio of current to limit, the module it occurs at, and its current."""
        i = self.currents(joined)
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where(i < 0, -i / self.charge_limit, i / self.discharge_limit)
        ratio = np.where(np.abs(i) < STILL, 0.0, ratio)
        worst = int(np.argmax(ratio))
        return float(ratio[worst]), worst, float(i[worst])

    def order(self, sequence: tuple[int, ...]) -> Order:
        """Weigh one order by its worst step."""
        worst, at, current, step = -1.0, sequence[0], 0.0, 1
        for count in range(2, len(sequence) + 1):
            ratio, module, amps = self.step_ratio(frozenset(sequence[:count]))
            if ratio > worst * (1 + 1e-12):
                worst, at, current, step = ratio, module, amps, count
        names = self.ports.names
        return Order(tuple(names[k] for k in sequence), max(worst, 0.0), step, names[at], current)

    def orders(self) -> Iterator[Order]:
        """Every order up to six modules (the first two count once); else the good one from every start."""
        count = len(self.emf)
        if count <= ALL_ORDERS:
            yield from (self.order(p) for p in permutations(range(count)) if count < 2 or p[0] < p[1])
        else:
            yield from (self.order(self._grown(start)) for start in range(count))

    def _grown(self, start: int) -> tuple[int, ...]:
        """Add, step by step, the module whose closing loads the limits least."""
        sequence = [start]
        while len(sequence) < len(self.emf):
            rest = [k for k in range(len(self.emf)) if k not in sequence]
            sequence.append(min(rest, key=lambda k: self._cost(frozenset([*sequence, k]))))
        return tuple(sequence)

    def _cost(self, joined: frozenset[int]) -> float:
        return self.step_ratio(joined)[0]

    def gentlest(self) -> Order:
        """The order whose worst step is smallest; of equals the one whose steps add up to least."""
        index = {name: k for k, name in enumerate(self.ports.names)}

        def key(order: Order) -> tuple[float, float]:
            sequence = [index[name] for name in order.names]
            every = (self.step_ratio(frozenset(sequence[:n]))[0] for n in range(2, len(sequence) + 1))
            return round(order.ratio, 9), sum(every)

        return min(self.orders(), key=key)

    def largest_difference(self, module: int, joined: frozenset[int]) -> tuple[float, float]:
        """Volts by which a module may lie above, and below, a joined bank at one voltage before a limit is reached."""
        response = self.matrix(joined | {module})[:, module]
        up, down = np.maximum(response, 0.0), np.maximum(-response, 0.0)
        with np.errstate(divide="ignore"):
            above = np.minimum(self.discharge_limit / up, self.charge_limit / down)
            below = np.minimum(self.charge_limit / up, self.discharge_limit / down)
        return float(above.min()), float(below.min())
