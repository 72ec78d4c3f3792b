"""The operating conditions that a bank is solved for, by name.

Gives: case_names(), continuous_names(), case_of(), away(), opened(), emf_of(). Names: "full discharge", "full
discharge at lowest voltage", "full discharge at highest voltage", "surge", "full charge", and these with one thing
changed: "full charge, M3 charge blocked", "full discharge at lowest voltage, L2+ open".
"At lowest voltage": every inverter draws P / (efficiency x its lowest input voltage), its largest continuous current;
the emf is whatever holds that voltage. Continuous: that case and full charge, whole, one module away, one link open.
Limits: shorts are in circuit/shorts, time in circuit/run. A value that was not given: NeedsValue, for that case only.
Sources: 3.2, 3.65 and 3.0 V a cell nominal, full and empty [common practice, no source].
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Literal

import numpy as np

from bankwright.bank.model import Bank, Inverter, Load
from bankwright.circuit.errors import NeedsValue
from bankwright.circuit.laws import Current, Law, Power
from bankwright.circuit.network import Array
from bankwright.circuit.solution import Case

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
    "opened",
]

FULL = "full discharge"
LOWEST = "full discharge at lowest voltage"
HIGHEST = "full discharge at highest voltage"
SURGE = "surge"
CHARGE = "full charge"
Away = Literal["open", "charge blocked", "discharge blocked"]
AWAYS: tuple[Away, ...] = ("open", "charge blocked", "discharge blocked")
CELL_VOLTAGE = {"nominal": 3.2, "full": 3.65, "empty": 3.0, "held": 3.2}  # V a cell


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
    base, _, change = name.partition(", ")
    if name not in case_names(bank):
        raise KeyError(name)
    case = _base(bank, base)
    if not change:
        return case
    thing, _, way = change.partition(" ")
    if thing in {module.name for module in bank.modules}:
        return away(case, thing, next(known for known in AWAYS if known == way))
    return opened(case, bank, thing)


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
        empty = float(emf_of(bank, "empty").min())
        least = min((i.kind.lowest_voltage or empty for i in inverters.values()), default=empty)
        draws: dict[str, Law] = {key: _draw(load, least) for key, load in others.items()}
        return Case(LOWEST, held | draws, emf="held")
    powers: dict[str, Law] = {key: Power(_dc_power(inverter, name == SURGE)) for key, inverter in inverters.items()}
    powers |= {key: _draw(load, None) for key, load in others.items()}
    if name == SURGE:
        return Case(SURGE, powers, emf="empty", resistance="surge", temperature_degc=bank.site.ambient_low_degc)
    return Case(name, powers, emf="full" if name == HIGHEST else "nominal")


def _given(value: float | None, key: str, how: str) -> float:
    if value is None:
        raise NeedsValue(key, how)
    return value


def _dc_power(inverter: Inverter, surge: bool) -> float:
    kind, key = inverter.kind, "surge_power" if surge else "power"
    sheet = "Read it on the inverter's data sheet."
    power = _given(kind.surge_power if surge else kind.power, f"{kind.path}.{key}", sheet)
    return power / _given(kind.efficiency, f"{kind.path}.efficiency", f"{sheet} At rated power, as a share.")


def _lowest_current(inverter: Inverter) -> float:
    how = "Lowest input voltage that still gives rated power: read it on the data sheet or ask the maker."
    return _dc_power(inverter, False) / _given(
        inverter.kind.lowest_voltage, f"{inverter.kind.path}.lowest_voltage", how
    )


def _charge_current(bank: Bank, name: str) -> float:
    kind = next(charger.kind for charger in bank.chargers if charger.name == name)
    return _given(kind.current, f"{kind.path}.current", "Largest charging current: read it on the data sheet.")


def _draw(load: Load, voltage: float | None) -> Law:
    if load.current is not None:
        return Current(load.current)
    power = _given(load.power, f"{load.origin.path}.power", "Give the power or the current of the load.")
    if voltage is None:
        return Power(power)
    return Current(power / voltage)


def emf_of(bank: Bank, emf: str) -> Array:
    """Open-circuit voltage of every module under a name of the case: nominal, full, empty, held (before it is held)."""
    cells = np.array([module.kind.cells for module in bank.modules], dtype=np.float64)
    if emf == "full":
        return cells * [module.kind.charge.cell_full or CELL_VOLTAGE["full"] for module in bank.modules]
    return cells * CELL_VOLTAGE[emf]
