"""The currents of a share test, gathered: rounds at zero load and under load, each with its age.

Gives: CurrentRead, Round, Taken, taken(). A round is one pass over the modules at one load; each reading keeps the age
of the step at which it was read. Means over the rounds of one load stand with the errors they keep.
Limits: nothing is judged here (share_test.py); what was typed is read in entry.py.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType

import numpy as np

from bankwright.circuit.network import Array
from bankwright.prove.meters import Bus, By, Clamp, current_errors

__all__ = ["CurrentRead", "Level", "Round", "Taken", "taken"]

NONE: Mapping[str, float] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class CurrentRead:
    """One current: at a module or a main, by which instrument, how old the step was. [A, s]"""

    at: str
    by: By
    value: float
    age: float | None
    as_typed: str


@dataclass(frozen=True, slots=True)
class Level:
    """A load: current out of the bank, which loads carry it, which modules are off."""

    load: float
    on: tuple[str, ...] = ()
    off: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Round:
    """One pass at one load."""

    level: Level
    number: int
    currents: tuple[CurrentRead, ...]
    volts: Mapping[str, float] = field(default_factory=lambda: NONE)  # at the modules' posts [V]

    @property
    def ages(self) -> tuple[float | None, ...]:
        """Age of the step at every reading. [s]"""
        return tuple(read.age for read in self.currents)

    def of(self, by: By) -> dict[str, CurrentRead]:
        """Readings of one instrument by place."""
        return {read.at: read for read in self.currents if read.by == by}


@dataclass(frozen=True, eq=False)
class Taken:
    """Mean currents of one instrument at one load, less those at zero load, with all their errors.

    values (modules,) [A]; errors (modules, causes) [A]: one column is one flat error, whichever readings it is in.
    """

    level: Level
    by: By
    modules: tuple[str, ...]
    values: Array
    errors: Array
    ages: tuple[float | None, ...]
    own_ages: Mapping[str, float]  # mean age of each module's readings, where they were given [s]
    zero: Array  # (modules,) mean at zero load, NaN where it was not read

    @property
    def shares(self) -> Array:
        """Current over the mean of all, the zero taken off (modules,). [-]"""
        return np.asarray(self.values / self.values.mean())

    @property
    def share_errors(self) -> Array:
        """How every error moves the shares (modules, causes): a gain common to all falls out."""
        mean = self.values.mean()
        return np.asarray(self.errors / mean - np.outer(self.values, self.errors.mean(axis=0)) / mean**2)

    @property
    def age(self) -> float | None:
        """Mean age of the step; None where one was not given. [s]"""
        known = [age for age in self.ages if age is not None]
        return float(np.mean(known)) if known and len(known) == len(self.ages) else None


def _mean(
    rounds: Sequence[Round], by: By, modules: Sequence[str], clamp: Clamp, bus: Bus
) -> tuple[Array, dict[str, Array]]:
    """Mean current of every module over rounds, and its errors by name (modules,)."""
    values = np.full(len(modules), np.nan)
    errors: dict[str, Array] = {}
    for place, module in enumerate(modules):
        reads = [(each.number, each.of(by)[module], each.level) for each in rounds if module in each.of(by)]
        if not reads:
            continue
        values[place] = np.mean([read.value for _, read, _ in reads])
        for number, read, level in reads:
            key = f"{level.load:g} {number}"
            for name, size in current_errors(by, module, read.value, key, clamp, bus=bus).items():
                errors.setdefault(name, np.zeros(len(modules)))[place] += size / len(reads)
    return values, errors


def taken(
    rounds: Sequence[Round], level: Level, by: By, modules: Sequence[str], clamp: Clamp, *, bus: Bus
) -> Taken | None:
    """Means at one load less those at zero; None where a module that is on was not read by this instrument."""
    on = tuple(name for name in modules if name not in level.off)
    here = [each for each in rounds if each.level == level]
    values, errors = _mean(here, by, on, clamp, bus)
    if np.isnan(values).any():
        return None
    zeros, at_rest = _mean([each for each in rounds if each.level.load == 0.0], by, on, clamp, bus)
    names = list(dict.fromkeys([*errors, *at_rest]))
    empty = np.zeros(len(on))
    columns = [errors.get(name, empty) - at_rest.get(name, empty) for name in names]
    ages = tuple(read.age for each in here for read in each.of(by).values() if read.at in on)
    net = values - np.nan_to_num(zeros)
    return Taken(level, by, on, net, np.stack(columns, axis=1), ages, _own_ages(here, by, on), zeros)


def _own_ages(rounds: Sequence[Round], by: By, modules: Sequence[str]) -> dict[str, float]:
    found: dict[str, list[float]] = {}
    for each in rounds:
        for read in each.of(by).values():
            if read.at in modules and read.age is not None:
                found.setdefault(read.at, []).append(read.age)
    return {name: float(np.mean(ages)) for name, ages in found.items()}
