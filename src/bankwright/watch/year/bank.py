"""The bank under that house: currents and voltages of every module, all days side by side.

Gives: Truth, true_bank(), lived(). Each module: open-circuit curve, ohmic and two relaxing resistances that follow the
temperature of the season, spread as modules of one kind are; the wiring is the bank's own network, in which one joint
may grow. The currents follow from the network at every step.
Limits: no hysteresis of the curve, no top and no bottom of the charge, modules that warm alike; each day begins rested
and at the same charge. Spreads and sensors are assumptions, nothing of it was measured on a module.
Sources: Kirchhoff's laws over the bank's network [stated law]; resistances and curve as everywhere (circuit/run).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bankwright.bank.model import Bank
from bankwright.circuit.network import Array
from bankwright.circuit.run.bank import bank_ports, parts_of
from bankwright.circuit.run.curves import curves_of, resistance_table
from bankwright.physics.cell import resistance_factor

__all__ = ["Truth", "lived", "true_bank"]

START_SOC, CAPACITY = 0.6, 100.0  # of every day; Ah where none is given
SPREAD_OHM, SPREAD_WIRE, SPREAD_CHARGE = 0.05, 0.1, 0.01  # one standard deviation, share
MEAN_DEGC, SEASON_KELVIN = 18.0, 7.0


@dataclass(frozen=True, eq=False, slots=True)
class Truth:
    """What nobody sees: resistances of each module, capacity, the wiring's elements and their ways. SI, Ah."""

    names: tuple[str, ...]
    cells: int
    curve: tuple[Array, Array]  # share of charge, V of a cell
    ohmic: Array  # (module,)
    metal: Array
    quick: Array
    slow: Array
    times: tuple[float, float]  # s
    capacity: Array
    elements: tuple[str, ...]
    ohms: Array  # (element,)
    ways: Array  # (element, module): part of a module's current that flows through it

    def loops(self, growth: dict[str, float]) -> Array:
        """Resistance of the wiring in the modules' loops (module, module), with these elements grown. [ohm]"""
        ohms = self.ohms.copy()
        for name, more in growth.items():
            ohms[self.elements.index(name)] += more
        return np.asarray(np.einsum("e,em,en->mn", ohms, self.ways, self.ways))


def true_bank(bank: Bank, draw: np.random.Generator) -> Truth:
    """Draw a bank as this file describes it."""
    ports, network, _ = bank_ports(bank)
    if network is None or ports.edge_of_module is None:
        raise ValueError("a wiring of unknown cables carries no pretend year")
    parts = [parts_of(module) for module in bank.modules]
    count = len(parts)

    def about(values: list[float]) -> Array:
        return np.asarray(np.array(values) * (1 + SPREAD_OHM * draw.standard_normal(count)))

    own = np.array([element.kind == "module" for element in network.elements])
    spread = 1 + SPREAD_WIRE * draw.standard_normal(len(own))
    curve = curves_of(bank.modules[0].kind)[0].table
    return Truth(
        tuple(module.name for module in bank.modules), parts[0].cells, (np.array(curve[0]), np.array(curve[1])),
        about([part.ohmic.nominal - part.metal for part in parts]), np.array([part.metal for part in parts]),
        about([part.quick for part in parts]), about([part.slow for part in parts]),
        (parts[0].quick_time, parts[0].slow_time),
        np.array([part.capacity_ah or CAPACITY for part in parts])
        * (1 + SPREAD_CHARGE * draw.standard_normal(count)),
        tuple(element.name for element in network.elements), np.where(own, 0.0, network.resistances() * spread),
        np.asarray(ports.edge_of_module)[network.edge_of],
    )  # fmt: skip


def lived(truth: Truth, power: Array, step: float, loops: Array, degc: Array) -> tuple[Array, Array]:
    """Currents and voltages (day, step, module) under power (day, step) [W], wiring (day, module, module), degC (day,).

    A current flows unchanged through a step; what is given stands at its end. Days are independent of each other: each
    begins rested and at the same charge.
    """
    days, steps = power.shape
    factor = resistance_factor(degc, *resistance_table())[:, None]
    keep, gone = zip(*((np.exp(-step / time), 1 - np.exp(-step / time)) for time in truth.times), strict=True)
    quick, slow = factor * truth.quick, factor * truth.slow
    whole = factor * truth.ohmic + truth.metal + gone[0] * quick + gone[1] * slow  # what stands at the end of a step
    inverse = np.linalg.inv(loops + whole[:, :, None] * np.eye(len(truth.names)))
    share = inverse.sum(axis=2)
    total = share.sum(axis=1)
    soc = np.full((days, len(truth.names)), START_SOC)
    one, two = np.zeros_like(soc), np.zeros_like(soc)
    bus = np.full(days, 3.3 * truth.cells)
    current, voltage = np.empty((days, steps, len(truth.names))), np.empty((days, steps, len(truth.names)))
    for k in range(steps):
        emf = np.interp(soc, *truth.curve) * truth.cells - keep[0] * one - keep[1] * two
        bus = ((share * emf).sum(axis=1) - power[:, k] / bus) / total
        amps = (inverse @ emf[:, :, None])[:, :, 0] - share * bus[:, None]
        current[:, k], voltage[:, k] = amps, emf - whole * amps
        one = keep[0] * one + gone[0] * quick * amps
        two = keep[1] * two + gone[1] * slow * amps
        soc = soc - amps * (step / 3600) / truth.capacity
    return current, voltage
