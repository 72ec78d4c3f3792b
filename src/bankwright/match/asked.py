"""What is asked of the bank in a whole cycle: inverters and direct loads as the file gives them.

Gives: asked_of(), asked_words(), half_an_hour_rate().
Limits: a load given as current is taken at nominal voltage. Source of 0.5 C: common practice, no source.
"""

from __future__ import annotations

from bankwright.bank.model import Bank

__all__ = ["asked_of", "asked_words", "half_an_hour_rate"]


def asked_of(bank: Bank) -> dict[str, float]:
    """Watts that each inverter (rated power over efficiency) and each direct load takes, where the file says so."""
    volts = bank.modules[0].kind.nominal_voltage
    found = {i.name: i.kind.power / (i.kind.efficiency or 1.0) for i in bank.inverters if i.kind.power}
    for load in bank.loads:
        watts = load.power if load.power is not None else None if load.current is None else load.current * volts
        if watts:
            found[load.name] = watts
    return found


def asked_words(bank: Bank) -> tuple[str, bool]:
    """Where the power asked comes from, and whether it is a stand-in."""
    asked = asked_of(bank)
    inverters = [i.name for i in bank.inverters if i.name in asked]
    loads = [load.name for load in bank.loads if load.name in asked]
    parts = [f"rated power over efficiency of {', '.join(inverters)}"] if inverters else []
    parts += [f"{', '.join(loads)} as given"] if loads else []
    every = [inverter.name for inverter in bank.inverters] + [load.name for load in bank.loads]
    silent = [name for name in every if name not in asked]
    if not parts:
        return "0.5 C, assumed: the file gives neither power nor current of what hangs on the bus", True
    return " and ".join(parts) + (f"; {', '.join(silent)} not given" if silent else ""), bool(silent)


def half_an_hour_rate(bank: Bank) -> float:
    """0.5 C at nominal voltage: a stand-in."""
    capacity = sum(m.capacity_ah or m.kind.capacity_ah or 100.0 for m in bank.modules)
    return 0.5 * capacity * bank.modules[0].kind.nominal_voltage
