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

from bankwright.bank.file.quantity_text import QuantityFault, parse
from bankwright.bank.model import Bank, Module
from bankwright.circuit.network import Array
from bankwright.circuit.run.bank import branches, parts_of
from bankwright.circuit.run.curves import Curve, curves_of
from bankwright.circuit.run.loads import Profile, RunLoad
from bankwright.circuit.run.modules import run_modules
from bankwright.circuit.run.ports import Ports
from bankwright.circuit.run.run import Run, run
from bankwright.forms.faults import Fault, QuestionError
from bankwright.forms.origin import FileKey, Origin
from bankwright.forms.trace import PRACTICE
from bankwright.match.charge_range import ChargeRange
from bankwright.match.entry import ModuleReading
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
LEAST_CEILING_CELL = 3.45  # V; a ceiling below never brings every cell above the knee; common practice, no source
ABOVE_GOAL = 1.0  # V above the voltage to rest at, so that the hand's slip ends there; common practice, no source
LEAST_OHM = 0.1  # less is a piece of cable; common practice, no source
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
    notes: tuple[str, ...] = ()  # what does not fit of the charger that was named


@dataclass(frozen=True, slots=True)
class Hours:
    """A range of time; `high` None: longer than was run."""

    low: float
    high: float | None

    def words(self) -> str:
        """`2.5 h to 7.1 h`, days beyond two."""
        if self.high is None:
            return f"{_hours(self.low)} to more than {LONGEST / 86400:.0f} days"
        if self.low < 0.05 * self.high:
            return f"up to {_hours(self.high)}"
        if self.high > self.low * 1.05:
            return f"{_hours(self.low)} to {_hours(self.high)}"
        return f"about {_hours(self.high)}"


def _hours(hours: float) -> str:
    """Two figures, in minutes, hours or days."""
    if hours < 0.95:
        return f"{max(round(60 * hours), 1)} min"
    return f"{hours:.1f} h" if hours < 9.95 else f"{hours:.0f} h" if hours < 72 else f"{hours / 24:.1f} days"


def charger_for(
    module: Module,
    current: float | None = None,
    ceiling: float | None = None,
    goal: float | None = None,
    limit: float | None = None,
) -> ChargerChoice:
    """The charger that was named, held to what the module takes and calls full; `goal` in V where it need not be full.

    `limit` is what the module takes at its own temperature, else the data sheet's continuous current.
    """
    capacity, cells = module.capacity_ah or module.kind.capacity_ah or 100.0, module.kind.cells
    full = (module.kind.charge.cell_full or CEILING_CELL) * cells
    most = min(full, CEILING_CELL * cells)
    set_to = min(most, goal + ABOVE_GOAL) if goal else min(ceiling or most, full)
    need = goal + 0.1 if goal else LEAST_CEILING_CELL * cells
    notes = []
    if ceiling is not None and ceiling < need:
        set_to = min(most, goal + ABOVE_GOAL) if goal else most
        notes.append(f"The charger named ends at {ceiling:.1f} V: too low. Take one that reaches {set_to:.1f} V.")
    elif ceiling is not None and ceiling > set_to + 0.05:
        notes.append(
            f"Yours is named with {ceiling:.1f} V: set it to {set_to:.1f} V; one that cannot be set is not used."
        )
        set_to = min(set_to, ceiling)
    table = [amps for _, amps in module.kind.charge.by_temperature]
    takes = limit or module.kind.charge.continuous or min((amps for amps in table if amps > 0), default=None)
    wanted = RATE * capacity if current is None else current
    amps = min(wanted, takes) if takes else wanted
    if current is not None and amps < current:
        notes.append(f"Yours is named with {current:.3g} A: the module takes {amps:.3g} A at most; set it so.")
    held = takes is not None and amps == takes
    origin: Origin = FileKey(f"{module.kind.path}.charge.continuous") if held else PRACTICE
    other = current is None or (ceiling is not None and ceiling < need)
    name = f"a charger of {amps:.3g} A" if other else "the charger named"
    tail = min(TAIL * capacity, amps / 2)  # a small charger must have something to fall to
    return ChargerChoice(name, amps, set_to, tail, origin, current is None, tuple(notes))


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
        branch_1=branches([part])[0],
        branch_2=branches([part])[1],
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
    alone: str  # the one behind the resistor
    joined: tuple[str, ...]  # the other one, and those already joined to it


def through_resistor(
    bank: Bank,
    high: ModuleReading,
    low: ModuleReading,
    resistance: float | None = None,
    rating: float | None = None,
    *,
    stop: float = 0.05,
    beside: Sequence[ModuleReading] = (),
) -> ResistorPlan:
    """Positives joined through a resistor, negatives directly; without a value one of about 0.05 C is chosen.

    `beside` are further modules, already joined to the one of the two that they lie nearer to.
    """
    alone = 0 if beside and np.mean([r.voltage for r in beside]) < (high.voltage + low.voltage) / 2 else 1
    every = (high, low, *beside)
    parts = [parts_of(bank.module(reading.module)) for reading in every]
    others = [k for k in range(len(every)) if k != alone]
    difference = high.voltage - low.voltage
    if resistance is None:
        resistance, least = _chosen(difference, min(part.capacity_ah or 100.0 for part in parts))
        rating = rating or least
    joined = 1.0 / sum(1.0 / parts[k].ohmic.nominal for k in others)
    first = difference / (resistance + parts[alone].ohmic.nominal + joined)
    found, moved, apart, hours = _levelled(bank, every, alone, resistance, stop)
    most = math.sqrt(rating * resistance) if rating else None
    return ResistorPlan(
        high=high.module, low=low.module, resistance=resistance, rating=rating, difference=difference,
        first_current=first, first_power=first**2 * resistance, largest_difference=most,
        stands=None if most is None else difference <= most, hours=hours if found else Hours(0.0, None), stop=stop,
        moved_ah=moved, left_apart=apart, alone=every[alone].module, joined=tuple(every[k].module for k in others),
    )  # fmt: skip


def _chosen(difference: float, capacity_ah: float) -> tuple[float, float]:
    """A resistor for about 0.05 C, and twice the power that it first takes. [ohm, W]"""
    resistance = max(float(f"{max(difference, 0.05) / (TAIL * capacity_ah):.1g}"), LEAST_OHM)
    return resistance, float(f"{math.ceil(2 * difference**2 / resistance):g}")


def _on_curves(curves: Sequence[Curve], volts: Array) -> list[tuple[int, Array]]:
    """Curves by number that reach all these cell voltages, and where on each the modules stand."""
    rows: list[tuple[int, Array]] = []
    for number, curve in enumerate(curves):
        if (volts > curve.volts[0]).all() and (volts < curve.volts[-1]).all():
            ends = state_of_charge(volts, curve.soc, curve.volts)
            rows.append((number, (ends[0] + ends[1]) / 2))
    return rows


def _levelled(
    bank: Bank, every: Sequence[ModuleReading], alone: int, resistance: float, stop: float
) -> tuple[bool, tuple[float, float], tuple[float, float], Hours]:
    kind = bank.module(every[0].module).kind
    cells, curves = kind.cells, curves_of(kind)
    rows = _on_curves(curves, np.array([reading.voltage for reading in every]) / cells)
    if not rows:
        return False, (0.0, 0.0), (0.0, 0.0), Hours(0.0, None)
    parts = [parts_of(bank.module(reading.module)) for reading in every]
    modules = run_modules(
        [curve.table for curve in curves],
        [part.capacity_ah or 100.0 for part in parts],
        np.broadcast_to([part.ohmic.nominal for part in parts], (len(rows), len(parts))),
        names=tuple(reading.module for reading in every),
        cells=cells,
        curve_of=np.array([[number] for number, _ in rows]),
        branch_1=branches(parts)[0],
        branch_2=branches(parts)[1],
    )
    start = np.array([z for _, z in rows])
    ports = Ports.common_bar(np.where(np.arange(len(parts)) == alone, resistance, 0.0))
    found = run(ports, modules, until=LONGEST, soc=start, tolerance=2e-4, longest=1800.0)
    across = np.abs(found.module_current[:, :, alone]) * resistance
    times, moved, apart = [], [], []
    for row, drop in enumerate(across):
        under = np.flatnonzero(drop <= stop)
        if not len(under) and (not np.isfinite(drop[-1]) or found.time[-1] < 0.999 * LONGEST):
            continue  # this curve ended on the way: it says nothing of the time
        place = int(under[0]) if len(under) else -1
        times.append(float(found.time[place]) / 3600 if len(under) else None)
        moved.append(abs(float(start[row, alone] - found.soc[row, place, alone])) * (parts[alone].capacity_ah or 100.0))
        apart.append(float(found.soc[row, place, 0] - found.soc[row, place, 1]))
    if not times:
        return False, (0.0, 0.0), (0.0, 0.0), Hours(0.0, None)
    known = [t for t in times if t is not None]
    hours = Hours(min(known, default=LONGEST / 3600), max(known) if len(known) == len(times) else None)
    return True, (min(moved), max(moved)), (min(apart), max(apart)), hours
