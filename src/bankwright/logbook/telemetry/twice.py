"""Stretches that the clock of a source passed twice: what it wrote when it was put back stands under full hours.

Gives: passed_twice(). Told from the order in which rows came: a first pass, a fall back, a second pass over the same
time. Rows that stand some places away from their own, and rows that stand there twice with the same values, are none.
Limits: which of both passes is right cannot be told here, nor where the other belongs.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np

__all__ = ["passed_twice"]

# least of fall and overlap; rows of each pass in it; passes that are looked at; own choice
LEAST_MS, FEWEST, MOST = 600_000, 6, 40


def passed_twice(mono_ms: np.ndarray, value: np.ndarray) -> list[tuple[int, int]]:
    """Stretches [low, high] ms that rows, in the order they came, passed twice; `value` (row, ..) parts true copies."""
    falls = np.flatnonzero(np.diff(mono_ms) < -LEAST_MS) + 1
    if not len(falls):
        return []
    passes = [each for each in np.split(np.arange(len(mono_ms)), falls) if len(each) >= FEWEST][:MOST]
    found = []
    for one, other in combinations(passes, 2):
        low = max(int(mono_ms[one].min()), int(mono_ms[other].min()))
        high = min(int(mono_ms[one].max()), int(mono_ms[other].max()))
        if high - low < LEAST_MS:
            continue
        both = [rows[(mono_ms[rows] >= low) & (mono_ms[rows] <= high)] for rows in (one, other)]
        if min(map(len, both)) >= FEWEST and not _are_copies(mono_ms, value, *both):
            found.append((low, high))
    return found


def _are_copies(mono_ms: np.ndarray, value: np.ndarray, one: np.ndarray, other: np.ndarray) -> bool:
    """Whether most of one pass stands in the other with the same time and values."""
    _, here, there = np.intersect1d(mono_ms[one], mono_ms[other], return_indices=True)
    if len(here) < min(len(one), len(other)) / 2:
        return False
    same = np.isclose(value[one[here]], value[other[there]], rtol=0, atol=0, equal_nan=True)
    return bool(same.reshape(len(here), -1).all(axis=1).mean() > 0.5)
