"""Limits of modules, each with the key it came from: continuous and trip currents, both ways.

Gives: Side, side_of(), continuous_limit(), trip_low(), trip_input(), limit_input().
Limits: a trip stated without tolerance counts 10 % early (circuit/trips).
"""

from __future__ import annotations

from typing import Literal

from bankwright.bank.asks import wanted
from bankwright.bank.model import Bank, Module
from bankwright.circuit.trips import low_end
from bankwright.forms.finding import Input
from bankwright.forms.trace import given
from bankwright.forms.wording import Figure

__all__ = ["Side", "continuous_limit", "limit_input", "side_of", "trip_input", "trip_low"]

Side = Literal["discharge", "charge"]


def side_of(case: str) -> Side:
    """Side that a case loads."""
    return "charge" if case.startswith("full charge") else "discharge"


def continuous_limit(module: Module, side: Side) -> float:
    """Continuous limit of a module; NeedsValue when the kind is silent."""
    limits = module.kind.discharge if side == "discharge" else module.kind.charge
    return wanted(limits.continuous, f"{module.kind.path}.{side}.continuous")


def limit_input(bank: Bank, module: Module, side: Side) -> Input:
    """The limit as an input of a finding."""
    value = continuous_limit(module, side)
    key = bank.key(f"{module.kind.path}.{side}.continuous")
    return given("I_cont", f"continuous {side} limit of {module.kind.name}", value, "current", key)


def trip_low(module: Module, side: Side) -> float:
    """Low end of the trip current."""
    limits = module.kind.discharge if side == "discharge" else module.kind.charge
    return low_end(wanted(limits.trip, f"{module.kind.path}.{side}.trip"))


def trip_input(bank: Bank, module: Module, side: Side) -> Input:
    """The trip current as an input of a finding, at its low end."""
    key = bank.key(f"{module.kind.path}.{side}.trip")
    name = f"{side} trip of {module.kind.name}, low end"
    return Input("I_trip", name, Figure(trip_low(module, side), "current"), key)
