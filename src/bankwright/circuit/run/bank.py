"""A bank made ready for runs: what each module brings, with its tolerance, and the ports of the wiring.

Gives: ModuleParts, parts_of(), branches(), run_limits(), bank_ports(). A resistance that was not given is taken from a
published range and marked assumed; the slow branch is never on a data sheet and always is.
Limits: the wiring is taken cold (20 degC); a bank whose cables are not given has wiring of 0 ohm, which makes currents
between modules too high, never too low, and is said so.
Sources: handbook tables lfp/resistance-capacity, lfp/module-default;
metal of a module 0 to 4 mohm [common practice, no source].
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from bankwright.bank.model import Bank, Module
from bankwright.bank.model_kinds import ModuleKind
from bankwright.circuit.errors import CircuitError
from bankwright.circuit.network import Array, Network
from bankwright.circuit.of_bank.network import network_of
from bankwright.circuit.run.modules import Limits
from bankwright.circuit.run.ports import Ports
from bankwright.forms.checks import NeedsValue
from bankwright.forms.origin import FileKey, Origin
from bankwright.forms.toleranced import Toleranced, exact
from bankwright.handbook.cells import relaxation
from bankwright.handbook.tables import load

__all__ = ["ModuleParts", "bank_ports", "branches", "parts_of", "run_limits"]

METAL = (0.0, 4e-3)  # ohm, switches, shunt and terminals inside a module; common practice, no source
SMALLEST_BRANCH = 1e-4  # ohm


Branch = tuple[Sequence[float] | Array, Sequence[float]]  # resistance and time constant of each module


@dataclass(frozen=True, slots=True)
class ModuleParts:
    """Resistances of one module post to post at 25 degC, and its capacity."""

    name: str
    cells: int
    capacity_ah: float | None
    ohmic: Toleranced
    ohmic_origin: Origin
    ohmic_assumed: bool
    metal: float  # part of the ohmic resistance outside the cells
    quick: float  # first branch, so that the value after some seconds is met
    slow: float  # second branch
    branches_assumed: bool
    quick_time: float  # s
    slow_time: float  # s


def parts_of(module: Module) -> ModuleParts:
    """What a module brings; its own factor and measured capacity go before those of its kind."""
    kind, given = module.kind, module.kind.resistance
    capacity = module.capacity_ah or kind.capacity_ah
    by = module.resistance_factor or exact(1.0)
    usual = relaxation(kind.cells, capacity or 100.0)
    ohmic, origin = given.ohmic, FileKey(f"{kind.path}.resistance.ohmic")
    assumed = ohmic is None
    if ohmic is None:
        products = [load("lfp/resistance-capacity").value(row, "product") or 0.0 for row in _rows()]
        low, high = (products[i] * kind.cells / (capacity or 100.0) + METAL[i] for i in (0, 1))
        if given.dc is not None:
            low, high = min(low, given.dc.low), min(high, given.dc.high)
        ohmic, source = Toleranced((low + high) / 2, low, high), load("lfp/resistance-capacity").source
    slow, quick = usual.slow * by.nominal, usual.quick * by.nominal
    if given.dc is not None and not assumed:
        settled = 1 - np.exp(-given.after / usual.quick_time)
        part = given.dc.nominal - ohmic.nominal - slow / by.nominal * (1 - np.exp(-given.after / usual.slow_time))
        quick = max(float(part / settled), SMALLEST_BRANCH) * by.nominal
    metal = 0.0
    if given.dc is not None and given.cells is not None:
        metal = min(max(given.dc.nominal - given.cells.nominal, 0.0), 0.9 * ohmic.low)
    worn = Toleranced(ohmic.nominal * by.nominal, ohmic.low * by.low, ohmic.high * by.high)
    return ModuleParts(
        module.name, kind.cells, capacity, worn, source if assumed else origin, assumed, metal, quick, slow,
        given.dc is None or assumed, usual.quick_time, usual.slow_time,
    )  # fmt: skip


def branches(parts: Sequence[ModuleParts], scale: float | Array = 1.0) -> tuple[Branch, Branch]:
    """Quick and slow branch of each module for run_modules(), resistances times a scale (.., modules)."""
    quick, slow = (np.asarray(scale) * [getattr(part, name) for part in parts] for name in ("quick", "slow"))
    return (quick, [part.quick_time for part in parts]), (slow, [part.slow_time for part in parts])


def _rows() -> tuple[Any, ...]:
    return load("lfp/resistance-capacity").rows[:2]


def run_limits(modules: Sequence[Module], end: Literal["low", "nominal", "high"] = "nominal") -> Limits:
    """Limits of the modules' kinds; what a data sheet does not give is no limit here."""

    def column(read: Callable[[ModuleKind], Toleranced | float | None], missing: float) -> np.ndarray:
        values = [read(module.kind) for module in modules]
        plain = [getattr(v, end) if isinstance(v, Toleranced) else v for v in values]
        return np.array([missing if v is None else v for v in plain], dtype=float)

    inf = np.inf
    return Limits(
        discharge_trip=column(lambda k: k.discharge.trip, inf),
        discharge_delay=column(lambda k: k.discharge.trip_delay, 0.0),
        charge_trip=column(lambda k: k.charge.trip, inf),
        charge_delay=column(lambda k: k.charge.trip_delay, 0.0),
        cell_high=column(lambda k: k.charge.cell_trip, inf),
        cell_low=column(lambda k: k.discharge.cell_trip, -inf),
        spread=column(lambda k: k.cell_spread, 0.0),
        charge_lowest_degc=column(lambda k: k.charge.lowest_degc if k.charge.inhibits else None, -inf),
        charge_highest_degc=column(lambda k: k.charge.highest_degc if k.charge.inhibits else None, inf),
        charge_trip_opens=np.array([m.kind.trips.charge != "still discharges" for m in modules]),
        discharge_trip_opens=np.array([m.kind.trips.discharge != "still charges" for m in modules]),
        reclose_after=column(lambda k: k.trips.reclose_delay, inf),
    )


def bank_ports(bank: Bank, end: Literal["nominal", "low", "high"] = "nominal") -> tuple[Ports, Network | None, str]:
    """Ports of the wiring, its network (None where the wiring is left out) and a word on what was left out."""
    names = tuple(module.name for module in bank.modules)
    try:
        network = network_of(bank, "ohmic")
        own = np.array([element.kind == "module" for element in network.elements])
        ohm = np.where(own, 0.0, network.resistances(end))
        return Ports.of_network(network, network.edge_resistances(ohm)), network, ""
    except (CircuitError, NeedsValue, ValueError) as error:
        bare = Ports.common_bar(np.zeros(len(names)), 0.0, names)
        return bare, None, f"Wiring left out, taken as 0 ohm, so the currents are at most these: {error}"
