"""Logs of a bank as bad loggers leave them: values that stand, clocks that jump, gaps, marks for no value, rows twice.

Gives: SPOILS, spoilt(). Each takes a life and gives the texts of its logs, by module; what is done is invented.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from support.lived_banks import DAY, Life, csv_of

__all__ = ["SPOILS", "spoilt"]

Luck = np.random.Generator
Step = Callable[[Life, np.ndarray, int, Luck], tuple[Life, np.ndarray]]


def _copy(life: Life) -> Life:
    return replace(life, **{k: getattr(life, k).copy() for k in ("time", "current", "volts", "cells")})


def stale(life: Life, rows: np.ndarray, m: int, luck: Luck) -> tuple[Life, np.ndarray]:
    """Four stretches of half an hour to three hours in which one row is said again and again."""
    made, step = _copy(life), life.time[1] - life.time[0]
    for _ in range(4):
        begin = int(luck.integers(10, len(life.time) - 200))
        part = slice(begin, begin + int(luck.uniform(1800, 10800) / step))
        for table in (made.current, made.volts, made.cells):
            table[part, m] = table[begin, m]
    return made, rows


def jumps(life: Life, rows: np.ndarray, m: int, luck: Luck) -> tuple[Life, np.ndarray]:
    """The clock goes wrong by some hours for some hours, and once for good by two minutes."""
    made = _copy(life)
    for away in (luck.choice([-7200.0, 3600.0, 5400.0]), luck.choice([-3600.0, 7200.0])):
        begin = int(luck.integers(10, len(life.time) - 300))
        made.time[begin : begin + int(luck.integers(60, 240))] += away
    made.time[int(luck.integers(len(life.time) // 2, len(life.time) - 10)) :] += luck.choice([-120.0, 120.0])
    return made, rows


def gaps(life: Life, rows: np.ndarray, m: int, luck: Luck) -> tuple[Life, np.ndarray]:
    """Six gaps of ten minutes to five hours."""
    step, keep = life.time[1] - life.time[0], np.ones(len(life.time), bool)
    for _ in range(6):
        begin = int(luck.integers(10, len(life.time) - 10))
        keep[begin : begin + int(luck.uniform(600, 18000) / step)] = False
    return life, rows[keep[rows]]


def marks(life: Life, rows: np.ndarray, m: int, luck: Luck) -> tuple[Life, np.ndarray]:
    """Marks for no value in one row of two hundred, each column by itself."""
    made, count = _copy(life), len(life.time)
    for table, said in ((made.current, (6553.5, -3276.8)), (made.volts, (655.35, 0.0)), (made.cells, (65.535, 0.0))):
        wrong = luck.random(table[:, m].shape) < 0.005
        table[:, m][wrong] = luck.choice(said, int(wrong.sum()))
    assert count
    return made, rows


def twice(life: Life, rows: np.ndarray, m: int, luck: Luck) -> tuple[Life, np.ndarray]:
    """One row of ten stands there twice, and a tenth of all rows stands up to twenty places away."""
    told = np.sort(np.concatenate([rows, luck.choice(rows, len(rows) // 10)]))
    place = np.arange(len(told)) + np.where(luck.random(len(told)) < 0.1, luck.uniform(-20, 20, len(told)), 0.0)
    return life, told[np.argsort(place, kind="stable")]


def away(life: Life, rows: np.ndarray, m: int, luck: Luck) -> tuple[Life, np.ndarray]:
    """The first module gives nothing for a day: no current, its voltage its own."""
    if m:
        return life, rows
    made, begin = _copy(life), life.time[0] + luck.uniform(1.2, 2.5) * DAY
    off = (life.time >= begin) & (life.time < begin + DAY)
    made.current[off, m] = 0.0
    for table in (made.volts, made.cells):
        table[off, m] = table[np.flatnonzero(off)[0], m]
    return made, rows


SPOILS: dict[str, Step] = {
    "stale": stale, "jumps": jumps, "gaps": gaps, "marks": marks, "twice": twice, "away": away,
}  # fmt: skip


def spoilt(life: Life, seed: int, which: tuple[str, ...] = tuple(SPOILS)) -> dict[int, str]:
    """Logs of all modules, each spoilt by itself."""
    texts = {}
    for m in range(life.current.shape[1]):
        luck, one, rows = np.random.default_rng([seed, m]), life, np.arange(len(life.time))
        for name in which:
            one, rows = SPOILS[name](one, rows, m, luck)
        texts[m] = csv_of(one, m, rows)
    return texts
