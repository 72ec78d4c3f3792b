"""Corners of the tolerances: one module's resistance at its low end, all others at their high end.

Gives: corners() (modules, modules): row k is the corner of module k, columns are module currents.
Limits: conductors at the temperature of the nominal solution; equal open-circuit voltage.
Source: derived: in a parallel bank a module's current is largest when its own branch is lowest and the others
highest.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bankwright.circuit.steady import Steady

if TYPE_CHECKING:
    from bankwright.circuit.network import Array

__all__ = ["corners"]


def corners(steady: Steady, case: str) -> Array:
    """Module currents in the corner of each module, one batch."""
    import numpy as np

    from bankwright.circuit.solve import currents

    nominal = steady.case(case)
    network = nominal.network
    hot = steady.warmth(network).factor(nominal.edge_current)
    low, high = network.resistances("low") * hot, network.resistances("high") * hot
    places = [network.element_index[name] for name in network.module_names]
    batch = np.tile(network.resistances() * hot, (len(places), 1))
    batch[:, places] = high[places]
    for row, place in enumerate(places):
        batch[row, place] = low[place]
    found, _ = currents(network, nominal.cases[0], batch, nominal.emf)
    return np.asarray(found[:, list(network.modules)])
