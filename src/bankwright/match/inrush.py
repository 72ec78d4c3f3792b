"""Current at the moment of joining: limits of each module at its own temperature, bands from meter and resistance.

Gives: Inrush, inrush(), charge_limit(), discharge_limit(), Limit, join_band(). The high end of a band takes every
resistance at its low end and the last digits of the meter against the joined ones; a gain error of one meter scales the
difference only, two meters do not cancel at all.
Limits: first instant only; what follows is match/settle.
Source: I0 = dV / sum of R, physics/joining [stated law]; the bank's own network, circuit/joining.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from bankwright.bank.asks import asking
from bankwright.bank.model import Bank, Module
from bankwright.circuit.joining import Joining, Order
from bankwright.circuit.network import Array, Network
from bankwright.circuit.run.bank import ModuleParts, bank_ports, parts_of
from bankwright.circuit.run.curves import resistance_table
from bankwright.circuit.run.ports import Ports
from bankwright.forms.finding import Input, Missing
from bankwright.forms.origin import FileKey
from bankwright.forms.wording import Figure
from bankwright.match.entry import STAND_IN_GAIN, ModuleReading, same_meter
from bankwright.physics.cell import resistance_factor
from bankwright.physics.joining import first_current, largest_difference

__all__ = ["Inrush", "Limit", "Most", "charge_limit", "discharge_limit", "inrush", "join_band"]

STILL = 1e-6  # A; rounding of the solve
NOTHING = 1e-5  # V; what a module takes that may not be charged at all
Side = Literal["charge", "discharge"]
Band = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit of current of one module; `value` None when the data sheet does not give it."""

    module: str
    side: Side
    value: float | None
    origin: FileKey
    missing: tuple[Missing, ...] = ()
    cold: bool = False  # below the lowest temperature of charging: the limit is 0
    note: str = ""
    hot: bool = False  # above the highest temperature of charging: the limit is 0

    @property
    def as_input(self) -> Input:
        """The limit as an input of a finding."""
        value = Figure(self.value if self.value is not None else float("nan"), "current")
        return Input("I_max", f"{self.side} limit of {self.module}{self.note}", value, self.origin)


def charge_limit(module: Module, degc: tuple[float, float] | None) -> Limit:
    """Charge limit at the coldest the module may be; 0 where it is too cold or too warm; steps of the sheet kept."""
    kind, sheet = module.kind, module.kind.charge
    key = FileKey(f"{kind.path}.charge")
    if degc is not None and sheet.lowest_degc is not None and degc[0] < sheet.lowest_degc:
        return Limit(
            module.name, "charge", 0.0, FileKey(f"{kind.path}.charge.lowest"), cold=True, note=f" at {degc[0]:g} °C"
        )
    if degc is not None and sheet.highest_degc is not None and degc[1] > sheet.highest_degc:
        path = FileKey(f"{kind.path}.charge.highest")
        return Limit(module.name, "charge", 0.0, path, note=f" at {degc[1]:g} °C", hot=True)
    if sheet.by_temperature:
        if degc is None:
            missing = _temperature_missing(module.name)
            return Limit(module.name, "charge", min(amps for _, amps in sheet.by_temperature), key, (missing,))
        held = [amps for at, amps in sheet.by_temperature if at <= degc[0]]
        return Limit(module.name, "charge", held[-1] if held else 0.0, key, cold=not held, note=f" at {degc[0]:g} °C")
    missing_limit = _limit_missing(kind.path, "charge") if sheet.continuous is None else ()
    return Limit(module.name, "charge", sheet.continuous, FileKey(f"{kind.path}.charge.continuous"), missing_limit)


def discharge_limit(module: Module) -> Limit:
    """Continuous discharge limit."""
    kind = module.kind
    missing = _limit_missing(kind.path, "discharge") if kind.discharge.continuous is None else ()
    path = FileKey(f"{kind.path}.discharge.continuous")
    return Limit(module.name, "discharge", kind.discharge.continuous, path, missing)


def _limit_missing(path: str, side: Side) -> tuple[Missing, ...]:
    how = f"The data sheet of the module names its largest continuous {side} current."
    return (asking(f"{path}.{side}.continuous", how),)


def _temperature_missing(module: str) -> Missing:
    return asking(f"readings.{module}.temperature")


@dataclass(frozen=True, slots=True)
class Most:
    """The largest difference at once when one module is closed onto the bank: lying above it, and lying below."""

    module: str
    count: int  # which closing
    above: float
    below: float
    lies_above: bool

    @property
    def here(self) -> float:
        """The one that holds for how this module lies."""
        return self.above if self.lies_above else self.below

    @property
    def least(self) -> float:
        """Whichever way a module may lie."""
        return min(self.above, self.below)


@dataclass(frozen=True, eq=False)
class Inrush:
    """Everything about the first instant."""

    bank: Bank
    readings: tuple[ModuleReading, ...]  # in the order of the bank's modules
    parts: tuple[ModuleParts, ...]
    ports: Ports
    network: Network | None
    note: str
    charge: tuple[Limit, ...]
    discharge: tuple[Limit, ...]
    joinings: dict[str, Joining]  # by end of the resistances: "low", "nominal", "high"
    degc: dict[str, tuple[float, float] | None]  # of each module

    @cached_property
    def order(self) -> Order:
        """The gentlest order, at the low end of the resistances."""
        return self.joinings["low"].gentlest()

    def limit_of(self, module: str) -> Limit:
        """Charge limit of one module at its own temperature."""
        return next(limit for limit in self.charge if limit.module == module)

    @property
    def index(self) -> dict[str, int]:
        """Place of each module."""
        return {name: k for k, name in enumerate(self.ports.names)}

    def joined(self, count: int) -> frozenset[int]:
        """The first `count` modules of the gentlest order."""
        return frozenset(self.index[name] for name in self.order.names[:count])

    def currents(self, joined: frozenset[int]) -> Array:
        """Currents at once of exactly these (3, M): least size, as read, largest size, each with its sign."""
        K = self.joinings["low"].matrix(joined)
        middle = self.joinings["nominal"].currents(joined)
        middle = np.where(np.abs(middle) < STILL, 0.0, middle)
        size_high, size_low = self._reach(K, +1), self._reach(self.joinings["high"].matrix(joined), -1)
        sign = np.where(middle < 0, -1.0, 1.0)
        ends = (np.where(size < STILL, 0.0, size) for size in (size_low, size_high))
        low, high = ends
        return np.stack([sign * low, middle, sign * high])

    def _reach(self, K: Array, side: int) -> Array:
        """Largest (+1) or smallest (-1) size of each current over what the meter leaves open."""
        flow = K @ np.array([r.voltage for r in self.readings])
        return np.asarray(np.maximum(np.abs(flow) + side * self.left_open(K, flow), 0.0))

    def left_open(self, K: Array, flow: Array) -> Array:
        """What the meter leaves open of currents `flow`, as a half width."""
        volts = np.array([r.voltage for r in self.readings])
        digits = np.array([r.digit for r in self.readings])
        gains = np.array([STAND_IN_GAIN if r.gain is None else r.gain for r in self.readings])
        open_ = np.abs(K) @ digits
        if same_meter(self.readings):
            return np.asarray(open_ + gains.max() * np.abs(flow))
        return np.asarray(open_ + np.abs(K) @ (gains * volts))

    def sided(self, joined: frozenset[int], side: Side) -> Array:
        """Sizes of the currents into (or out of) each module (3, M): least, as read, largest."""
        sign = -1.0 if side == "charge" else 1.0
        ends = []
        for end, way in (("high", -1.0), ("nominal", 0.0), ("low", 1.0)):
            K = self.joinings[end].matrix(joined)
            flow = sign * (K @ np.array([r.voltage for r in self.readings]))
            ends.append(flow + way * self.left_open(K, flow))
        found = np.maximum(np.array(ends), 0.0)
        return np.where(found < STILL, 0.0, found)

    def worst(self, side: Side) -> tuple[str, int, Figure, Limit]:
        """Module, closing and current nearest to its limit on one side, over every closing of the gentlest order."""
        limits = self.charge if side == "charge" else self.discharge
        best: tuple[float, str, int, Figure, Limit] | None = None
        for count in range(2, len(self.readings) + 1):
            joined = self.joined(count)
            low, middle, high = self.sided(joined, side)
            for k in sorted(joined):
                limit, size = limits[k], float(high[k])
                ratio = size if limit.value is None else size / limit.value if limit.value > 0 else np.inf * (size > 0)
                if best is None or (ratio, size) > (best[0], best[3].high or 0.0):
                    figure = Figure(float(middle[k]), "current", float(low[k]), size)
                    best = (float(ratio), limit.module, count, figure, limit)
        assert best is not None, "two modules at least"
        return best[1:]

    def difference(self, count: int) -> Figure:
        """How far the last one closed lies from the bank it is closed onto, with its band."""
        names = self.order.names[:count]
        k = self.index[names[-1]]
        before = self.joinings["nominal"]
        joined = self.joined(count - 1)
        on = [self.readings[i] for i in sorted(joined)]
        bus = self._bus_voltage(before, joined)
        value = abs(self.readings[k].voltage - bus)
        value = 0.0 if value < NOTHING else value
        digit = self.readings[k].digit + max(r.digit for r in on)
        gain = max(STAND_IN_GAIN if r.gain is None else r.gain for r in (*on, self.readings[k]))
        half = digit + gain * (value if same_meter(self.readings) else 2 * self.readings[k].voltage)
        return Figure(value, "voltage_drop", max(value - half, 0.0), value + half)

    def _bus_voltage(self, joining: Joining, joined: frozenset[int]) -> float:
        """Voltage of the joined bank at its modules, weighed by what each can give."""
        places = sorted(joined)
        weight = 1.0 / joining.resistance[places]
        return float((weight * joining.emf[places]).sum() / weight.sum())

    @cached_property
    def most(self) -> Most:
        """Largest difference this bank takes at once: the closing of the gentlest order that leaves least room."""
        joining, names, found = self.joinings["low"], self.order.names, []
        for count in range(2, len(names) + 1):
            module = self.index[names[count - 1]]
            above, below = (
                volts if volts > NOTHING else 0.0
                for volts in joining.largest_difference(module, self.joined(count - 1))
            )
            lies_above = self.joinings["nominal"].currents(self.joined(count))[module] >= 0
            used = (self.difference(count).high or 0.0) / max(above if lies_above else below, 1e-9)
            found.append((used, Most(names[count - 1], count, above, below, bool(lies_above))))
        return max(found, key=lambda row: row[0])[1]

    @cached_property
    def most_of_two(self) -> float:
        """The same for two modules alone, the plainest case: limit times loop."""
        least = min(
            (limit.value for limit in (*self.charge, *self.discharge) if limit.value is not None), default=np.inf
        )
        loop = sum(sorted(float(ohm) for ohm in self.joinings["low"].resistance)[:2])
        return float(largest_difference(least, loop))


def inrush(bank: Bank, readings: Sequence[ModuleReading], degc: dict[str, tuple[float, float] | None]) -> Inrush:
    """Prepare the first instant for the modules that were read; the others stay away."""
    names = {reading.module for reading in readings}
    for module in bank.modules:
        if module.name not in names:
            bank = bank.without(module.name)
    ordered = tuple(next(r for r in readings if r.module == m.name) for m in bank.modules)
    parts = tuple(parts_of(module) for module in bank.modules)
    ports, network, note = bank_ports(bank, "low")
    charge = tuple(charge_limit(module, degc[module.name]) for module in bank.modules)
    discharge = tuple(discharge_limit(module) for module in bank.modules)
    joinings = {
        end: _joining(ports, ordered, parts, charge, discharge, degc=degc, end=end)
        for end in ("low", "nominal", "high")
    }
    return Inrush(bank, ordered, parts, ports, network, note, charge, discharge, joinings, degc)


def _joining(
    ports: Ports,
    readings: Sequence[ModuleReading],
    parts: Sequence[ModuleParts],
    charge: Sequence[Limit],
    discharge: Sequence[Limit],
    *,
    degc: dict[str, tuple[float, float] | None],
    end: str,
) -> Joining:
    def column(limits: Sequence[Limit]) -> Array:
        known = [limit.value for limit in limits if limit.value]
        stand_in = min(known) if known else np.inf
        return np.array([stand_in if x.value is None else max(x.value, 1e-6) for x in limits])

    ohm = [_warm(part, degc[part.name], end) for part in parts]
    volts = np.array([reading.voltage for reading in readings])
    return Joining(ports, volts, np.array(ohm), column(charge), column(discharge))


def _warm(part: ModuleParts, degc: tuple[float, float] | None, end: str) -> float:
    """Ohmic resistance at the module's own temperature: the low end is that of the warmest it may be."""
    at_25 = float(getattr(part.ohmic, end))
    ends = (25.0, 25.0) if degc is None else degc
    temperature = {"low": ends[1], "high": ends[0], "nominal": sum(ends) / 2}[end]
    factor = float(resistance_factor(np.clip(temperature, -25.0, 45.0), *resistance_table()))
    return part.metal + (at_25 - part.metal) * factor


def join_band(difference: float, loop: tuple[float, float]) -> tuple[float, float]:
    """Least and largest current at once for a difference and the ends of the loop's resistance."""
    return float(first_current(difference, loop[1])), float(first_current(difference, loop[0]))
