"""Solved figures that the sheet and the labels use: currents of links, voltages, fault currents.

Gives: Solved, solved(). What cannot be solved for want of a value is left out, and named in `missing`.
Limits: no judging; energy of an arc needs the device's clearing time and is Plan's.
Sources: the bank's network (circuit/); a full cell, handbook table published/ranges.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from bankwright.bank.model import Bank
from bankwright.circuit.cases import FULL
from bankwright.circuit.errors import CircuitError
from bankwright.circuit.shorts import shorts
from bankwright.circuit.steady import steady
from bankwright.forms.checks import NeedsValue
from bankwright.forms.wording import Figure, amount_text
from bankwright.handbook.cells import cell_voltage

__all__ = ["Solved", "solved"]


@dataclass(frozen=True, slots=True)
class Solved:
    """Currents by link at full discharge (None: not solved), figures by name, what stood in the way."""

    currents: dict[str, float] | None
    figures: dict[str, Figure | str] = field(default_factory=dict)
    missing: tuple[str, ...] = ()


def solved(bank: Bank) -> Solved:
    """Solve what the sheet and the labels want."""
    figures: dict[str, Figure | str] = {"highest voltage": _highest_voltage(bank)}
    missing: list[str] = []
    currents = None
    try:
        currents = _currents(bank)
    except (CircuitError, NeedsValue) as error:
        missing.append(str(error))
    try:
        figures.update(_faults(bank))
    except (CircuitError, NeedsValue) as error:
        missing.append(str(error))
    return Solved(currents, figures, tuple(dict.fromkeys(missing)))


def _currents(bank: Bank) -> dict[str, float] | None:
    """Currents at full discharge; None where nothing draws from the bank."""
    cases = steady(bank)
    if FULL not in cases.names:
        return None
    case = cases.case(FULL)
    return {link.name: abs(float(case.current(link.name))) for link in bank.links}


def _highest_voltage(bank: Bank) -> Figure | str:
    """Highest cell trip and highest ceiling of a charger; without trips "at least" the full charge."""
    trips = [
        module.kind.cells * module.kind.charge.cell_trip.high if module.kind.charge.cell_trip else None
        for module in bank.modules
    ]
    ceilings = [charger.kind.voltage_high for charger in bank.chargers if charger.kind.voltage_high is not None]
    known = [trip for trip in trips if trip is not None]
    if known and None not in trips:
        return Figure(max(*known, *ceilings, 0.0), "voltage")
    full = max((module.kind.cells * cell_voltage("full").value for module in bank.modules), default=0.0)
    return f"at least {amount_text(max(full, *known, *ceilings, 0.0), 'voltage', bank.units)}"


def _faults(bank: Bank) -> dict[str, Figure | str]:
    all_shorts = shorts(bank)
    found: dict[str, Figure | str] = {}
    highest = max((all_shorts.at(place).current for place in all_shorts.places), default=0.0)
    found["fault current at the bank"] = Figure(highest, "current")
    switches = [device.name for device in bank.devices if device.kind.type == "disconnect"]
    if switches:
        through = max(all_shorts.through(name).largest for name in switches)
        found["fault current"] = Figure(through, "current")
    return found
