"""A run of the bank as values over time: what the modules of the pretend rack say.

Gives: practice(). An invented load that comes and goes; state of charge 60 %; currents shared by the bank's own wiring.
Limits: values for practice, not a forecast; where the file gives no capacity, 100 Ah is taken, and the load is scaled
to the modules. Beyond the run's end it repeats.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from bankwright.bank.model import Bank
from bankwright.circuit.run.bank import bank_ports, branches, parts_of
from bankwright.circuit.run.curves import curves_of, resistance_table
from bankwright.circuit.run.loads import Profile, RunLoad
from bankwright.circuit.run.modules import run_modules
from bankwright.circuit.run.run import Run, run

__all__ = ["practice"]

SECONDS, START_SOC, DEGC = 300.0, 0.6, 21.0
AMPERES = 20.0  # a module, at the top of the invented load
LOAD = ((0.0, 20.0, 40.0, 60.0, 120.0, 200.0), (0.2, 1.0, 0.5, 0.1, 0.7, 0.0))  # s, share of it
CAPACITY = 100.0  # Ah, where none is given


def _run(bank: Bank) -> Run:
    parts = [parts_of(module) for module in bank.modules]
    ohmic = [part.ohmic.nominal for part in parts]
    kind = bank.modules[0].kind
    one, two = branches(parts, np.ones(len(parts)))
    modules = run_modules(
        [curves_of(kind)[0].table],
        [part.capacity_ah or CAPACITY for part in parts],
        ohmic,
        names=tuple(module.name for module in bank.modules),
        cells=kind.cells,
        metal=[part.metal for part in parts],
        branch_1=one,
        branch_2=two,
        temperature_degc=DEGC,
        factor_table=resistance_table(),
    )
    ports, _, _ = bank_ports(bank)
    top = AMPERES * len(parts) / max(len(ports.load_names), 1)
    profile = Profile(LOAD[0], tuple(share * top for share in LOAD[1]), period=SECONDS)
    loads = [RunLoad(name, "current", profile) for name in ports.load_names]
    return run(ports, modules, loads, until=SECONDS, soc=np.full(len(parts), START_SOC), longest=1.0)


def practice(bank: Bank) -> Callable[[float], Mapping[str, Mapping[str, float | str]]]:
    """Values of all modules at a time: voltage, current, state of charge, temperature, capacity."""
    found = _run(bank)
    capacity = {m.name: m.capacity_ah or m.kind.capacity_ah or CAPACITY for m in bank.modules}

    def values(now: float) -> dict[str, dict[str, float | str]]:
        time = now % SECONDS

        def at(column: np.ndarray) -> float:
            return float(np.interp(time, found.time, column))

        return {
            name: {
                "voltage": at(found.voltage[:, k]),
                "current": at(found.module_current[:, k]),
                "soc": at(found.soc[:, k]),
                "temperature_degc": at(found.temperature_degc[:, k]),
                "capacity_ah": capacity[name],
            }
            for k, name in enumerate(found.names)
        }

    return values
