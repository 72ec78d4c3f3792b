"""The numbers behind a steady case: conductors at the temperature of their own current, cells at that of the case.

Gives: steady_behind(). Limits: of the case as solved, at one end of what stands in for missing values.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from bankwright.bank.model import Bank, Inverter, Load
from bankwright.circuit.network import Network
from bankwright.circuit.of_bank.cell_part import REFERENCE_DEGC
from bankwright.circuit.of_bank.warming import Warmth
from bankwright.circuit.solution import Solution
from bankwright.circuit.steady import Steady
from bankwright.plan.behind.parts import parts_of
from bankwright.plan.behind.rows import Behind, Draw, Part, Row

__all__ = ["steady_behind"]


def steady_behind(each: Steady, solution: Solution, words: str) -> Behind:
    """Rows of every conductor and module, draws of everything that takes or gives."""
    case, network = solution.case, solution.network
    cells = REFERENCE_DEGC if case.temperature_degc is None else case.temperature_degc
    degc = each.warmth(network).metal_degc(solution.edge_current)
    degc = np.where([element.kind == "module" for element in network.elements], cells, degc)
    rows = []
    for place, edge in enumerate(network.edges):
        if edge.kind == "load" or solution.dead[place]:
            continue
        parts = parts_of(each.bank, network, place, solution.resistance, degc, question=case.resistance)
        parts = tuple(_warmed(each.warmth(network), network, part) for part in parts)
        emf = float(solution.emf[network.module_names.index(edge.name)]) if edge.kind == "module" else 0.0
        current, ohm = float(solution.edge_current[place]), sum(part.ohm for part in parts)
        rows.append(Row(edge.name, edge.kind, edge.tail, edge.head, emf, ohm, current, parts))
    return Behind(case.name, words, cells, tuple(rows), tuple(_draws(each.bank, solution)))


def _warmed(warmth: Warmth, network: Network, part: Part) -> Part:
    """A stretch of cable with the law of its temperature: air + rise (I / column)^2."""
    place = network.element_index[part.name]
    if part.kind != "conductor" or not np.isfinite(warmth.column[place]):
        return part
    air, rise, column = (float(row[place]) for row in (warmth.air, warmth.rise, warmth.column))
    return replace(part, note=f"{part.note}; {air:.5g} degC + {rise:.5g} K (I / {column:.5g} A)^2")


def _draws(bank: Bank, solution: Solution) -> Iterator[Draw]:
    network = solution.network
    for place in network.loads:
        edge = network.edges[place]
        if not solution.dead[place]:
            amps, volts = float(solution.edge_current[place]), solution.voltage(edge.name)
            yield Draw(edge.name, edge.tail, edge.head, amps, volts, _law(bank, edge.name, solution))


def _law(bank: Bank, name: str, solution: Solution) -> str:
    case = solution.case
    if name not in case.loads:
        return "idle in this case"
    users: tuple[Inverter | Load, ...] = (*bank.inverters, *bank.loads)
    user = next((each for each in users if each.name == name), None)
    if isinstance(user, Inverter):
        return _inverter_law(user, case.name, case.emf)
    if isinstance(user, Load) and user.power is not None:
        return f"{user.power:.5g} W at its volts"
    return "current as given"


def _inverter_law(inverter: Inverter, case: str, emf: str) -> str:
    kind = inverter.kind
    power = kind.surge_power if case.startswith("surge") else kind.power
    if power is None or kind.efficiency is None:
        return "power or efficiency stands in"
    at = "its volts" if emf != "held" or kind.lowest_voltage is None else f"{kind.lowest_voltage:.5g} V, its lowest"
    return f"{power:.6g} W / efficiency {kind.efficiency:.5g} / {at}"
