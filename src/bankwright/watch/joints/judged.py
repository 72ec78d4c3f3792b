"""What the days of joints say of a bank now: which group has grown, by how much, since when, and where it sits.

Gives: Judged, Grown, Inside, Stray, Readiness, judged(). Drops decide that something grows; shares and levels of the
voltages beside them tell growth in the wiring from growth inside a module and from a sensor, or leave it open.
Limits: one growth at a time is named; a second one shows when the first is mended or far larger than the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from bankwright.circuit.network import Array
from bankwright.circuit.run.bank import ModuleParts
from bankwright.physics.middle import middle
from bankwright.watch.joints.anew import Flags, Turn
from bankwright.watch.joints.growth import ALARMS, BASE_DAYS, BASE_HOURS, NOTE, Growth
from bankwright.watch.joints.held import Held, Waiting, epoch_days, held
from bankwright.watch.joints.hours import Day
from bankwright.watch.joints.sensors import too_coarse
from bankwright.watch.joints.shares import SCALE, Levels, Shares, levels_of, off_most, shares_of
from bankwright.watch.joints.wiring import Wiring

__all__ = ["LAST", "Grown", "Inside", "Judged", "Readiness", "Stray", "judged"]

WANTED = 0.3e-3 / 8  # ohm that the deviation of a day may be, where joints are heard as promised
AGREE = 2.6  # standard deviations within which two figures are one
ALIKE = 6.0  # of z squared by which another group explains the same nearly as well
INSIDE, INSIDE_OHMS = 5.5, 0.3e-3  # standard deviations, and the least growth inside a module that is said
STRAY, STRAY_VOLTS = 6.0, 10e-3  # the same of a voltage that stands off
LAST = 24  # h that are called now
HELD = 48  # h that a note has to hold

Where = Literal["wiring", "voltage sensor", "both", "not told"]


@dataclass(frozen=True, slots=True)
class Grown:
    """A group that has grown: size and deviation [ohm], its z, the hour it was first seen, what it may be else."""

    group: int
    size: float
    sigma: float
    z: float
    window: int
    first: int | None  # hour since 1970, None where only a note
    where: Where
    by_shares: tuple[float, float] | None  # the same growth by shares, and its deviation [ohm]
    alike: tuple[int, ...]
    alarm: bool


@dataclass(frozen=True, slots=True)
class Inside:
    """A module whose whole way has grown (or shrunk) by the shares, and not by the drops. [ohm]"""

    module: str
    size: float
    sigma: float


@dataclass(frozen=True, slots=True)
class Stray:
    """A voltage that has come to stand off what all modules share. [V]"""

    module: str
    size: float
    sigma: float


@dataclass(frozen=True, eq=False)
class Readiness:
    """Whether joints can be heard: days of the baseline, sensors too coarse, deviation of the last day (group,)."""

    days: int
    coarse: tuple[str, ...]
    dither: float  # the smallest noise over step of all modules; NaN where not known
    step: float  # V, the largest
    sigma: Array
    enough: bool  # current enough in the last day
    last: int | None  # the last hour that could be used, since 1970

    @property
    def ready(self) -> bool:
        """True where the baseline is whole and the voltages are fine enough."""
        return self.days >= BASE_DAYS and not self.coarse


@dataclass(frozen=True, eq=False)
class Judged:
    """Everything that is told of joints."""

    readiness: Readiness
    grown: Grown | None
    inside: tuple[Inside, ...]
    strays: tuple[Stray, ...]
    held: Held | None  # None while the first baseline is not whole

    @property
    def windows(self) -> tuple[Growth, ...]:
        """Every window; none while the first baseline is not whole."""
        return () if self.held is None else self.held.windows

    @property
    def waiting(self) -> tuple[Waiting, ...]:
        """Groups whose baseline began anew and is not whole yet."""
        return () if self.held is None else self.held.waiting


def judged(
    wiring: Wiring, parts: Sequence[ModuleParts], days: Sequence[Day], since: int, turns: Sequence[Turn] = ()
) -> Judged:
    """Judge days (those of every baseline, then those from ten days before the hour `since` on)."""
    bases = epoch_days(days, turns)
    first = bases[0]
    if len(first) < BASE_DAYS:
        return Judged(_readiness(first, days, None), None, (), (), None)
    later = [day for day in days if len(day) and day.hour[0] > first[-1].hour[-1]]
    found = held(wiring, days, turns)
    ready = _readiness(first, later or first, found)
    if not later:
        return Judged(ready, None, (), (), found)
    whole = [day for day in later if len(day) >= BASE_HOURS] or later  # a day's first idle hour tells no share
    shares, levels = shares_of(wiring, parts, whole, bases, turns), levels_of(wiring, whole, bases, turns)
    grown = None if ready.coarse else _grown(wiring, found, shares, since)
    inside, strays = _inside(wiring, shares, grown), _strays(wiring, levels)
    return Judged(ready, grown, inside, strays, found)


def _readiness(first: Sequence[Day], days: Sequence[Day], found: Held | None) -> Readiness:
    told = [day.sensor for day in (*first, *days[-LAST // 24 - 13 :]) if np.isfinite(day.sensor).any()]
    names = days[-1].modules if days else ()
    nothing = np.full((2, len(names)), np.nan)
    sensor = middle(np.array(told).reshape(len(told), -1).T).reshape(2, -1) if told else nothing
    coarse = tuple(name for name, bad in zip(names, too_coarse(sensor), strict=True) if bad)
    ratio = sensor[0] / sensor[1]
    dither = float(np.nanmin(ratio)) if np.isfinite(ratio).any() else float("nan")
    step = float(np.nanmax(sensor[1])) if np.isfinite(sensor[1]).any() else float("nan")
    sigma, enough = np.empty(0), False
    waits = [] if found is None else [each.group for each in found.waiting]
    for growth in () if found is None else found.windows:
        if growth.window == LAST and len(growth.hour):
            told_last = growth.sigma[-LAST:]
            good: Flags = np.asarray(np.isfinite(told_last).any(axis=0))
            sigma = np.where(good, np.nanmin(np.where(np.isfinite(told_last), told_last, np.inf), axis=0), np.nan)
            good[waits] = True
            enough = bool(good.all() and np.nanmax(sigma, initial=0.0) <= WANTED)
    last = next((int(day.hour[-1]) for day in reversed(days) if len(day)), None)
    return Readiness(len(first), coarse, dither, step, sigma, enough, last)


def _margins(found: Sequence[Growth]) -> Array:
    """z less its threshold (window, hour, group); far below where nothing is told."""
    return np.stack([np.nan_to_num(g.z, nan=-99.0) - alarm for g, alarm in zip(found, ALARMS, strict=True)])


def _grown(wiring: Wiring, holds: Held, shares: Shares, since: int) -> Grown | None:
    """The group that grew, if any has: by an alarm in the last day of data, else by a note that held two days."""
    found, now = holds.present(), holds.now(LAST)
    hour = found[0].hour
    if not now.any():
        return None
    margins = _margins(found)
    recent = margins[:, now].max(axis=1)  # window, group
    alarm = bool(recent.max() > 0.0)
    if not alarm and not _held(found, holds.now(HELD)):
        return None
    clear = np.stack([np.nan_to_num(g.clear[now], nan=-99.0).max(axis=0) for g in found])
    telling = clear[recent.max(axis=1) > 0.0] if alarm else clear[3:]
    strongest = telling.max(axis=0)
    group = int(strongest.argmax())
    size, sigma, best, window = _size(found, now, group)
    alike = np.flatnonzero((strongest > 0) & (strongest[group] ** 2 - strongest**2 < ALIKE))
    seen = np.flatnonzero((margins[:, :, group] > 0.0).any(axis=0) & (hour >= since))
    where, told = _where(wiring, shares, group, size, sigma)
    return Grown(
        group,
        size,
        sigma,
        best,
        window,
        int(hour[seen[0]]) if len(seen) else None,
        where,
        told,
        tuple(int(k) for k in alike if k != group),
        alarm,
    )


def _held(found: Sequence[Growth], late: Flags) -> bool:
    """Whether a note of a day or more has stood for two days, which are `late`."""
    for growth in found:
        if growth.window >= LAST and late.sum() >= HELD // 2:
            told = np.nan_to_num(growth.z[late], nan=-99.0)
            if bool((told > NOTE).all(axis=0).any()):
                return True
    return False


def _size(found: Sequence[Growth], now: np.ndarray, group: int) -> tuple[float, float, float, int]:
    """The longest window that still stands out as clearly as the clearest: its size, deviation, z and length."""
    best: tuple[float, float, float, int] = (float("nan"), float("nan"), -99.0, 0)
    for growth in found:
        z = np.nan_to_num(growth.z[now][:, group], nan=-99.0)
        place = int(z.argmax())
        if z[place] > best[2]:
            last = int(np.flatnonzero(now)[place])
            best = (float(growth.size[last, group]), float(growth.sigma[last, group]), float(z[place]), growth.window)
    return best


def _where(wiring: Wiring, shares: Shares, group: int, size: float, sigma: float) -> tuple[Where, tuple[float, float]]:
    """Lay the shares along the group's pattern: do they show the same growth?"""
    pattern = wiring.patterns[group]
    along = wiring.projection @ pattern * pattern.sum()
    weight = along / shares.sigma**2
    days = min(len(shares.day), 3)
    if not along @ weight > 0.0:  # their baseline is not whole yet
        return "not told", (float("nan"), float("inf"))
    by_shares = float((shares.growth[-days:] @ weight / (along @ weight)).mean())
    deviation = float(1 / np.sqrt(along @ weight))
    both = float(np.sqrt(deviation**2 + sigma**2 + (SCALE * size) ** 2))
    if deviation > size / 3:
        where: Where = "not told"
    elif by_shares - size > AGREE * both:
        where = "both"
    elif size - by_shares > AGREE * both and by_shares < AGREE * deviation:
        where = "voltage sensor"
    elif abs(size - by_shares) <= AGREE * both:
        where = "wiring"
    else:
        where = "not told"
    return where, (by_shares, deviation)


def _inside(wiring: Wiring, shares: Shares, grown: Grown | None) -> tuple[Inside, ...]:
    """Modules whose shares moved by what the drops do not show."""
    days = min(len(shares.day), 3)
    growth, sigmas = shares.growth[-days:].mean(axis=0), shares.sigma
    if grown is not None and grown.alarm:
        pattern = wiring.patterns[grown.group]
        by_drops = wiring.projection @ pattern * pattern.sum() * grown.size
        growth, sigmas = growth - by_drops, np.hypot(sigmas, SCALE * np.abs(by_drops).max())
    growth = off_most(growth)
    found = []
    for name, size, sigma in zip(wiring.modules, growth, sigmas, strict=True):
        if abs(size) > max(INSIDE * sigma, INSIDE_OHMS):
            found.append(Inside(name, float(size), float(np.hypot(sigma, SCALE * size))))
    return tuple(found)


def _strays(wiring: Wiring, levels: Levels) -> tuple[Stray, ...]:
    found = []
    for name, size, sigma in zip(wiring.modules, levels.moved[-1], levels.sigma, strict=True):
        if abs(size) > max(STRAY * sigma, STRAY_VOLTS):
            found.append(Stray(name, float(size), float(sigma)))
    return tuple(found)
