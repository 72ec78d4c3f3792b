"""What flows between the modules after joining, over time, as bands: the run engine over curves, resistances, meter.

Gives: Settled, settled(), stand_ins().
Variants at once: every curve that may hold, resistances at both ends and in the middle, the meter's last digits against
each module in turn. All modules are joined at time 0 without waiting: the hardest case.
Limits: no load and no charger; without hysteresis, which in truth leaves modules apart that read alike.
Sources: circuit/run; curves of the handbook.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank
from bankwright.circuit.network import Array, frozen
from bankwright.circuit.run.bank import bank_ports, branches, parts_of, run_limits
from bankwright.circuit.run.curves import curves_of, resistance_table
from bankwright.circuit.run.modules import RunModules, run_modules
from bankwright.circuit.run.run import Run, run
from bankwright.forms.finding import Input
from bankwright.forms.wording import Figure
from bankwright.match.entry import ModuleReading, same_meter
from bankwright.match.sources import CURVES
from bankwright.physics.cell import state_of_charge

__all__ = ["Settled", "chart_rows", "settled", "stand_ins"]

HOURS = 24.0
ENDS = ("nominal", "low", "high")


@dataclass(frozen=True, eq=False)
class Settled:
    """Currents and voltages after joining, and the hours until the charge has levelled."""

    names: tuple[str, ...]
    time: Array  # (time,), the first one is the moment of joining
    current: Array  # (3, time, module): low, middle, high
    voltage: Array  # (3, time, module)
    hours_to_level: tuple[float | None, float | None]  # shortest and longest over the variants; None: not in the run
    spread_before: tuple[float, float]  # points of charge, over the variants
    opened: tuple[str, ...]  # what opened or blocked in any variant, in words
    variants: int

    def at(self, time: float, values: Array | None = None) -> Array:
        """Currents (3, module) at a time, or other values (3, time, module)."""
        t = np.maximum(self.time, 1e-3)
        x = np.log(max(time, 1e-3))
        bands = [
            [np.interp(x, np.log(t), column) for column in band.T]
            for band in (self.current if values is None else values)
        ]
        return np.array(bands)


def stand_ins(bank: Bank) -> tuple[Input, ...]:
    """What stands in for a curve or an ohmic resistance that a kind does not give, once a kind."""
    found = []
    for module in {each.kind.path: each for each in bank.modules}.values():
        kind, part = module.kind, parts_of(module)
        if not kind.ocv:
            words = "curves of small new cells, each tried"
            found.append(Input("U(z)", f"rest voltage of {kind.name}", words, CURVES, True, asking(f"{kind.path}.ocv")))
        if part.ohmic_assumed:
            ohm = Figure(part.ohmic.nominal, "resistance", part.ohmic.low, part.ohmic.high)
            settle = asking(f"{kind.path}.resistance.ohmic")
            found.append(Input("R", f"ohmic resistance of {kind.name}", ohm, part.ohmic_origin, True, settle))
    return tuple(found)


Row = tuple[str, tuple[float, ...], tuple[float, ...], tuple[float, ...]]


def chart_rows(found: Settled, volts: bool = False) -> tuple[tuple[float, ...], list[Row]]:
    """Times above 0 and, for each module, name, middle, low and high current (or voltage): what a chart draws."""
    times = tuple(float(t) for t in np.geomspace(0.1, 36000.0, 90))
    bands = np.stack([found.at(time, found.voltage if volts else None) for time in times])  # (time, 3, module)
    rows = []
    for k, name in enumerate(found.names):
        low, middle, high = (tuple(float(v) for v in bands[:, end, k]) for end in range(3))
        rows.append((name, middle, low, high))
    return times, rows


def _starts(readings: Sequence[ModuleReading]) -> list[tuple[Array, tuple[str, ...]]]:
    """Voltages (module,) to start from, and ends of the resistances to take with them.

    As read; then each module in turn with the meter against it, at the least resistance: the largest currents of all.
    """
    volts = np.array([reading.voltage for reading in readings])
    one = same_meter(readings)  # its gain error moves all alike
    digits = np.array([reading.digit if one else reading.half for reading in readings])
    found: list[tuple[Array, tuple[str, ...]]] = [(volts, ENDS)]
    for k in range(len(readings)):
        against = np.where(np.arange(len(readings)) == k, 1.0, -1.0) * digits
        found += [(volts + against, ("low",)), (volts - against, ("low",))]
    return found


def settled(
    bank: Bank,
    readings: Sequence[ModuleReading],
    points: float = 0.05,
    progress: Callable[[float, float], bool | None] | None = None,
) -> Settled | None:
    """Run the join; None where no published curve reaches the voltages."""
    bank = _only(bank, tuple(reading.module for reading in readings))
    order = [next(r for r in readings if r.module == module.name) for module in bank.modules]
    rows = _variants(bank, order)
    if not rows:
        return None
    modules, (ports, _, _) = _modules(bank, order, rows), bank_ports(bank, "low")
    found = run(
        ports,
        modules,
        until=HOURS * 3600,
        soc=np.array([row.soc for row in rows]),
        tolerance=5e-5,
        longest=600.0,
        progress=progress,
    )
    return _summed(found, modules.names, points)


@dataclass(frozen=True)
class _Variant:
    """One run: the curve by number, where each module stands on it, its resistance and the ratio to the nominal one."""

    curve: int
    soc: Array
    ohmic: Sequence[float]
    scale: Sequence[float]


def _variants(bank: Bank, order: Sequence[ModuleReading]) -> list[_Variant]:
    """All curves that reach the voltages, ends of the readings and ends of the resistances."""
    parts, rows = [parts_of(module) for module in bank.modules], []
    cells = bank.modules[0].kind.cells
    for number, curve in enumerate(curves_of(bank.modules[0].kind)):
        for volts, ends in _starts(order):
            inside = (volts / cells > curve.volts[0]) & (volts / cells < curve.volts[-1])
            if not inside.all():
                continue
            low, high = state_of_charge(volts / cells, curve.soc, curve.volts)
            for end in ends:
                ohmic = [getattr(part.ohmic, end) for part in parts]
                scale = [getattr(part.ohmic, end) / part.ohmic.nominal for part in parts]
                rows.append(_Variant(number, (low + high) / 2, ohmic, scale))
    return rows


def _modules(bank: Bank, order: Sequence[ModuleReading], rows: Sequence[_Variant]) -> RunModules:
    parts = [parts_of(module) for module in bank.modules]
    degc = [25.0 if r.temperature_degc is None else float(np.clip(r.temperature_degc, -25, 45)) for r in order]
    slow = branches(parts, np.array([row.scale for row in rows]))
    return run_modules(
        [curve.table for curve in curves_of(bank.modules[0].kind)],
        np.broadcast_to([part.capacity_ah or 100.0 for part in parts], (len(rows), len(parts))),
        np.array([row.ohmic for row in rows]),
        names=tuple(module.name for module in bank.modules),
        cells=bank.modules[0].kind.cells,
        curve_of=np.array([[row.curve] for row in rows]),
        metal=np.array([part.metal for part in parts]),
        branch_1=slow[0],
        branch_2=slow[1],
        temperature_degc=degc,
        factor_table=resistance_table(),
        limits=run_limits(bank.modules, "low"),
    )


def _only(bank: Bank, names: tuple[str, ...]) -> Bank:
    for module in bank.modules:
        if module.name not in names:
            bank = bank.without(module.name)
    return bank


def _summed(found: Run, names: tuple[str, ...], points: float) -> Settled:
    time, events = found.time, found.events
    kept = np.unique(np.concatenate([[0], _places(time)]))
    current, voltage, soc = found.module_current[:, kept], found.voltage[:, kept], found.soc[:, kept]
    with np.errstate(all="ignore"):
        bands = np.stack([np.nanmin(current, 0), current[0], np.nanmax(current, 0)])
        volts = np.stack([np.nanmin(voltage, 0), voltage[0], np.nanmax(voltage, 0)])
    spread = soc.max(-1) - soc.min(-1)
    hours = [_first_below(time[kept], row, points) for row in spread]
    known = [h for h in hours if h is not None]
    level = (min(known) if known else None, None if len(known) < len(hours) else max(known))
    opened = tuple(dict.fromkeys(f"{e.at} {e.what}" for e in events if "opens" in e.what or "blocks" in e.what))
    before = (float(np.nanmin(spread[:, 0])), float(np.nanmax(spread[:, 0])))
    return Settled(names, frozen(time[kept]), frozen(bands), frozen(volts), level, before, opened, len(current))


def _places(time: Array) -> Array:
    """About 160 places, evenly spread in the logarithm of time; the last of nodes at one time."""
    grid = np.concatenate([[0.0], np.geomspace(0.01, max(float(time[-1]), 1.0), 160)])
    return np.clip(np.searchsorted(time, grid, side="right") - 1, 0, len(time) - 1)


def _first_below(time: Array, spread: Array, points: float) -> float | None:
    under = np.flatnonzero(spread <= points)
    return None if not len(under) else float(time[under[0]]) / 3600
