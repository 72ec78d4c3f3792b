"""Voltages that checks rest on: V_max, the charging voltage of faults, the nominal voltage.

Gives: highest_voltage() (V_max), full_voltage() (E_hi), nominal_voltage(). V_max is the largest of
cells x over-voltage trip at its high end, the ceiling of every charger's range, the module's stated maximum.
Limits: where no cell trip is known, the end of charge of a cell stands in: "at least", and no verdict above caution.
Source of that: handbook table published/ranges.
"""

from __future__ import annotations

from bankwright.bank.asks import asking
from bankwright.bank.model import Module
from bankwright.forms.finding import Input, Missing
from bankwright.forms.trace import Traced, given
from bankwright.forms.wording import Figure
from bankwright.handbook.cells import cell_voltage
from bankwright.plan.context import Plan

__all__ = ["full_voltage", "highest_voltage", "nominal_voltage"]


def nominal_voltage(plan: Plan) -> float:
    """Of the modules, the highest."""
    return max(module.kind.nominal_voltage for module in plan.bank.modules)


def full_voltage(module: Module) -> float:
    """Charging voltage of a module, charge just stopped."""
    return module.kind.cells * (module.kind.charge.cell_full or cell_voltage("full").value)


def _of_module(plan: Plan, module: Module) -> tuple[Input, ...]:
    kind, key = module.kind, module.kind.path
    found = []
    if kind.charge.cell_trip is not None:
        value = kind.cells * kind.charge.cell_trip.high
        name = f"{kind.cells} cells at the over-voltage trip of {kind.name}"
        found.append(given("V", name, value, "voltage", plan.bank.key(f"{key}.charge.cell_trip")))
    if kind.charge.highest_voltage is not None:
        name = f"stated maximum of {kind.name}"
        found.append(
            given("V", name, kind.charge.highest_voltage, "voltage", plan.bank.key(f"{key}.charge.highest_voltage"))
        )
    if kind.charge.cell_trip is None:
        cell = cell_voltage("full")
        value, name = kind.cells * cell.value, f"{kind.cells} cells at {cell.value:g} V"
        settle = asking(f"{key}.charge.cell_trip")
        found.append(Input("V", name, Figure(value, "voltage", value), cell.origin, True, settle))
    return tuple(found)


def highest_voltage(plan: Plan) -> Traced:
    """V_max with what it rests on; a charger without a range is missing, a module without a trip assumed."""
    inputs: dict[Input, None] = {}
    missing: dict[Missing, None] = {}
    for module in plan.bank.modules:
        inputs.update(dict.fromkeys(_of_module(plan, module)))
    for charger in plan.bank.chargers:
        path = charger.kind.path
        if charger.kind.voltage_high is None:
            missing[asking(f"{path}.voltage")] = None
            continue
        name = f"ceiling of the range of {charger.name}"
        inputs[given("V", name, charger.kind.voltage_high, "voltage", plan.bank.key(f"{path}.voltage"))] = None
    figures = [item.figure.value for item in inputs if isinstance(item.figure, Figure)]
    value = max(figures)
    assumed = any(item.assumed for item in inputs)
    figure = Figure(value, "voltage", value, None) if missing or assumed else Figure(value, "voltage")
    return Traced(figure, tuple(inputs), tuple(missing), "highest voltage")
