"""One month of one pretend bank through the product's own reduction, baseline and windows, and what came of it.

Gives: Plan, Trial, trial(), KINDS. The first 14 days are the baseline, eight healthy days follow; then, where the plan
says so, a joint really grows in the simulation. Besides, growth is added to the sums of the healthy part (linear in the
contrast).
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field, replace

import numpy as np

from bankwright.watch.joints.growth import ALARMS, BASE_DAYS, Growth, Hours, base_days, base_of, growths, hours_of
from bankwright.watch.joints.hours import Day, reduced
from bankwright.watch.joints.wiring import Wiring, wiring_of
from support.joints.bound import group_bounds, unit_bound
from support.joints.files import bank_of
from support.joints.pretend import Fault, PretendBank, Sensors

HEALTHY = 8  # days between baseline and fault
KINDS: dict[str, Sensors] = {
    "2 s, 10 mV": Sensors(),
    "5 s, 10 mV": Sensors(period=5.0),
    "30 s, 10 mV": Sensors(period=30.0),
    "2 s, sum of cells": Sensors(step_v=0.001, noise_v=0.0024),
    "2 s, 10 mV, noise 2.5 mV": Sensors(noise_v=0.0025),
    "2 s, 10 mV, noise 1 mV": Sensors(noise_v=0.001),
    "2 s, 20 mV": Sensors(step_v=0.02),
    "2 s, 100 mV": Sensors(step_v=0.1),
    "current step 100 mA": Sensors(step_i=0.1),
    "dead band 0.5 A": Sensors(dead_band=0.5),
    "current averaged 8 s": Sensors(averaged=8.0),
    "registers every 5 s": Sensors(register=5.0),
    "charge gain 1 % off": Sensors(charge_gain=0.01),
    "voltage 2 s older": Sensors(volts_late=2.0),
    "stale 5 %": Sensors(stale=0.05),
    "stale 30 %": Sensors(stale=0.3),
    "missing 5 %": Sensors(lost=0.05),
    "garbage 1 in 5000": Sensors(garbage=2e-4),
}
# faults of sensors and cells that are no growth of a joint, from the first day after the baseline on
OTHERS: dict[str, tuple[str, float]] = {
    "gain of a current +0.5 %": ("amps gain", 0.005),
    "gain of a voltage +0.1 %": ("volts gain", 0.001),
    "offset of a current +1 A": ("amps zero", 1.0),
    "offset of a voltage +50 mV": ("volts zero", 0.05),
    "one module +3 K": ("warm", 3.0),
    "cells of one module +1 mohm": ("cells", 1e-3),
}


@dataclass(frozen=True)
class Plan:
    """What is tried: so many modules, wiring, sensors by name, and the growth that comes (0: none)."""

    modules: int
    wiring: str
    kind: str
    seed: int
    growth: float = 0.0  # ohm
    other: str = ""  # of OTHERS
    busy: float = 1.0


@dataclass
class Trial:
    """What came of a month."""

    plan: Plan
    hours: int  # healthy ones that were looked at
    worst: float  # largest |z| of them
    negative: float  # smallest
    alarms: int  # false alarms, at most one a day
    ratio: list[tuple[str, float, float, float]] = field(
        default_factory=list
    )  # class, sums of (size/bound)2 and size2, count
    added: list[tuple[float, str, float, bool]] = field(
        default_factory=list
    )  # size, class, hours to alarm, right group
    grown: list[tuple[float, str, float, bool, float]] = field(default_factory=list)  # and size after 48 h
    last_day: float = 0.0  # largest |z| of the last day, with another fault
    sensor: tuple[float, float] = (0.0, 0.0)  # noise and step as told [V]

    def values(self) -> dict[str, object]:
        """As JSON values."""
        return asdict(self)


def class_of(wiring: Wiring, group: int) -> str:
    """A branch of one module, or what several share."""
    return "branch" if len(wiring.groups[group].modules) == 1 else "shared"


def trial(plan: Plan) -> Trial:
    """Run it."""
    bank = bank_of(plan.modules, plan.wiring)
    wiring = wiring_of(bank)
    draw = np.random.default_rng([plan.seed, plan.modules, 99])
    group = int(draw.integers(len(wiring.groups)))
    start = BASE_DAYS + (HEALTHY if plan.growth else 0) + draw.uniform(0, 1)
    faults = []
    if plan.growth:
        faults = [Fault("element", wiring.groups[group].names[0], plan.growth, start)]
    if plan.other:
        what, size = OTHERS[plan.other]
        faults = [Fault(what, int(draw.integers(plan.modules)), size, float(BASE_DAYS))]
    made = PretendBank(bank, plan.seed, KINDS[plan.kind], faults, plan.busy)
    long = 16 if not plan.growth else HEALTHY + (11 if plan.growth < 2e-4 else 3)
    days, bounds = _days(made, wiring, BASE_DAYS + long, plan)
    base = base_of(wiring, hours_of(wiring, base_days(days)))
    later = hours_of(wiring, days[BASE_DAYS:])
    found = growths(later, base)
    healthy = later.hour < int(start * 24) if plan.growth else later.hour < 24 * (BASE_DAYS + long)
    told = _healthy(plan, wiring, later, found, healthy, bounds)
    told.sensor = tuple(float(v) for v in np.nanmedian(days[0].sensor, axis=1))  # type: ignore[assignment]
    if plan.growth:
        alarm, right, size = _found(later, found, int(start * 24), group)
        told.grown.append((plan.growth, class_of(wiring, group), alarm, right, size))
    elif not plan.other:
        told.added = list(_added(wiring, later, found, draw))
    else:
        told.last_day = float(np.nanmax(np.abs([np.nanmax(np.abs(g.z[-24:])) for g in found])))
    return told


def _days(made: PretendBank, wiring: Wiring, count: int, plan: Plan) -> tuple[list[Day], list[np.ndarray]]:
    days, bounds = [], []
    sensors = KINDS[plan.kind]
    sigma_v = float(np.hypot(sensors.noise_v, sensors.step_v / 12**0.5))
    sigma_i = float(np.hypot(sensors.noise_i, sensors.step_i / 12**0.5))
    for number, (cycles, warm) in enumerate(made.days(count)):
        days.append(reduced(wiring.modules, cycles, warm, number))
        if number >= BASE_DAYS and number % 4 == 0:
            unit = unit_bound(cycles.time, cycles.current.mean(axis=1), cycles.period, sigma_v, sigma_i)
            count = len(wiring.modules)
            bounds.append(group_bounds(wiring, unit, days[-1].gram[:, :count, :count].sum(axis=0)))
    return days, bounds


def _healthy(
    plan: Plan, wiring: Wiring, later: Hours, found: tuple[Growth, ...], healthy: np.ndarray, bounds: list[np.ndarray]
) -> Trial:
    highest = np.nanmax(np.stack([np.nan_to_num(g.z[healthy], nan=-99.0).max(axis=1) for g in found]), axis=0)
    lowest = np.nanmin(np.stack([np.nan_to_num(g.z[healthy], nan=99.0).min(axis=1) for g in found]), axis=0)
    over = np.stack(
        [np.nan_to_num(g.z[healthy], nan=-99.0).max(axis=1) > a for g, a in zip(found, ALARMS, strict=True)]
    )
    alarms = len(set((later.hour[healthy][over.any(axis=0)] // 24).tolist()))
    told = Trial(plan, int(healthy.sum()), float(highest.max()), float(lowest.min()), alarms)
    bound = np.sqrt(1 / np.mean([1 / b**2 for b in bounds], axis=0))
    day = next(g for g in found if g.window == 24)
    ends = healthy & (later.hour % 24 == 23)
    for name in ("branch", "shared"):
        which = [k for k in range(len(wiring.groups)) if class_of(wiring, k) == name]
        sizes = day.size[ends][:, which]
        good = np.isfinite(sizes)
        ratio = float(((sizes / bound[which]) ** 2)[good].sum())
        told.ratio.append((name, ratio, float((sizes[good] ** 2).sum()), float(good.sum())))
    return told


def _found(later: Hours, found: tuple[Growth, ...], start: int, group: int) -> tuple[float, bool, float]:
    """Hours to the first alarm, whether it named the right group, and the size seen after two days."""
    best = np.stack([np.nan_to_num(g.z, nan=-99.0) - a for g, a in zip(found, ALARMS, strict=True)])
    after = later.hour >= start
    over = np.flatnonzero(after & (best.max(axis=(0, 2)) > 0.0))  # best: window, hour, group
    size = next(g for g in found if g.window == 24).size
    late = np.flatnonzero(later.hour >= start + 47)
    seen = float(size[late[0], group]) if len(late) else float("nan")
    if not len(over):
        return float("inf"), False, seen
    first = int(over[0])
    clear = [
        np.nan_to_num(g.clear[first], nan=-99.0) for g, row in zip(found, best, strict=True) if row[first].max() > 0
    ]
    named = int(np.stack(clear).max(axis=0).argmax())
    return float(later.hour[first] - start + 1), named == group, seen


def _added(wiring: Wiring, later: Hours, found: tuple[Growth, ...], draw: np.random.Generator):
    """Growth added to the sums, at random hours and groups."""
    for size in (1e-4, 2e-4, 3e-4):
        for _ in range(3):
            group, place = int(draw.integers(len(wiring.groups))), int(draw.integers(24, len(later.hour) - 240))
            moved = later.A[:, :, group] * size
            moved[:place] = 0.0
            sums = np.concatenate([np.zeros((1, moved.shape[1])), np.cumsum(moved, axis=0)])
            own = np.concatenate([np.zeros((1, moved.shape[1])), np.cumsum(np.einsum("hgg->hg", later.A), axis=0)])
            grown = []
            for g in found:
                begin = np.searchsorted(later.hour, later.hour - g.window + 1)
                end = np.arange(len(later.hour)) + 1
                with np.errstate(invalid="ignore", divide="ignore"):
                    more = (sums[end] - sums[begin]) / (own[end] - own[begin])
                grown.append(replace(g, size=g.size + more, z=g.z + more / g.sigma))
            alarm, right, _ = _found(later, tuple(grown), int(later.hour[place]), group)
            yield size, class_of(wiring, group), alarm, right
