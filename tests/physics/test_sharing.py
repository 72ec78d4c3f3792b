"""Bounds of sharing and the first current of a join, by hand and against the theorem of sources in parallel."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.physics import joining, sharing
from outside.closed_forms import common_bar


def test_bound_near_full_and_empty():
    # 58 A and 0.5 V among five modules of 14 mohm: 58 + 0.5 x 0.8 / 0.014 = 87 A; 112 A: 141 A.
    assert sharing.knee_bound(58.0, 0.5, 5, 0.014) == pytest.approx(86.57, abs=0.005)
    assert sharing.knee_bound(112.0, 0.5, 5, 0.014) == pytest.approx(140.6, abs=0.05)


@given(st.integers(2, 16), st.floats(1e-3, 0.05), st.floats(0, 2))
def test_the_bound_is_the_current_of_one_source_above_equal_ones(modules, resistance, spread):
    emf = [52.0 + spread, *([52.0] * (modules - 1))]
    _, currents = common_bar(emf, [resistance] * modules, 40.0 * modules)
    assert currents[0] == pytest.approx(sharing.knee_bound(40.0, spread, modules, resistance))


def test_unlike_modules():
    np.testing.assert_allclose(sharing.unlike([0.014, 0.007], [100, 200]), [0, 0], atol=1e-15)
    assert np.abs(sharing.unlike([0.014, 0.010], [100, 200])).max() > 0.10


def test_largest_difference_for_a_first_current():
    assert joining.largest_difference(50.0, 0.022) == pytest.approx(1.1)
    assert joining.first_current(1.1, 0.022) == pytest.approx(50.0)
