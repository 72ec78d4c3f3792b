"""Corners of the tolerances: one module's resistance at its low end, all others at their high end.

Gives: corners_of(), corners() (modules, modules): row k is the corner of module k, columns are module currents.
Limits: conductors at the temperature of the nominal solution; equal open-circuit voltage.
Source: derived: in a parallel bank a module's current is largest when its own branch is lowest and the others
highest.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from bankwright.circuit.cases import case_of, emf_of
from bankwright.circuit.steady import Steady
from bankwright.plan.context import Plan
from bankwright.plan.once import once

if TYPE_CHECKING:
    from bankwright.circuit.network import Array

__all__ = ["corners", "corners_of"]


@once
def corners_of(plan: Plan, case: str) -> tuple[Array, ...]:
    """Corners of a case at every end of what is missing, kept once solved."""
    return tuple(corners(each, case) for line in plan.steadies for each in line)


def corners(steady: Steady, case: str) -> Array:
    """Module currents in the corner of each module, one batch."""
    import numpy as np

    from bankwright.circuit.solver.solve import currents

    nominal = case_of(steady.bank, case)
    network = steady.network_for(nominal.resistance, nominal.temperature_degc)
    hot = steady.warmth(network).factor(steady.edge_current(case))
    low, high = network.resistances("low") * hot, network.resistances("high") * hot
    places = [network.element_index[name] for name in network.module_names]
    batch = np.tile(network.resistances() * hot, (len(places), 1))
    batch[:, places] = high[places]
    for row, place in enumerate(places):
        batch[row, place] = low[place]
    found, _ = currents(network, nominal, batch, emf_of(steady.bank, nominal.emf))
    return np.asarray(found[:, list(network.modules)])
