"""The middle of what is there.

Gives: middle(). The median of each row over its numbers, NaN left out, without the machinery of masked arrays, which
takes longer to load than all the medians of a report.
"""

from __future__ import annotations

import numpy as np

from bankwright.physics.normal import Array

__all__ = ["middle"]


def middle(value: Array) -> Array:
    """Median of each row over what is finite, (row,); NaN where nothing is. [as the values]

    Parameters
    ----------
    value : (row, column). [any]

    References
    ----------
    The value in the middle, of an even number the mean of both [stated law].
    """
    told = np.isfinite(value)
    if value.shape[1] and told.all():
        return np.asarray(np.median(value, axis=1))
    if not value.size:
        return np.full(len(value), np.nan)
    ordered = np.sort(np.where(told, value, np.nan), axis=1)  # NaN last
    count, rows = told.sum(axis=1), np.arange(len(value))
    low, high = np.maximum(count - 1, 0) // 2, np.minimum(count // 2, value.shape[1] - 1)
    return np.asarray(np.where(count > 0, (ordered[rows, low] + ordered[rows, high]) / 2, np.nan))
