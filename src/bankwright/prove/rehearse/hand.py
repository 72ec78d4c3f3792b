"""A pretend hand: what its meters show on a pretend bank, for every reading that the sheet asks for.

Gives: Hand. Currents and volts are those of the bank with its faults, solved; what no fault touches shows what is due.
Limits: invented; meters without error, rounded to their counts; one load, half of what the modules may give.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from bankwright.bank.model import Bank
from bankwright.circuit.inverse.looks import current_look, drop_look
from bankwright.circuit.of_bank.at_age import READ_FROM
from bankwright.circuit.solution import Case, Solution
from bankwright.circuit.solver.laws import Current
from bankwright.circuit.solver.solve import solve
from bankwright.prove.expected import Conditions, Expected, expected, loads_of
from bankwright.prove.rehearse.planted import Planted, faulted
from bankwright.prove.sheet.bonds import HEATER, stray_of
from bankwright.prove.sheet.due import Due
from bankwright.prove.sheet.judge import METER
from bankwright.prove.sheet.places import branch_ohms, poles

__all__ = ["Hand"]

AT_REST, INSULATED = 53.2, 200e6  # V, ohm
COUNT = {
    "voltage": 0.01,
    "frame_voltage": 1e-3,
    "voltage_drop": 1e-4,
    "current": 0.1,
    "ac_voltage": 0.1,
    "ac_current": 0.01,
}


@dataclass(frozen=True, eq=False)
class Hand:
    """One hand with its meters at a bank with faults; `order` of closing."""

    bank: Bank  # as the file has it
    faults: tuple[Planted, ...]
    order: tuple[str, ...]
    part: float = 0.5  # of the modules' continuous current
    _solved: dict[float, Expected] = field(default_factory=dict, repr=False)

    @cached_property
    def there(self) -> Bank:
        """The bank as it stands there."""
        return faulted(self.bank, self.faults)

    @property
    def load(self) -> float:
        """Current out of the bank under load: half of what the modules may give, a whole ampere. [A]"""
        most = [module.kind.discharge.continuous or 50.0 for module in self.bank.modules]
        return float(round(self.part * sum(most)))

    def _of(self, sort: str) -> Mapping[str, float]:
        return {fault.at: fault.value for fault in self.faults if fault.sort == sort}

    def emf(self, name: str) -> float:
        """Volts of a module at rest, by the sign of its leads. [V]"""
        return (AT_REST - self._of("low").get(name, 0.0)) * (-1.0 if name in self._of("reversed") else 1.0)

    def shows(self, step: str, due: Due) -> float | None:
        """What the meter shows; None where this hand leaves a reading out."""
        value = self._value(step, due)
        count = COUNT.get(due.quantity)
        return value if value is None or count is None else round(value / count) * count

    def _value(self, step: str, due: Due) -> float | None:
        own = getattr(self, f"_in_{step.lower()}", None)
        found = own(due) if own is not None else None
        return self._plain(due) if found is None else float(found)

    def _plain(self, due: Due) -> float | None:
        """Where no fault reaches: what is due, else something inside the window."""
        if due.code == "V-WAY-2":
            return 200e3
        if due.code in ("V-INSULATION-1", "V-SUN-4"):
            return INSULATED
        if due.expected is not None:
            return due.expected.value
        low, high = due.window if due.band == (None, None) else due.band
        if low is not None and high is not None:
            return (low + high) / 2.0
        if high is not None:
            return 0.2 * high
        return None if due.optional else 0.0 if low is None else low * 1.3 + 1.0

    def _in_a5(self, due: Due) -> float | None:
        return 0.02 if due.code == "V-WAY-1" else None

    def _in_b1(self, due: Due) -> float | None:
        return self.emf(due.at) if due.code == "V-ALONE-1" else None

    def _in_b2(self, due: Due) -> float | None:
        """dE over the open breaker, then the current at once: both by Ohm's law over the branches as they stand."""
        before = [name for name in self.order if name != due.at][: self.order.index(due.at)]
        own, gap = branch_ohms(self.there, self.there.module(due.at)).nominal, 0.0
        ohms = [branch_ohms(self.there, self.there.module(name)).nominal for name in before]
        gap = self.emf(due.at) - sum(self.emf(n) / r for n, r in zip(before, ohms, strict=True)) / sum(
            1.0 / r for r in ohms
        )
        return gap if due.code == "V-JOIN-1" else abs(gap) / (own + 1.0 / sum(1.0 / r for r in ohms))

    def _in_b3(self, due: Due) -> float | None:
        plus, _ = poles(self.bank)
        each = self.bank.site.earthing.detector_resistance
        if due.quantity == "frame_voltage" and each is not None:
            size = AT_REST / (2.0 + each / METER)  # between two alike resistances, beside the meter's own
            return size if due.at == plus else -size
        if due.quantity == "frame_voltage":
            return 0.571 if due.at == plus else -1.284
        return AT_REST if due.quantity == "voltage" else None

    def _in_b4(self, due: Due) -> float | None:
        return AT_REST if due.code == "V-SIGN-1" else None

    def _in_b6(self, due: Due) -> float | None:
        """Currents that the modules drive through each other, nothing on."""
        at = self._at(0.0)
        names = at.network.module_names
        emf = np.asarray(at.solution.emf).ravel() + np.array([self.emf(name) - AT_REST for name in names])
        case = Case("at rest", {name: Current(0.0) for name in at.conditions.loads}, frozenset())
        still = solve(at.network, case, at.solution.resistance, emf)
        return still.current(due.at)

    def _in_d1(self, due: Due) -> float | None:
        """Leg to earth as leg to neutral, a little less; neutral to earth next to nothing."""
        kind = {i.name: i.kind for i in self.bank.inverters}.get(due.at.rpartition(".")[0])
        if due.quantity != "ac_voltage" or not due.at.endswith("-PE") or kind is None:
            return None
        volts = kind.volts_out.nominal if kind.volts_out else {50.0: 230.0}.get(kind.frequency or 60.0, 120.0)
        return 0.1 if due.at.endswith(".N-PE") else volts - 0.1

    _in_g1 = _in_g3 = _in_d1

    def _in_d2(self, due: Due) -> float | None:
        two = bool([fault for fault in self.faults if fault.sort == "bond"])
        shown: dict[tuple[str, str], float] = {
            ("panel.L", "ac_current"): HEATER,
            ("panel.PE", "ac_current"): stray_of(self.bank, HEATER) if two else 0.0,
            ("panel.N-PE", "resistance"): 0.2,
            ("panel.N-PE", "ac_voltage"): 0.02,
            ("socket.N-PE", "ac_voltage"): 0.05 if two else 0.9,
        }
        return shown.get((due.at, due.quantity))

    def _at(self, load: float) -> Expected:
        if load not in self._solved:
            loads = loads_of(self.there, load)
            self._solved[load] = expected(self.there, Conditions(loads, READ_FROM))
        return self._solved[load]

    def _loaded(self, due: Due, load: float) -> float | None:
        plus, minus = poles(self.bank)
        at = self._at(load).solution
        looks: dict[str, Callable[[], float]] = {
            "current": lambda: _seen(at, due.at),
            "voltage": lambda: at.potential(plus) - at.potential(minus),
            "voltage_drop": lambda: abs(at.drop(due.at)),
        }
        if due.code == "V-SUM-2":
            return abs(_seen(at, due.at))
        return looks[due.quantity]() if due.quantity in looks and due.code != "V-SHUNT-1" else None

    def _in_e2(self, due: Due) -> float | None:
        return self._loaded(due, self.load)

    def _in_f1(self, due: Due) -> float | None:
        return self._loaded(due, -round(0.4 * self.load))

    def _rest(self) -> float:
        return float(self._at(self.load).solution.emf[0])

    def _in_e1(self, due: Due) -> float | None:
        return self._rest() if due.quantity == "voltage" else None

    _in_f0 = _in_e1

    def _in_e4(self, due: Due) -> float | None:
        return abs(_seen(self._at(self.load).solution, due.at)) if due.quantity == "current" else 6.0

    def drop(self, name: str) -> float:
        """Millivolts over a place of the bank as it stands there, under load. [V]"""
        found = self._at(self.load)
        look = drop_look("now", name)
        return round(abs(float(np.sum([np.asarray(found.solution.drop(each)) for each in look.at]))), 4)

    def current(self, name: str) -> float:
        """Current of a module under load. [A]"""
        return round(_seen(self._at(self.load).solution, name), 1)


def _seen(at: Solution, name: str) -> float:
    return at.current(current_look(name, "now").at[0])
