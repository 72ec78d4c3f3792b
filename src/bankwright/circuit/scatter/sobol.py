"""Points that fill a cube evenly: Sobol's sequence with a digital shift from a seed.

Gives: points(), MAX_DIMENSIONS. The first 2^k points lie one in each of 2^k equal slices of every axis, shifted or not.
Limits: counts are powers of two; axes beyond the published 1,024 are filled with ordinary random numbers from the seed.
Sources: Joe and Kuo 2008, cited in data/joe_kuo_6.txt; digital shift: exclusive or with one random number an axis
[from memory: Owen 1995, L'Ecuyer and Lemieux 2002].
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files

import numpy as np

from bankwright.circuit.network import Array, frozen

__all__ = ["MAX_DIMENSIONS", "points"]

BITS = 30
MAX_DIMENSIONS = 1024


@cache
def _rows() -> tuple[tuple[int, ...], ...]:
    text = files("bankwright.circuit.scatter").joinpath("data/joe_kuo_6.txt").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    return tuple(tuple(map(int, line.split())) for line in lines)


def _directions(axis: int) -> list[int]:
    """The BITS direction numbers of an axis, as integers of BITS bits."""
    if axis == 0:
        return [1 << (BITS - 1 - j) for j in range(BITS)]
    degree, bits, *odd = _rows()[axis - 1]
    v = [m << (BITS - 1 - j) for j, m in enumerate(odd)]
    for j in range(degree, BITS):
        value = v[j - degree] ^ (v[j - degree] >> degree)
        for k in range(1, degree):
            if (bits >> (degree - 1 - k)) & 1:
                value ^= v[j - k]
        v.append(value)
    return v


def points(count: int, dimensions: int, seed: int | None) -> Array:
    """Points (count, dimensions) in [0, 1); `seed` None leaves the sequence unshifted."""
    power = count.bit_length() - 1
    if count < 1 or count != 1 << power or power > BITS:
        raise ValueError(f"{count} is no power of two between 1 and 2^{BITS}")
    known = min(dimensions, MAX_DIMENSIONS)
    numbers = np.zeros((count, known), dtype=np.int64)
    directions = np.array([_directions(axis)[:power] for axis in range(known)], dtype=np.int64).reshape(known, power)
    for j in range(power):
        half = 1 << j
        numbers[half : 2 * half] = numbers[:half] ^ directions[:, j]
    if seed is None:
        values = np.asarray(numbers / 2.0**BITS, dtype=np.float64)
        luck = np.random.default_rng(0)
    else:
        luck = np.random.default_rng(seed)
        shift = luck.integers(0, 1 << BITS, size=MAX_DIMENSIONS, dtype=np.int64)[:known]
        values = np.asarray(((numbers ^ shift) + 0.5) / 2.0**BITS, dtype=np.float64)
    if dimensions > known:
        values = np.hstack([values, luck.random((count, dimensions - known))])
    return frozen(values)
