"""The sample of a scatter: same point sets as a general-purpose library, even in every axis, fixed by its seed."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import qmc

from bankwright.circuit.scatter.scatter import variance_share
from bankwright.circuit.scatter.sobol import MAX_DIMENSIONS, points


@pytest.mark.parametrize(("count", "dimensions"), [(1, 3), (16, 2), (256, 40), (1024, 143), (64, MAX_DIMENSIONS)])
def test_point_sets_are_those_of_scipy(count: int, dimensions: int):
    # scipy.stats.qmc.Sobol, unscrambled: the same first 2^k points, in another order.
    library = qmc.Sobol(dimensions, scramble=False, bits=30).random(count)
    ours = points(count, dimensions, None)
    assert {tuple(row) for row in ours} == {tuple(row) for row in library}


def test_every_axis_has_one_point_in_each_slice_shifted_too():
    sample = points(256, 60, seed=7)
    for axis in range(60):
        assert sorted((sample[:, axis] * 256).astype(int)) == list(range(256))


def test_a_seed_fixes_the_sample_and_more_axes_do_not_change_the_first():
    assert np.array_equal(points(64, 5, 3), points(64, 5, 3))
    assert np.array_equal(points(64, 5, 3), points(64, 9, 3)[:, :5])
    assert not np.array_equal(points(64, 5, 3), points(64, 5, 4))


def test_counts_that_break_the_net_are_refused():
    for count in (0, 3, 10_000):
        with pytest.raises(ValueError, match="no power of two"):
            points(count, 2, 1)


def test_axes_beyond_the_published_ones_are_filled():
    sample = points(32, MAX_DIMENSIONS + 4, 1)
    assert sample.shape == (32, MAX_DIMENSIONS + 4)
    assert sample.min() >= 0.0
    assert sample.max() < 1.0


def test_sample_integrates_a_smooth_function_far_better_than_chance():
    # Integral of prod(1 + (u_i - 1/2)/4) over the cube is 1; plain random numbers of this size miss by about 1e-3.
    sample = points(8192, 8, seed=2)
    assert np.prod(1 + (sample - 0.5) / 4, axis=1).mean() == pytest.approx(1.0, abs=2e-5)


def test_shares_of_variance_of_the_ishigami_function():
    # First-order indices 0.3139, 0.4424, 0 for a = 7, b = 0.1 [published test function: Ishigami and Homma 1990, from
    # memory; indices from the closed form: V1 = (1 + b pi^4/5)^2/2, V2 = a^2/8, V = V1 + V2 + b^2 pi^8 (1/18 - 1/50)].
    x = np.pi * (2 * points(8192, 3, seed=5) - 1)
    values = np.sin(x[:, 0]) + 7 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])
    u = points(8192, 3, seed=5)
    b, first, second = 0.1, (1 + 0.1 * np.pi**4 / 5) ** 2 / 2, 49 / 8
    total = first + second + b**2 * np.pi**8 * (1 / 18 - 1 / 50)
    expected = [first / total, second / total, 0.0]
    assert [variance_share(u[:, k], values) for k in range(3)] == pytest.approx(expected, abs=0.02)


def test_a_constant_has_no_cause():
    assert variance_share(points(64, 1, 1)[:, 0], np.full(64, 3.0)) == 0.0
