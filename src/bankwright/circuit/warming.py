"""Temperature of a cable's metal under its own current, and its resistance there.

Gives: Warming, warmed(). Law: rise over the air grows with the square of the current from one published point,
T = T_air + (T_column - T_air_of_the_table) (I / I_column)^2.
Limits: a size without a published point keeps the temperature of the air; joints and devices are taken cold.
Sources: the table named with each point; law of the ambient correction, f = sqrt((Tc - Ta)/(Tc - 30)) [derived].
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array, Network

__all__ = ["Warming", "warmed"]

REFERENCE_DEGC = 20.0
MAX_METAL_DEGC = 250.0  # beyond the insulation's short-time limit the law says nothing; the iteration stays finite


@dataclass(frozen=True, slots=True)
class Warming:
    """Air around an element, and the published point: `rise` K at `current` A; current infinite when there is none."""

    air_degc: float
    rise: float = 0.0
    current: float = np.inf


def warmed(network: Network, warming: Mapping[str, Warming], edge_current: Array) -> Array:
    """Resistance of every element over that at 20 degC (..., elements), for edge currents (..., edges)."""
    known = [warming.get(element.name) for element in network.elements]
    alpha = np.array([element.alpha for element in network.elements])
    air = np.array([w.air_degc if w else REFERENCE_DEGC for w in known])
    rise = np.array([w.rise if w else 0.0 for w in known])
    scale = np.array([w.current if w else np.inf for w in known])
    metal = np.minimum(air + rise * (edge_current[..., network.edge_of] / scale) ** 2, MAX_METAL_DEGC)
    return np.asarray(1.0 + alpha * (metal - REFERENCE_DEGC))
