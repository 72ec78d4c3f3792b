"""The operating conditions that a bank is solved for, by name.

Gives: case_names(), continuous_names(), case_of(), away(), opened(), emf_of(), parted_change(),
is_away(). Names: "full discharge", "full discharge at lowest voltage", "full discharge at highest voltage", "surge",
"full charge", and these with one thing changed: "full charge, M3 charge blocked", "full discharge at lowest voltage,
L2+ open".
"At lowest voltage": every inverter draws P / (efficiency x its lowest input voltage), its largest continuous current;
the emf is whatever holds that voltage; a load given as power draws what it takes at the cells' end of discharge.
Continuous: that case and full charge, whole, one module away, one link open.
Limits: shorts are in circuit/shorts, time in circuit/run. A value that was not given: NeedsValue, for that case only.
Sources: voltages of a cell nominal, full and empty: handbook table published/ranges.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Literal

import numpy as np

from bankwright.bank.asks import wanted
from bankwright.bank.model import Bank, Inverter, Load
from bankwright.circuit.network import Array
from bankwright.circuit.solution import Case
from bankwright.circuit.solver.laws import Current, Law, Power
from bankwright.handbook.cells import cell_voltage

__all__ = [
    "AWAYS",
    "CHARGE",
    "FULL",
    "HIGHEST",
    "LOWEST",
    "SURGE",
    "away",
    "case_names",
    "case_of",
    "continuous_names",
    "emf_of",
    "is_away",
    "is_case",
    "opened",
    "parted_change",
]

FULL = "full discharge"
LOWEST = "full discharge at lowest voltage"
HIGHEST = "full discharge at highest voltage"
SURGE = "surge"
CHARGE = "full charge"
Away = Literal["open", "charge blocked", "discharge blocked"]
AWAYS: tuple[Away, ...] = ("open", "charge blocked", "discharge blocked")
CELL = {"nominal": "nominal", "empty": "low working", "held": "nominal"}  # of handbook/cells


def _base_names(bank: Bank) -> Iterator[str]:
    if bank.inverters or bank.loads:
        yield from (FULL, LOWEST, HIGHEST, SURGE)
    if bank.chargers:
        yield CHARGE


def _changes(bank: Bank, base: str) -> Iterator[str]:
    for module in bank.modules:
        yield from (f"{base}, {module.name} {way}" for way in AWAYS)
    if base == SURGE:
        return
    names = [link.name for link in bank.links] + [device.name for device in bank.devices]
    yield from (f"{base}, {name} open" for name in names)


def continuous_names(bank: Bank) -> tuple[str, ...]:
    """Names of the continuous cases: what a conductor must carry for hours."""
    bases = [name for name in (LOWEST, CHARGE) if name in set(_base_names(bank))]
    return tuple(name for base in bases for name in (base, *_changes(bank, base)))


def case_names(bank: Bank) -> tuple[str, ...]:
    """Names of all steady cases."""
    bases = tuple(_base_names(bank))
    changed = [name for base in (SURGE,) if base in bases for name in _changes(bank, base)]
    return tuple(dict.fromkeys((*bases, *continuous_names(bank), *changed)))


def case_of(bank: Bank, name: str) -> Case:
    """Build a case from its name; KeyError for a name the bank does not have."""
    if not is_case(bank, name):
        raise KeyError(name)
    base, _, change = name.partition(", ")
    case = _base(bank, base)
    if not change:
        return case
    thing, way = parted_change(change)
    if thing in {module.name for module in bank.modules}:
        return away(case, thing, way)
    return opened(case, bank, thing)


def is_case(bank: Bank, name: str) -> bool:
    """Whether case_names() holds this name, without writing all of them down."""
    base, _, change = name.partition(", ")
    if base not in set(_base_names(bank)):
        return False
    if not change:
        return True
    if base not in (LOWEST, CHARGE, SURGE):
        return False
    thing, way = parted_change(change)
    if any(module.name == thing for module in bank.modules):
        return True
    others = (*(link.name for link in bank.links), *(device.name for device in bank.devices))
    return base != SURGE and way == "open" and thing in others


def parted_change(change: str) -> tuple[str, Away]:
    """Part "main shunt open" into the thing and its way; names hold spaces, so the known endings are taken off."""
    for way in AWAYS:
        if change.endswith(f" {way}"):
            return change.removesuffix(f" {way}"), way
    raise KeyError(change)


def is_away(bank: Bank, name: str) -> bool:
    """True for a case in which one module is away, in any of its three ways."""
    change = name.partition(", ")[2]
    return bool(change) and parted_change(change)[0] in {module.name for module in bank.modules}


def away(case: Case, module: str, way: Away) -> Case:
    """The same case with a module open, or with one direction of its current blocked."""
    name = f"{case.name}, {module} {way}"
    if way == "open":
        return replace(case, name=name, open=case.open | {module})
    only: Literal["charge", "discharge"] = "discharge" if way == "charge blocked" else "charge"
    return replace(case, name=name, only={**case.only, module: only})


def opened(case: Case, bank: Bank, thing: str) -> Case:
    """The same case with a link open, or with all links open that a device opens."""
    device = next((d for d in bank.devices if d.name == thing), None)
    links = {thing} if device is None else {device.on, *device.also_on}
    return replace(case, name=f"{case.name}, {thing} open", open=case.open | links)


def _base(bank: Bank, name: str) -> Case:
    if name == CHARGE:
        return Case(CHARGE, {charger.name: Current(-_charge_current(bank, charger.name)) for charger in bank.chargers})
    inverters, others = {i.name: i for i in bank.inverters}, {load.name: load for load in bank.loads}
    if name == LOWEST:
        held = {key: Current(_lowest_current(inverter)) for key, inverter in inverters.items()}
        end = _end_of_discharge(bank)
        draws: dict[str, Law] = {key: _draw(load, max(end, load.lowest_input or 0.0)) for key, load in others.items()}
        return Case(LOWEST, held | draws, emf="held")
    powers: dict[str, Law] = {key: Power(_dc_power(inverter, name == SURGE)) for key, inverter in inverters.items()}
    powers |= {key: _draw(load, None) for key, load in others.items()}
    if name == SURGE:
        return Case(SURGE, powers, emf="empty", resistance="surge", temperature_degc=bank.site.ambient_low_degc)
    return Case(name, powers, emf="full" if name == HIGHEST else "nominal")


def _dc_power(inverter: Inverter, surge: bool) -> float:
    kind, key = inverter.kind, "surge_power" if surge else "power"
    power = wanted(kind.surge_power if surge else kind.power, f"{kind.path}.{key}")
    return power / wanted(kind.efficiency, f"{kind.path}.efficiency")


def _lowest_current(inverter: Inverter) -> float:
    least = wanted(inverter.kind.lowest_voltage, f"{inverter.kind.path}.lowest_voltage")
    return _dc_power(inverter, False) / least


def _charge_current(bank: Bank, name: str) -> float:
    kind = next(charger.kind for charger in bank.chargers if charger.name == name)
    return wanted(kind.current, f"{kind.path}.current")


def _end_of_discharge(bank: Bank) -> float:
    """Voltage down to which a load is fed that works lower still: the cells' end of discharge. [V]"""
    cell = cell_voltage("empty").value
    return min(module.kind.cells * (module.kind.discharge.cell_empty or cell) for module in bank.modules)


def _draw(load: Load, voltage: float | None) -> Law:
    if load.current is not None:
        return Current(load.current)
    power = wanted(load.power, f"{load.origin.path}.power")
    if voltage is None:
        return Power(power)
    return Current(power / voltage)


def emf_of(bank: Bank, emf: str) -> Array:
    """Open-circuit voltage of every module under a name of the case: nominal, full, empty, held (before it is held)."""
    cells = np.array([module.kind.cells for module in bank.modules], dtype=np.float64)
    if emf == "full":
        return cells * [module.kind.charge.cell_full or cell_voltage("full").value for module in bank.modules]
    return cells * cell_voltage(CELL[emf]).value
