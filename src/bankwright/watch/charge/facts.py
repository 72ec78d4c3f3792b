"""What the estimator needs of a bank: capacity, resistances of a cell, curves; and what is missing for it.

Gives: Facts, facts_of(). Everything of one cell; the metal of a module is kept apart, since it does not warm the cell's
way.
Limits: as circuit/run/bank: a resistance that is not given is taken from a published range.
Sources: circuit/run/bank, circuit/run/curves; handbook tables named there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.circuit.network import Array
from bankwright.circuit.run.bank import parts_of
from bankwright.circuit.run.curves import Curve, curves_of, resistance_table
from bankwright.forms.finding import Missing
from bankwright.physics.cell import resistance_factor
from bankwright.watch.charge.blocks import Resistances
from bankwright.watch.charge.library import CurveBand, library_curve

__all__ = ["Facts", "facts_of"]

BELIEVED = (-40.0, 100.0)  # degC; own choice


@dataclass(frozen=True, eq=False, slots=True)
class Facts:
    """Of the modules of one bank, in their order; of one cell, at 25 degC."""

    names: tuple[str, ...]
    capacity_ah: Array
    cells: Array
    resistances: Resistances  # of the cells
    metal: Array  # ohm a cell
    curves: tuple[Curve, ...]

    def factor(self, degc: Array) -> Array:
        """Resistance of the cells at a temperature over that at 25 degC; NaN counts as 25 degC, and so does nonsense.

        Beyond the ends of the table its end holds.
        """
        degrees, factors = resistance_table()
        with np.errstate(invalid="ignore"):
            told = np.isfinite(degc) & (degc > BELIEVED[0]) & (degc < BELIEVED[1])
        warm = np.clip(np.where(told, degc, 25.0), min(degrees), max(degrees))
        return np.asarray(resistance_factor(warm, degrees, factors))

    def curve(self, factor: float) -> CurveBand:
        """The curve that these cells may follow."""
        return library_curve(self.curves, factor, float((self.resistances.total * self.capacity_ah).mean()))

    @property
    def offset_volts(self) -> Array:
        """Overpotential of a cell that an offset of one capacity an hour makes. [V] (module,)"""
        return np.asarray((self.resistances.total + self.metal) * self.capacity_ah)


def facts_of(bank: Bank) -> tuple[Facts | None, tuple[Missing, ...]]:
    """Facts of a bank; None and what is missing, where no estimate can be made."""
    parts = [parts_of(module) for module in bank.modules]
    lacking = [
        asking(f"{module.kind.path}.capacity", "Without the capacity a charge cannot be told as a share of it.")
        for module, part in zip(bank.modules, parts, strict=True)
        if not part.capacity_ah
    ]
    if lacking or not parts:
        return None, tuple(dict.fromkeys(lacking))
    cells = np.array([part.cells for part in parts], dtype=float)
    metal = np.array([part.metal for part in parts]) / cells
    ohmic = np.array([part.ohmic.nominal for part in parts]) / cells - metal
    quick, slow = (np.array([getattr(part, name) for part in parts]) / cells for name in ("quick", "slow"))
    resistances = Resistances(np.maximum(ohmic, 0.0), quick, parts[0].quick_time, slow, parts[0].slow_time)
    curves = {curve.name: curve for module in bank.modules for curve in curves_of(module.kind)}
    names = tuple(module.name for module in bank.modules)
    capacity = np.array([part.capacity_ah for part in parts], dtype=float)
    return Facts(names, capacity, cells, resistances, metal, tuple(curves.values())), ()
