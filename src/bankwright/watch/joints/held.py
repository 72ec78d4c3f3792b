"""Every window of every group against the baseline that is its own, through all turns of a bank.

Gives: Held, Waiting, held(), epoch_days(). Without a turn this is one baseline and its windows; with turns each stretch
between two of them is judged with what was remade before it left free, and the stretches are laid together.
Limits: a group whose new baseline is not whole yet says nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from bankwright.watch.joints.anew import Flags, Turn, beside, held_by
from bankwright.watch.joints.growth import BASE_DAYS, WINDOWS, Growth, base_days, base_of, growths, hours_of
from bankwright.watch.joints.hours import Day
from bankwright.watch.joints.wiring import Wiring

__all__ = ["Held", "Waiting", "epoch_days", "held"]

LONGEST = max(WINDOWS)
NEVER, EVER = -(2**62), 2**62  # hours


@dataclass(frozen=True, slots=True)
class Waiting:
    """A group whose baseline began anew and is not whole yet: the hour of the turn, and the days that it has."""

    group: int
    hour: int
    days: int


@dataclass(frozen=True, eq=False)
class Held:
    """Windows on one axis of hours, and the groups that wait."""

    windows: tuple[Growth, ...]
    waiting: tuple[Waiting, ...]
    begun: npt.NDArray[np.int64]  # (group,) hour of the turn at which each group's present baseline began
    turned: int = NEVER  # hour of the last turn

    def now(self, hours: int) -> Flags:
        """The last hours, none from before the last turn (hour,): what was told then may rest on what was remade."""
        hour = self.windows[0].hour
        return np.asarray((hour > hour[-1] - hours) & (hour >= self.turned))

    def present(self) -> tuple[Growth, ...]:
        """The windows without what was told of a group against an earlier baseline."""
        if (self.begun == NEVER).all():
            return self.windows
        found = []
        for growth in self.windows:
            past = growth.hour[:, None] < self.begun
            size, sigma, fine, z = (np.where(past, np.nan, told) for told in
                                    (growth.size, growth.sigma, growth.fine, growth.z))  # fmt: skip
            found.append(Growth(growth.window, growth.hour, size, sigma, fine, z))
        return tuple(found)


def epoch_days(days: Sequence[Day], turns: Sequence[Turn]) -> tuple[tuple[Day, ...], ...]:
    """Days of each baseline: of the first, then of those that began after a turn (the day of a turn is left out)."""
    starts = [NEVER, *(turn.hour // 24 + 1 for turn in turns)]
    return tuple(base_days([day for day in days if len(day) and day.hour[0] // 24 >= start]) for start in starts)


def held(wiring: Wiring, days: Sequence[Day], turns: Sequence[Turn]) -> Held:
    """Days in order, those of all baselines among them; the first baseline must be whole."""
    bases = epoch_days(days, turns)
    later = [day for day in days if len(day) and day.hour[0] > bases[0][-1].hour[-1]]
    hour = np.concatenate([np.empty(0, np.int64), *(day.hour for day in later)])
    if not turns:
        found = growths(hours_of(wiring, later), base_of(wiring, hours_of(wiring, bases[0])))
        return Held(found, (), np.full(len(wiring.groups), NEVER))
    tables = np.full((len(WINDOWS), 4, len(hour), len(wiring.groups)), np.nan)
    for part, columns, told in _parts(wiring, later, turns, bases):
        for table, growth in zip(tables, told, strict=True):
            rows = np.flatnonzero((growth.hour >= part[0]) & (growth.hour < part[1]))
            places = np.searchsorted(hour, growth.hour[rows])
            for into, values in zip(table, (growth.size, growth.sigma, growth.fine, growth.z), strict=True):
                into[np.ix_(places, columns)] = values[np.ix_(rows, columns)]
    windows = tuple(Growth(window, hour, *table) for window, table in zip(WINDOWS, tables, strict=True))
    begun = np.array([NEVER, *(turn.hour for turn in turns)])[held_by(wiring, turns)]
    return Held(windows, tuple(_waiting(wiring, turns, bases)), begun, turns[-1].hour)


def _parts(
    wiring: Wiring, later: Sequence[Day], turns: Sequence[Turn], bases: Sequence[Sequence[Day]]
) -> Iterator[tuple[tuple[int, int], npt.NDArray[np.int64], tuple[Growth, ...]]]:
    """Each stretch between two turns, each baseline that groups are held against in it: hours, groups, windows."""
    edges = [NEVER, *(turn.hour for turn in turns), EVER]
    for stage in range(len(turns) + 1):
        low, high = edges[stage], edges[stage + 1]
        near = [day for day in later if day.hour[-1] >= low - LONGEST and day.hour[0] < high]
        if not any(day.hour[-1] >= low for day in near):
            continue
        own = held_by(wiring, turns[:stage])
        for epoch in sorted(set(own.tolist())):
            base = bases[epoch]
            if len(base) == BASE_DAYS:
                left = beside(wiring, turns[epoch:stage])
                after = [day for day in near if day.hour[0] > base[-1].hour[-1]]
                found = growths(hours_of(left, after), base_of(left, hours_of(left, base)))
                yield (low, high), np.flatnonzero(own == epoch), found


def _waiting(wiring: Wiring, turns: Sequence[Turn], bases: Sequence[Sequence[Day]]) -> Iterator[Waiting]:
    for group, epoch in enumerate(held_by(wiring, turns).tolist()):
        if epoch and len(bases[epoch]) < BASE_DAYS:
            yield Waiting(group, turns[epoch - 1].hour, len(bases[epoch]))
