"""What the shares of the current say beside the drops: growth in a module's whole way, cells included.

Gives: SCALE, Shares, shares_of(), Levels, levels_of(), off_most(). A module's quick share of the mean current falls as
its resistance grows, wherever inside its branch; the drops see growth outside the voltage's sensing point alone. So
both grown: the wiring; shares alone: inside the module, or its current sensor; drops alone: the voltage sensor.
Limits: a day each; temperature is taken off with the modules' own readings, in whole kelvin at worst, so that shares
are good for some 0.3 mohm and no finer. A module that ages and one that cools are one thing here.
Sources: share of one of many in parallel, 1/(R + growth) [stated law]; cells over temperature: handbook
lfp/resistance-temperature; lags and the prior on the temperature's factor: docs/watch-joints.md.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from bankwright.circuit.network import Array
from bankwright.circuit.run.bank import ModuleParts
from bankwright.circuit.run.curves import resistance_table
from bankwright.watch.joints.anew import Turn, modules_anew
from bankwright.watch.joints.growth import BASE_DAYS
from bankwright.watch.joints.hours import Day
from bankwright.watch.joints.wiring import Wiring

__all__ = ["SCALE", "Levels", "Shares", "levels_of", "off_most", "shares_of"]

LEAST = 30e-6  # ohm, no finer than this is a share believed; common practice, no source
TIGHT = 0.5  # standard deviation of the bank's own temperature factor about the table's
LEAST_VOLTS = 2e-3
MOST = 3.0  # of the ohmic resistance, that modules answer with; beyond it the voltage tells something else
SCALE = 0.15  # of a growth told by shares: how well the resistance is known that it is read by [own trials]


@dataclass(frozen=True, eq=False)
class Shares:
    """Growth of each module's whole way beside the mean of all (day, module) [ohm], and its deviation (module,)."""

    day: np.ndarray
    growth: Array
    sigma: Array


def shares_of(
    wiring: Wiring,
    parts: Sequence[ModuleParts],
    days: Sequence[Day],
    bases: Sequence[Sequence[Day]],
    turns: Sequence[Turn] = (),
) -> Shares:
    """Growth of every day against each module's own baseline, temperature taken off; a deviation without end where
    that is not whole yet."""

    def against(base: Sequence[Day]) -> tuple[Array, Array]:
        return _growth(wiring, parts, days, base)

    growth, sigma = _by_own(wiring, (len(days), len(wiring.modules)), bases, turns, against)
    return Shares(_numbers(days), growth, sigma)


def _numbers(days: Sequence[Day]) -> np.ndarray:
    return np.array([int(day.hour[0]) // 24 for day in days], np.int64)


def _by_own(
    wiring: Wiring,
    shape: tuple[int, int],
    bases: Sequence[Sequence[Day]],
    turns: Sequence[Turn],
    against: Callable[[Sequence[Day]], tuple[Array, Array]],
) -> tuple[Array, Array]:
    """Each module by the baseline that is its own, beside the mean of those that were the same all that time."""
    own = modules_anew(wiring, turns)
    moved, sigma = np.zeros(shape), np.full(shape[1], np.inf)
    for epoch in sorted(set(own.tolist())):
        if len(bases[epoch]) == BASE_DAYS:
            found, deviation = against(bases[epoch])
            mine, same = own == epoch, own <= epoch
            moved[:, mine] = (found - found[:, same].mean(axis=1, keepdims=True))[:, mine]
            sigma[mine] = deviation[mine]
    return moved, sigma


def _growth(
    wiring: Wiring, parts: Sequence[ModuleParts], days: Sequence[Day], base: Sequence[Day]
) -> tuple[Array, Array]:
    """Of every day and module against one baseline (day, module), and its deviation (module,)."""
    ohmic = np.array([part.ohmic.nominal for part in parts]) + np.diag(wiring.nominal)
    told, heard = [_quick(day) for day in base], [_quick(day) for day in days]
    whole = _answering(wiring, told, ohmic)
    cells = np.array([max(part.ohmic.nominal - part.metal, 0.0) for part in parts]) + whole - ohmic
    first, later = (np.array([_moved(one, whole) for one in these]).reshape(-1, len(ohmic)) for these in (told, heard))
    warm, warmer = (np.array([_warm(day, cells) for day in these]).reshape(-1, len(ohmic)) for these in (base, days))
    zero, calm = first.mean(axis=0), warm.mean(axis=0)
    x, y = warm - calm, first - zero
    spread = max(float(np.var(y - x)), LEAST**2)
    factor = (float((x * y).sum()) / spread + 1 / TIGHT**2) / (float((x * x).sum()) / spread + 1 / TIGHT**2)
    left = y - factor * x
    sigma = np.maximum(np.sqrt(np.mean(left**2, axis=0) * len(base) / max(len(base) - 1, 1)), LEAST)
    return _straightened((later - zero) - factor * (warmer - calm), whole), sigma


def _straightened(moved: Array, whole: Array) -> Array:
    """From -R ln(share) to the growth itself, beside the mean of all (day, module).

    A share falls as 1 / (R + growth), so the logarithm under-reads a large growth: R ln(1 + growth / R). What most
    modules did is no growth.
    """
    grown = whole * np.expm1(np.clip(off_most(moved) / whole, -5.0, 5.0))
    return np.asarray(grown - grown.mean(axis=1, keepdims=True))


@dataclass(frozen=True, eq=False)
class _Quick:
    """Over a day: what each module takes of the mean current at once (module,), and the ohm with which all answer."""

    current: Array
    ohms: float


def _quick(day: Day) -> _Quick:
    """By least squares on the mean current and its slowest copy.

    The quicker copies follow the mean current so closely, and hold what is taken out of products of a current with
    itself, that with them nothing is told at all.
    """
    count, slow = len(day.modules), day.gram.shape[1] - 1
    gram = day.gram.sum(axis=0)
    mean, volts, lagged = gram[:count, :count].mean(axis=0), gram[:count, count : 2 * count], gram[slow, :count]
    cross = float(lagged.mean())
    normal = np.array([[float(mean.mean()), cross], [cross, float(gram[slow, slow])]])
    scale = np.sqrt(np.maximum(np.diag(normal), 1e-12))
    right = np.stack([mean, lagged]) / scale[:, None]
    solved = np.linalg.lstsq(normal / np.outer(scale, scale), right, rcond=1e-9)[0] / scale[:, None]
    return _Quick(solved[0], -float(volts.mean() / mean.mean()))


def _answering(wiring: Wiring, base: Sequence[_Quick], ohmic: Array) -> Array:
    """Resistance with which each module answers the load, cells' relaxation included, as the baseline's own voltages
    tell it on the mean; from the ohmic part to thrice that. [ohm] (module,)"""
    inside = float(np.median([one.ohms for one in base]))
    told = inside + float(np.diag(wiring.nominal).mean())
    ratio = told / float(ohmic.mean())
    return np.asarray(ohmic * (min(max(ratio, 1.0), MOST) if np.isfinite(ratio) else 1.0))


def _moved(quick: _Quick, whole: Array) -> Array:
    """-R ln(share) of each module, less the mean of all."""
    moved = -whole * np.log(np.maximum(quick.current, 1e-3))
    return np.asarray(moved - moved.mean())


def _warm(day: Day, cells: Array) -> Array:
    """What the cells' temperature adds to each module's resistance beside the mean of all; 0 where none was heard."""
    count = len(cells)
    degc = day.mean[:, 2 * count :]
    heard = np.isfinite(degc)
    level = np.where(
        heard.any(axis=0), np.where(heard, degc, 0.0).sum(axis=0) / np.maximum(heard.sum(axis=0), 1), np.nan
    )
    if np.isnan(level).any():
        return np.zeros(count)
    table, factor = (np.array(column) for column in resistance_table())
    found = cells * np.exp(np.interp(level, table, np.log(factor)))
    return np.asarray(found - found.mean())


@dataclass(frozen=True, eq=False)
class Levels:
    """How far each module's voltage has come to stand off what all share, beside the baseline (day, module) [V]."""

    day: np.ndarray
    moved: Array
    sigma: Array


def levels_of(
    wiring: Wiring, days: Sequence[Day], bases: Sequence[Sequence[Day]], turns: Sequence[Turn] = ()
) -> Levels:
    """Mean voltages of each day less the wiring's drops: they share one bus, so what moves is a sensor."""

    def against(base: Sequence[Day]) -> tuple[Array, Array]:
        first = np.array([_level(wiring, day) for day in base])
        later = np.array([_level(wiring, day) for day in days]).reshape(-1, len(wiring.modules))
        zero = first.mean(axis=0)
        return later - zero, np.maximum(off_most(first - zero).std(axis=0), LEAST_VOLTS)

    moved, sigma = _by_own(wiring, (len(days), len(wiring.modules)), bases, turns, against)
    return Levels(_numbers(days), off_most(moved), sigma)


def off_most(moved: Array) -> Array:
    """Rows (.., module) beside what most of each did: beside its middle value, which one stray does not move."""
    middle = np.sort(moved, axis=-1)[..., (moved.shape[-1] - 1) // 2]
    return np.asarray(moved - middle[..., None])


def _level(wiring: Wiring, day: Day) -> Array:
    count = len(wiring.modules)
    amps, volts = day.mean[:, :count], day.mean[:, count : 2 * count]
    bus = volts - amps @ wiring.nominal
    weights = day.weight / day.weight.sum()
    return np.asarray(weights @ bus)
