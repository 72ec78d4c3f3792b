"""The normal distribution and the middle, against what others compute."""

from __future__ import annotations

import numpy as np
from scipy.special import ndtr

from bankwright.physics.middle import middle
from bankwright.physics.normal import below


def test_the_share_below_is_that_of_the_library_of_special_functions() -> None:
    z = np.concatenate([np.linspace(-12, 12, 20_001), [-np.inf, np.inf, 0.0]])
    assert np.abs(below(z) - ndtr(z)).max() < 1e-11
    assert (np.diff(below(np.linspace(-12, 12, 20_001))) >= 0).all()
    assert np.isnan(below(np.array([np.nan]))).all()


def test_the_middle_of_what_is_there() -> None:
    draw = np.random.default_rng(3)
    for width in (1, 2, 5, 8):
        value = draw.normal(0, 1, (200, width))
        assert np.array_equal(middle(value), np.median(value, axis=1))
        value[draw.random(value.shape) < 0.4] = np.nan
        told = np.isfinite(value).any(axis=1)
        assert np.array_equal(middle(value)[told], np.nanmedian(value[told], axis=1))
        assert np.isnan(middle(value)[~told]).all()
    assert np.isnan(middle(np.empty((3, 0)))).all()
