"""Temperature of a cable's metal under its own current, and its resistance there.

Gives: Warming, Warmth. Law: physics/ampacity, rise over the air with the square of the current from one published
point, T = T_air + (T_column - T_air_of_the_table) (I / I_column)^2; resistance: physics/conductor.
Limits: a size without a published point keeps the temperature of the air; joints and devices are taken cold.
Sources: the table named with each point; law of the ambient correction, f = sqrt((Tc - Ta)/(Tc - 30)) [derived].
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array, Network, frozen
from bankwright.physics.ampacity import conductor_temperature
from bankwright.physics.conductor import temperature_factor

__all__ = ["Warming", "Warmth"]

REFERENCE_DEGC = 20.0
MAX_METAL_DEGC = 250.0  # beyond the insulation's short-time limit the law says nothing; the iteration stays finite


@dataclass(frozen=True, slots=True)
class Warming:
    """Air around an element, and the published point: `rise` K at `current` A; current infinite when there is none."""

    air_degc: float
    rise: float = 0.0
    current: float = np.inf


@dataclass(frozen=True, eq=False, slots=True)
class Warmth:
    """The law for all elements of a network at once."""

    edge_of: np.ndarray
    alpha: Array
    air: Array
    rise: Array  # K
    column: Array  # A that make this rise

    @classmethod
    def of(cls, network: Network, warming: Mapping[str, Warming]) -> Warmth:
        """Collect the points; an element without one stays at 20 degC."""
        points = [warming.get(element.name, Warming(REFERENCE_DEGC)) for element in network.elements]
        alpha = frozen([element.alpha for element in network.elements])
        air, rise, column = (
            frozen([getattr(point, name) for point in points]) for name in ("air_degc", "rise", "current")
        )
        return cls(network.edge_of, alpha, air, rise, column)

    def metal_degc(self, edge_current: Array) -> Array:
        """Temperature of the metal of every element (..., elements) at edge currents (..., edges)."""
        warm = conductor_temperature(edge_current[..., self.edge_of], self.column, self.rise, self.air, basis_degc=0.0)
        return np.minimum(warm, MAX_METAL_DEGC)

    def factor(self, edge_current: Array) -> Array:
        """Resistance of every element over that at 20 degC (..., elements)."""
        return np.asarray(temperature_factor(self.metal_degc(edge_current), self.alpha))
