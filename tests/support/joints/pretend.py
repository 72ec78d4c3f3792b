"""A pretend bank whose joints, cells and sensors are known, and what its modules would say, day by day.

Gives: Sensors, Fault, PretendBank. Figures of modules and sensors are those the reference study of joint growth states
(R0 6 mohm + 1.5 mohm of metal, 5 mohm/35 s, 5 mohm/1000 s, hysteresis 128 mV; gains 1 % and 0.3 %, offsets 0.3 A and
30 mV, noise 30 mA and 3 mV): assumptions, nothing of it was measured on a module.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from bankwright.bank.model import Bank
from bankwright.circuit.run.bank import bank_ports
from bankwright.circuit.run.curves import published_curves, resistance_table
from bankwright.watch.joints.cycles import Cycles, checked
from support.joints.engine import day, heard
from support.joints.house import STEP, STEPS, day_power

SLOT = 0.16  # s to read one module
SCALE = {2: 0.4, 4: 0.6, 8: 1.0, 16: 1.8}


@dataclass(frozen=True)
class Sensors:
    """What a trial changes about the telemetry; the defaults are the common case."""

    period: float = 2.0  # s from poll to poll
    step_v: float = 0.010
    noise_v: float = 0.003
    step_i: float = 0.01
    noise_i: float = 0.03
    register: float = 1.0  # s, own clock of the registers
    averaged: float = 0.0  # s that the current is averaged
    dead_band: float = 0.0  # A
    lost: float = 0.0  # part of the readings that are missing
    stale: float = 0.0  # part of the readings that repeat the one before
    garbage: float = 0.0  # part that reads 0
    charge_gain: float = 0.0  # further gain while charging
    volts_late: float = 0.0  # s that voltages are older than currents


@dataclass(frozen=True)
class Fault:
    """Something that happens from a moment on.

    `what`: element, cells, volts gain, volts zero, amps gain, amps zero, warm, off.
    """

    what: str
    at: int | str  # number of the module, or name of the element
    size: float
    since: float  # days
    over: float = 0.0  # days until it has its size

    def now(self, time: float) -> float:
        """Its size at a time in days."""
        if time < self.since:
            return 0.0
        return self.size * (min((time - self.since) / self.over, 1.0) if self.over else 1.0)


@dataclass
class PretendBank:
    """Hidden truth of one bank; days() runs on."""

    bank: Bank
    seed: int
    sensors: Sensors = field(default_factory=Sensors)
    faults: Sequence[Fault] = ()
    busy: float = 1.0

    def __post_init__(self) -> None:
        """Draw the bank."""
        draw = self.draw = np.random.default_rng([self.seed, len(self.bank.modules), 4711])
        n = self.count = len(self.bank.modules)

        def about(spread: float) -> np.ndarray:
            return 1 + spread * draw.standard_normal(n)

        self._wire(draw)
        self.cells, self.metal = 6.0e-3 * about(0.05), 1.5e-3 * about(0.1)
        self.one, self.two = 5e-3 * about(0.08), 5e-3 * about(0.1)
        self.tau = 35 * about(0.08), 1000 * about(0.1)
        self.charge, self.hyst, self.cooling = 360e3 * about(0.02), 0.128 * about(0.1), 6.0 * about(0.1)
        self.gain_i, self.zero_i = 1 + 0.01 * draw.uniform(-1, 1, n), 0.3 * draw.uniform(-1, 1, n)
        self.gain_v, self.zero_v = 1 + 0.003 * draw.uniform(-1, 1, n), 0.03 * draw.uniform(-1, 1, n)
        self.warm = 1e-4 * draw.uniform(-1, 1, n), 5e-3 * draw.uniform(-1, 1, n), 3e-5 * draw.uniform(-1, 1, n)
        self.phase, self.drift = draw.uniform(0, 1, n), np.zeros(n)
        self.rack, self.wander = np.linspace(0, 1, n) * draw.uniform(1, 4), np.zeros(n)
        self.air, self.season = draw.uniform(14, 24), draw.uniform(-1, 1)
        self.state = np.zeros((6, n))
        self.state[0], self.state[4] = 0.55 + 0.02 * draw.standard_normal(n), self.air + self.rack
        curve = published_curves()[3].table
        self.ocv = np.interp(np.linspace(0, 1, 1001), *curve) * self.bank.modules[0].kind.cells
        degc, factor = resistance_table()
        self.factor = np.array(degc), np.log(np.array(factor))

    def _wire(self, draw: np.random.Generator) -> None:
        ports, network, _ = bank_ports(self.bank)
        assert network is not None
        assert ports.edge_of_module is not None
        own = np.array([element.kind == "module" for element in network.elements])
        self.names = [element.name for element in network.elements]
        self.ohms = np.where(own, 0.0, network.resistances() * (1 + 0.12 * draw.standard_normal(len(own))))
        self.patterns = np.asarray(ports.edge_of_module)[network.edge_of]

    def loops(self, time: float) -> np.ndarray:
        """Resistance matrix of the wiring in the modules' loops at a time in days."""
        ohms = self.ohms.copy()
        for fault in self.faults:
            if fault.what == "element":
                ohms[self.names.index(str(fault.at))] += fault.now(time)
        return np.asarray(np.einsum("e,em,en->mn", ohms, self.patterns, self.patterns))

    def _of(self, what: str, time: float) -> np.ndarray:
        found = np.zeros(self.count)
        for fault in self.faults:
            if fault.what == what:
                found[int(fault.at)] += fault.now(time)
        return found

    def days(self, count: int, first: int = 0) -> Iterator[tuple[Cycles, np.ndarray]]:
        """Cycles of each day, and mean temperatures (24, module) as the modules tell them in whole kelvin."""
        for number in range(first, first + count):
            current, voltage, warm = self._day(number)
            yield self._heard(number, current, voltage, warm), self._told(warm)

    def _day(self, number: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        draw, n = self.draw, self.count
        self.season = float(np.clip(self.season + draw.normal(0, 0.04), -1, 1))
        self.air += 0.15 * (15 + 5 * self.season - self.air) + draw.normal(0, 0.8)
        self.wander = 0.85 * self.wander + draw.normal(0, 0.35 * np.sqrt(1 - 0.85**2), n)
        hours = np.arange(1440) / 60
        base = self.air + 2 * np.sin(2 * np.pi * (hours - 9) / 24) + np.cumsum(draw.normal(0, 0.02, 1440))
        air = base[:, None] + self.rack * (1 + 0.25 * self.season + 0.15 * draw.standard_normal()) + self.wander
        air += self._of("warm", number + 0.5)
        power = day_power(draw, SCALE.get(n, n / 8), self.season, self.busy)
        loops = np.array([self.loops(number + hour / 24) for hour in range(24)])
        cells = self.cells + self._of("cells", number + 0.5)
        return day(power, loops, cells, self.metal, self.one, self.two, *self.tau, self.charge, self.hyst,
                   self.cooling, self.state, air, self.ocv, *self.factor, STEP)  # fmt: skip

    def _told(self, warm: np.ndarray) -> np.ndarray:
        return np.round(warm.reshape(24, 60, -1).mean(axis=1))

    def _heard(self, number: int, current: np.ndarray, voltage: np.ndarray, warm: np.ndarray) -> Cycles:
        s, n, draw, time = self.sensors, self.count, self.draw, number + 0.5
        period = max(s.period, n * SLOT)
        at = np.arange(1.0, 86400 - 3, period)
        at = at + draw.uniform(0, 0.1, len(at))
        self.drift += draw.normal(0, 0.03, n)
        warmer = warm.mean(axis=0) - 20
        gain_i = self.gain_i * (1 + self.warm[0] * warmer) * (1 + self._of("amps gain", time))
        zero_i = self.zero_i + self.drift + self.warm[1] * warmer + self._of("amps zero", time)
        gain_v = self.gain_v * (1 + self.warm[2] * warmer) * (1 + self._of("volts gain", time))
        zero_v = self.zero_v + self._of("volts zero", time)
        amps, volts = self._sensed(current), voltage
        if s.volts_late:
            volts = np.roll(voltage, int(s.volts_late / STEP), axis=0)
        noise = draw.standard_normal((2, len(at), n), np.float32)
        i, v = heard(amps, volts, np.arange(n) * SLOT, at, np.array([np.full(n, s.register), self.phase * s.register]),
                     s.noise_i * noise[0], s.noise_v * noise[1], s.step_i, s.step_v, gain_i, gain_v, zero_i, zero_v,
                     STEP)  # fmt: skip
        self._spoil(i, v, time)
        kind = self.bank.modules[0].kind
        return checked(number * 86400.0 + at, i, v, kind.cells, period, late=np.arange(n) * SLOT)

    def _sensed(self, current: np.ndarray) -> np.ndarray:
        s = self.sensors
        if s.averaged:
            width = int(s.averaged / STEP)
            total = np.cumsum(np.concatenate([np.zeros((width, self.count)), current]), axis=0)
            current = (total[width:] - total[:-width]) / width
        if s.charge_gain:
            current = np.where(current < 0, current * (1 + s.charge_gain), current)
        return np.where(np.abs(current) < s.dead_band, 0.0, current) if s.dead_band else current

    def _spoil(self, i: np.ndarray, v: np.ndarray, time: float) -> None:
        s, draw = self.sensors, self.draw
        if s.stale:
            old = np.flatnonzero(draw.random(i.size) < s.stale)
            rows, columns = np.unravel_index(old[old >= self.count], i.shape)
            i[rows, columns], v[rows, columns] = i[rows - 1, columns], v[rows - 1, columns]
        if s.garbage:
            rows, columns = np.nonzero(draw.random(i.shape) < s.garbage)
            i[rows, columns] = v[rows, columns] = 0.0
        if s.lost:
            rows, columns = np.nonzero(draw.random(i.shape) < s.lost)
            i[rows, columns] = v[rows, columns] = np.nan
        gone = self._of("off", time) > 0
        i[:, gone], v[:, gone] = 0.0, v[:, gone]


assert STEPS % 20 == 0
