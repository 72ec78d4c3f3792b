"""What to set at an inverter: discharge current, low stop, restart.

Gives: discharge_rows(). The low stop lies above cells x under-voltage trip plus what the other cells stand higher near
empty, as read at no load: drop is never taken off it.
Limits: the rebound is that of the resistance of the sheet; empty cells creep up further for hours.
Sources: sheet of the module; 3.0 and 3.10 V a cell: published ranges; common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Inverter, Module
from bankwright.forms.finding import Input, Missing
from bankwright.forms.origin import Source
from bankwright.forms.trace import given, volts
from bankwright.forms.wording import Figure, say
from bankwright.handbook.cells import cell_voltage
from bankwright.prove.settings.charge_rows import current_row, top
from bankwright.prove.settings.setting import Entered, Held, Setting

__all__ = ["discharge_rows"]

STOP = Source("under-voltage trip and cell spread near empty of the module's sheet", how_known="derived")
REBOUND = Source("bank's network at full load, one module away, resistances at their high end", how_known="derived")
FLAT = 3.10  # V a cell, the low end of the flat part under load; common practice, no source


def discharge_rows(
    bank: Bank, inverter: Inverter, held: Held, rebound: float | tuple[Missing, ...], entered: Mapping[str, Entered]
) -> Iterator[Setting]:
    """Rows of one inverter; `rebound` in volts, or what it lacks; what was set as low stop moves the restart."""
    name = inverter.name
    own, taken = _own(inverter), sum(load.current or 0.0 for load in bank.loads)
    kind = inverter.kind
    silent = "power" if kind.power is None else "efficiency" if kind.efficiency is None else "lowest_voltage"
    together = "All inverters together" if len(bank.inverters) > 1 else "The only inverter"
    yield current_row(name, "discharge current", held, own, f"{kind.path}.{silent}", together=together, taken=taken)
    stop = _stop(bank, inverter)
    yield stop
    set_there = entered.get(stop.id)
    yield _restart(bank, name, stop, None if set_there is None else set_there.value, rebound)


def _own(inverter: Inverter) -> float | None:
    """Largest continuous current of an inverter, at its lowest voltage. [A]"""
    kind = inverter.kind
    if kind.power is None or kind.efficiency is None or kind.lowest_voltage is None:
        return None
    return kind.power / kind.efficiency / kind.lowest_voltage


def _least(module: Module) -> tuple[float | None, tuple[Missing, ...]]:
    """Voltage at no load below which the weakest cell may be at its trip: all others one spread higher. [V]"""
    kind, path = module.kind, f"{module.kind.path}.discharge"
    trip, spread = kind.discharge.cell_trip, kind.discharge.cell_spread
    missing: tuple[Missing, ...] = () if trip is not None else (asking(f"{path}.cell_trip"),)
    missing += () if spread is not None else (asking(f"{path}.cell_spread"),)
    if trip is None or spread is None:
        return None, missing
    return kind.cells * trip.high + (kind.cells - 1) * spread, ()


def _stop(bank: Bank, inverter: Inverter) -> Setting:
    kinds = {module.kind.path: module for module in bank.modules}.values()
    found = [_least(module) for module in kinds]
    missing = tuple(item for _, asked in found for item in asked)
    values = [value for value, _ in found if value is not None]
    low = None if missing else max(values)
    cells = min(module.kind.cells for module in bank.modules)
    nominal, flat = cells * cell_voltage("nominal").value, cells * FLAT
    working = cells * cell_voltage("low working").value
    to_set = None if low is None else volts(max(math.ceil(low * 10.0 - 1e-6) / 10.0, working))
    why = say(
        "Above {low}: the under-voltage trip of every cell, and the others a cell spread higher. It is the voltage as "
        "read at no load: no drop is taken off it, under load it comes earlier. Below it the modules open first, and "
        "somebody has to start them.",
        low="cells x trip plus the cell spread near empty" if low is None else volts(low),
    )
    inputs = tuple(_inputs(bank, module) for module in kinds)
    return Setting(
        f"{inverter.name} low stop",
        inverter.name,
        "low stop",
        "voltage",
        to_set,
        (None, nominal),
        why,
        STOP,
        (low, flat),
        inputs=tuple(item for part in inputs for item in part),
        missing=missing,
    )


def _inputs(bank: Bank, module: Module) -> Iterator[Input]:
    kind, path = module.kind, f"{module.kind.path}.discharge"
    if (trip := kind.discharge.cell_trip) is not None:
        yield given(
            "U_trip",
            f"under-voltage trip of a cell of {kind.name}, high end",
            trip.high,
            "cell_voltage",
            bank.key(f"{path}.cell_trip"),
        )
    if (spread := kind.discharge.cell_spread) is not None:
        yield given(
            "dU", f"cell spread of {kind.name} near empty", spread, "cell_spread", bank.key(f"{path}.cell_spread")
        )


def _restart(
    bank: Bank, name: str, stop: Setting, set_there: float | None, rebound: float | tuple[Missing, ...]
) -> Setting:
    base = set_there if set_there is not None else stop.set_to.value if isinstance(stop.set_to, Figure) else None
    missing = stop.missing if base is None else ()
    missing += rebound if isinstance(rebound, tuple) else ()
    low = None if missing or base is None or isinstance(rebound, tuple) else base + rebound
    to_set = None if low is None else volts(math.ceil((low + 1e-6) * 2.0 + 1e-6) / 2.0)
    why = say(
        "Above the low stop by more than the {rebound} that the voltage rises by itself once the load is off; else the "
        "inverter starts and stops until the modules are empty. By hand is better: empty cells creep up for hours.",
        rebound="rebound" if isinstance(rebound, tuple) else Figure(rebound, "voltage_drop"),
    )
    return Setting(
        f"{name} restart",
        name,
        "restart",
        "voltage",
        to_set,
        (None, top(bank)[0]),
        why,
        REBOUND,
        (low, None),
        missing=missing,
    )
