"""A month of a bank whose state of charge is known: the run engine as truth, sensors with their faults in front of it.

Invented values, said where they stand: days, spread of the modules, sizes of the sensors' errors. Truth curves are
published cells (handbook); the estimator is given the others.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

import numpy as np

from bankwright.circuit.run.curves import Curve, published_curves
from bankwright.circuit.run.loads import Profile, RunLoad
from bankwright.circuit.run.modules import run_modules
from bankwright.circuit.run.ports import Ports
from bankwright.circuit.run.run import run
from bankwright.watch.charge.library import GRID, on_grid

CELLS, CAPACITY = 16, 100.0
OHMIC, QUICK, SLOW = 8e-3, 5.5e-3, 5e-3  # ohm of a module, 35 s and 1000 s
STEP = 600.0  # s of the plan
HALF_GAP, GAP_RATE = 0.012, 20.0  # V a cell between charge and discharge, half of it; per unit of charge
TRUTHS = {"26650": ("26650 discharge", "26650 charge"), "18650": ("18650",), "parameter set": ("parameter set",)}


@dataclass(frozen=True)
class Days:
    """How a bank is used: state of charge at dawn and at the end of the day, what the evening takes, full days."""

    top: tuple[float, float] = (0.62, 0.86)
    bottom: tuple[float, float] = (0.22, 0.42)
    evening: tuple[float, float] = (0.15, 0.30)
    full_every: int | None = None


@dataclass(frozen=True)
class Sensors:
    """Errors of the sensors of a module: bounds of offset [A] and gain; steps, noise; those of the voltage."""

    offset: float = 0.3
    gain: float = 0.01
    step: float = 0.1
    noise: float = 0.05
    volts_offset: float = 0.03
    volts_step: float = 0.01
    drift: float = 0.0  # A per sqrt(day)


@dataclass(frozen=True)
class Month:
    """Truth and readings, (time, module)."""

    time: np.ndarray
    current: np.ndarray  # as read
    volts: np.ndarray  # as read, of the module
    soc: np.ndarray  # true
    capacity: np.ndarray  # true, Ah
    offset: np.ndarray = field(default_factory=lambda: np.zeros(0))


@cache
def truth_curve(name: str) -> np.ndarray:
    """Mean curve of a published cell on GRID, [V]."""
    curves = {c.name: c for c in published_curves()}
    tables = [on_grid(curves[k].soc, curves[k].volts) for k in TRUTHS[name]]
    return np.maximum.accumulate(np.mean(tables, axis=0) + np.arange(len(GRID)) * 1e-7)


def others(name: str) -> tuple[Curve, ...]:
    """Curves of the handbook without those of one cell."""
    return tuple(c for c in published_curves() if c.name not in TRUTHS[name])


def plan(days: int, seed: int, use: Days) -> np.ndarray:
    """Current of a bank of 1 Ah over steps of 600 s, discharge positive; invented."""
    luck = np.random.default_rng(seed)
    hour = (np.arange(int(86400 / STEP)) + 0.5) * STEP / 3600
    soc, answer = 0.55, []
    for day in range(days):
        is_full = use.full_every is not None and (day + 1) % use.full_every == 0
        top, bottom = (0.98 if is_full else luck.uniform(*use.top)), luck.uniform(*use.bottom)
        sun = np.clip(np.sin((hour - 8) / 9 * np.pi), 0, None) * np.clip(luck.normal(1, 0.35, len(hour)), 0.1, 2)
        load = 0.4 + 1.5 * np.exp(-(((hour - 19.5) / 2) ** 2)) + 0.5 * np.exp(-((hour - 7) ** 2))
        load *= np.clip(luck.lognormal(0, 0.5, len(hour)), 0.1, 4)
        load[(hour > 1.5) & (hour < 4.0)] = 0.03
        current = np.zeros(len(hour))
        night, light, late = hour < 8, (hour >= 8) & (hour < 17), hour >= 17
        down = max(soc - bottom, 0.05)
        current[night] = load[night] / load[night].sum() * down
        up = top - (soc - down)
        if is_full:  # a charger that tapers and stops
            shape = np.concatenate([np.ones(30), np.linspace(1, 0.25, 11), np.linspace(0.25, 0.06, 8), np.zeros(5)])
            current[light] = -shape / shape.sum() * up
        else:
            current[light] = -sun[light] / sun[light].sum() * (up + 0.1) + load[light] / load[light].sum() * 0.1
        current[late] = load[late] / load[late].sum() * luck.uniform(*use.evening)
        soc -= current.sum()
        answer.append(current / (STEP / 3600))
    return np.concatenate(answer)


@cache
def month(
    truth: str,
    modules: int = 4,
    days: int = 30,
    seed: int = 1,
    use: Days = Days(),
    sensors: Sensors = Sensors(),
    bumps: float = 0.001,
) -> Month:
    """Run a bank and read it. Modules differ by 2 % in capacity, 10 % in resistance, 1 mV in their curves."""
    luck = np.random.default_rng(1000 + seed)
    curves = [_own(truth_curve(truth), luck, bumps) for _ in range(modules)]
    capacity = CAPACITY * (1 + 0.02 * luck.uniform(-1, 1, modules))
    grown = [1 + 0.1 * luck.uniform(-1, 1, modules) for _ in range(3)]
    made = run_modules(
        curves,
        capacity,
        OHMIC * grown[0],
        cells=CELLS,
        curve_of=np.arange(modules),
        branch_1=(QUICK * grown[1], 35.0),
        branch_2=(SLOW * grown[2], 1000.0),
    )
    current = plan(days, seed, use) * capacity.sum()
    load = RunLoad("load", "current", Profile(tuple(np.arange(len(current)) * STEP), tuple(current)))
    ports = Ports.common_bar(1e-3 * (1 + 0.2 * luck.uniform(-1, 1, modules)), 5e-4)
    until = len(current) * STEP - 1
    start = 0.55 + 0.01 * luck.uniform(-1, 1, modules)
    found = run(ports, made, [load], until=until, soc=start, longest=120.0, tolerance=2e-4)
    assert found.ended == "at its time", found.ended
    time = np.arange(30.0, until - 60, 60.0)
    i, v, z = (
        np.stack([np.interp(time, found.time, column[:, m]) for m in range(modules)], axis=1)
        for column in (found.module_current, found.voltage, found.soc)
    )
    v = v + CELLS * HALF_GAP * _turned(z)
    return _read(Month(time, i, v, z, capacity), sensors, np.random.default_rng(5000 + seed))


def _turned(soc: np.ndarray) -> np.ndarray:
    """How far the gap of each module has turned, -1 discharged .. 1 charged; laid over a run that knows none."""
    answer, now = np.zeros(soc.shape), np.zeros(soc.shape[1])
    for k, rise in enumerate(np.diff(soc, axis=0)):
        now = np.sign(rise) + (now - np.sign(rise)) * np.exp(-GAP_RATE * np.abs(rise))
        answer[k + 1] = now
    return answer


def _own(base: np.ndarray, luck: np.random.Generator, bumps: float) -> tuple[np.ndarray, np.ndarray]:
    bump = np.interp(GRID, np.linspace(0, 1, 9), luck.normal(0, bumps, 9))
    return GRID, np.maximum.accumulate(base + bump + np.arange(len(GRID)) * 1e-7)


def _read(true: Month, sensors: Sensors, luck: np.random.Generator) -> Month:
    count = true.current.shape[1]
    offset, gain = luck.uniform(-1, 1, count) * sensors.offset, 1 + luck.uniform(-1, 1, count) * sensors.gain
    current = true.current * gain + offset + luck.normal(0, sensors.noise, true.current.shape)
    current += np.cumsum(luck.normal(0, sensors.drift / np.sqrt(1440), current.shape), axis=0)
    volts = true.volts + luck.normal(0, sensors.volts_offset, count) + luck.normal(0, 0.003, current.shape)
    current = np.round(current / sensors.step) * sensors.step
    return Month(
        true.time, current, np.round(volts / sensors.volts_step) * sensors.volts_step, true.soc, true.capacity, offset
    )
