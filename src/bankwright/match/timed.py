"""How long a plan takes, by the run engine: charging a module alone, levelling two through a resistor, discharging.

Gives: ChargerChoice, Hours, hours_to_full(), hours_to_move(), ResistorPlan, through_resistor(). Each answer is a range
over curves, resistances and the charge that the reading allows.
Limits: rest between steps and the hand's own time are not in it.
Sources: circuit/run; ceiling 3.55 V a cell and tail 0.05 C [common practice, no source].
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.bank.model import Bank, Module
from bankwright.bank.quantity_text import QuantityFault, parse
from bankwright.circuit.run import Run, run
from bankwright.circuit.run_bank import parts_of
from bankwright.circuit.run_curves import Curve, curves_of
from bankwright.circuit.run_loads import Profile, RunLoad
from bankwright.circuit.run_modules import run_modules
from bankwright.circuit.run_ports import Ports
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.origin import FileKey, Origin
from bankwright.match.charge_range import ChargeRange
from bankwright.match.entry import ModuleReading
from bankwright.match.sources import PRACTICE
from bankwright.physics.cell import state_of_charge

__all__ = [
    "ChargerChoice",
    "Hours",
    "ResistorPlan",
    "Tools",
    "charger_for",
    "hours_to_full",
    "hours_to_move",
    "through_resistor",
    "tools_of",
]

CEILING_CELL, TAIL, RATE = 3.55, 0.05, 0.2  # V a cell, C, C; common practice, no source
LONGEST = 14 * 24 * 3600.0  # s; a plan that takes longer is none


@dataclass(frozen=True, slots=True)
class Tools:
    """What the hand has: a charger's current and ceiling, a resistor's ohm and watt; None: chosen and said so."""

    charger_current: float | None = None
    charger_ceiling: float | None = None
    resistor: float | None = None
    resistor_power: float | None = None


def tools_of(charger: str | None, resistor: str | None) -> Tools:
    """Read "20 A, 56.8 V" and "10 ohm, 0.5 W"; the second part may be left out."""
    current, ceiling = _pair(charger, "current", "voltage", "charger")
    ohm, watt = _pair(resistor, "resistance", "power", "resistor")
    return Tools(current, ceiling, ohm, watt)


def _pair(text: str | None, first: str, second: str, name: str) -> tuple[float | None, float | None]:
    if text is None:
        return None, None
    found: list[float | None] = []
    for part, quantity in zip(text.split(","), (first, second), strict=False):
        try:
            value = parse(part, quantity).nominal
        except QuantityFault as fault:
            raise QuestionError((Fault(name, fault.code, fault.found, hint=fault.hint),), "the options") from fault
        if value <= 0:
            raise QuestionError(
                (Fault(name, "out-of-range", f"found {part.strip()}: it must be above zero"),), "the options"
            )
        found.append(value)
    return (found[0], found[1] if len(found) > 1 else None)


@dataclass(frozen=True, slots=True)
class ChargerChoice:
    """The charger of a plan."""

    name: str
    current: float
    ceiling: float
    tail: float
    origin: Origin
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Hours:
    """A range of time; `high` None: longer than was run."""

    low: float
    high: float | None

    def words(self) -> str:
        """`2.5 h to 7.1 h`."""
        if self.high is None:
            return f"{self.low:.2g} h to more than {LONGEST / 3600:.0f} h"
        if self.low < 0.05 * self.high:
            return f"up to {self.high:.2g} h"
        return f"{self.low:.2g} h to {self.high:.2g} h" if self.high > self.low * 1.05 else f"about {self.high:.2g} h"


def charger_for(module: Module, current: float | None = None, ceiling: float | None = None) -> ChargerChoice:
    """The charger that was named, with the ceiling held to what the module's data sheet allows as full."""
    capacity = module.capacity_ah or module.kind.capacity_ah or 100.0
    full = (module.kind.charge.cell_full or CEILING_CELL) * module.kind.cells
    most = min(full, CEILING_CELL * module.kind.cells)
    if current is not None:
        return ChargerChoice("the charger named", current, min(ceiling or most, full), TAIL * capacity, PRACTICE)
    limit = module.kind.charge.continuous
    amps = min(RATE * capacity, limit) if limit else RATE * capacity
    origin: Origin = FileKey(f"{module.kind.path}.charge.continuous") if limit and limit < RATE * capacity else PRACTICE
    return ChargerChoice(f"a charger of {amps:.3g} A", amps, most, TAIL * capacity, origin, assumed=True)


def _alone(module: Module, curves: Sequence[Curve], soc: Sequence[float], load: RunLoad) -> tuple[Run, int]:
    """One module and one load; variants: curve x start x end of resistance."""
    part = parts_of(module)
    rows = [
        (number, float(np.clip(z, curve.soc[0] + 1e-6, curve.soc[-1] - 1e-6)), ohmic)
        for number, curve in enumerate(curves)
        for z in soc
        for ohmic in (part.ohmic.low, part.ohmic.high)
    ]
    modules = run_modules(
        [curve.table for curve in curves],
        part.capacity_ah or 100.0,
        np.array([[row[2]] for row in rows]),
        names=(module.name,),
        cells=module.kind.cells,
        curve_of=np.array([[row[0]] for row in rows]),
        branch_1=(part.quick, 35.0),
        branch_2=(part.slow, 1000.0),
    )
    ports = Ports.common_bar(np.zeros(1))
    start = np.array([[row[1]] for row in rows])
    return run(ports, modules, [load], until=LONGEST, soc=start, tolerance=1e-3), len(rows)


def _ends(found: Run, count: int, words: Sequence[str]) -> Hours:
    """First event of each variant that ends the plan."""
    times: dict[int, float] = {}
    for event in found.events:
        if event.variant is not None and any(word in event.what for word in words):
            times.setdefault(event.variant, event.time)
    high = max(times.values()) / 3600 if len(times) == count else None
    return Hours(min(times.values(), default=LONGEST) / 3600, high)


def hours_to_full(module: Module, found: ChargeRange, charger: ChargerChoice) -> Hours:
    """Constant current to the ceiling, then constant voltage to the tail."""
    curves = [curve for curve in curves_of(module.kind) if curve.branch != "discharge"]
    load = RunLoad("load", "charger", Profile.constant(charger.current), ceiling=charger.ceiling, tail=charger.tail)
    done, count = _alone(module, curves, (found.low, found.high), load)
    return _ends(done, count, ("charge done", "stops"))


def hours_to_move(module: Module, found: ChargeRange, goal: ChargeRange, current: float) -> Hours:
    """Constant current, positive out, until the module's charge lies where the goal's may lie."""
    capacity = module.capacity_ah or module.kind.capacity_ah or 100.0
    least = max(found.low - goal.high, 0.0) if current > 0 else max(goal.low - found.high, 0.0)
    most = max(found.high - goal.low, 0.0) if current > 0 else max(goal.high - found.low, 0.0)
    return Hours(least * capacity / abs(current), most * capacity / abs(current))


@dataclass(frozen=True, slots=True)
class ResistorPlan:
    """Levelling two modules through a resistor: what it must stand and how long it takes."""

    high: str
    low: str
    resistance: float
    rating: float | None
    difference: float
    first_current: float
    first_power: float
    largest_difference: float | None  # that the rating stands
    stands: bool | None
    hours: Hours  # until the difference across it is below `stop`
    stop: float  # V
    moved_ah: tuple[float, float]
    left_apart: tuple[float, float]  # points of charge when it stops, where the curves alone decide


def through_resistor(
    bank: Bank,
    high: ModuleReading,
    low: ModuleReading,
    resistance: float | None = None,
    rating: float | None = None,
    stop: float = 0.05,
) -> ResistorPlan:
    """Positives joined through a resistor, negatives directly; without a value one of about 0.05 C is chosen."""
    one, two = bank.module(high.module), bank.module(low.module)
    parts = [parts_of(one), parts_of(two)]
    difference = high.voltage - low.voltage
    if resistance is None:
        amps = TAIL * min(part.capacity_ah or 100.0 for part in parts)
        resistance = float(f"{max(difference, 0.05) / amps:.1g}")
        rating = rating or float(f"{math.ceil(2 * difference**2 / resistance):g}")
    first = difference / (resistance + sum(part.ohmic.nominal for part in parts))
    found, moved, apart, hours = _levelled(one, two, high, low, resistance, stop)
    most = math.sqrt(rating * resistance) if rating else None
    stands = None if most is None else difference <= most
    return ResistorPlan(
        one.name,
        two.name,
        resistance,
        rating,
        difference,
        first,
        first**2 * resistance,
        most,
        stands,
        hours if found else Hours(0.0, None),
        stop,
        moved,
        apart,
    )


def _levelled(
    one: Module, two: Module, high: ModuleReading, low: ModuleReading, resistance: float, stop: float
) -> tuple[bool, tuple[float, float], tuple[float, float], Hours]:
    curves, cells, rows = curves_of(one.kind), one.kind.cells, []
    for number, curve in enumerate(curves):
        volts = np.array([high.voltage, low.voltage]) / cells
        if (volts > curve.volts[0]).all() and (volts < curve.volts[-1]).all():
            ends = state_of_charge(volts, curve.soc, curve.volts)
            rows.append((number, (ends[0] + ends[1]) / 2))
    if not rows:
        return False, (0.0, 0.0), (0.0, 0.0), Hours(0.0, None)
    parts = [parts_of(one), parts_of(two)]
    modules = run_modules(
        [curve.table for curve in curves],
        [part.capacity_ah or 100.0 for part in parts],
        np.broadcast_to([part.ohmic.nominal for part in parts], (len(rows), 2)),
        names=(one.name, two.name),
        cells=cells,
        curve_of=np.array([[number] for number, _ in rows]),
        branch_1=([part.quick for part in parts], 35.0),
        branch_2=([part.slow for part in parts], 1000.0),
    )
    start = np.array([z for _, z in rows])
    ports = Ports.common_bar(np.array([resistance, 0.0]))
    found = run(ports, modules, until=LONGEST, soc=start, tolerance=2e-4, longest=1800.0)
    across = found.module_current[:, :, 0] * resistance
    times, moved, apart = [], [], []
    for row, drop in enumerate(across):
        under = np.flatnonzero(drop <= stop)
        place = int(under[0]) if len(under) else -1
        times.append(float(found.time[place]) / 3600 if len(under) else None)
        moved.append(float(start[row, 0] - found.soc[row, place, 0]) * (parts[0].capacity_ah or 100.0))
        apart.append(float(found.soc[row, place, 0] - found.soc[row, place, 1]))
    known = [t for t in times if t is not None]
    hours = Hours(min(known, default=LONGEST / 3600), max(known) if len(known) == len(times) else None)
    return True, (min(moved), max(moved)), (min(apart), max(apart)), hours
