"""The course of a capacity: points by hand, and a fall carried on beyond today with the band of its rate."""

from __future__ import annotations

import numpy as np
import pytest

from bankwright.watch.cells.capacity import YEAR, Pair, Sizes, trend
from bankwright.watch.say.courses import AHEAD, _counted, _line

SIZES = Sizes(0.01, 0.3)


def pairs(fall: float, noise: float) -> tuple[Pair, ...]:
    """Forty pairs over two years, each from nearly empty to full. [a year]"""
    draw = np.random.default_rng(3)
    times = np.linspace(0, 2 * YEAR, 40)
    return tuple(Pair(t, 0.95, 0.95 * 100 * (1 - fall * t / YEAR) + noise * draw.normal(), 5.0) for t in times)


def test_a_point_is_charge_over_share_with_the_range_of_both() -> None:
    told = _counted(Pair(7.0, 0.95, 95.0), SIZES)
    assert (told.time, told.value) == (7.0, 100.0)
    assert told.high - told.value == pytest.approx(1.96 * (0.3**2 + (100 * 0.01) ** 2) ** 0.5 / 0.95)


def test_a_sure_fall_goes_on_in_its_band_and_no_fall_does_not() -> None:
    some = pairs(0.04, 0.3)
    seen = trend(some, SIZES)
    assert seen is not None
    line = _line(seen, some, 2 * YEAR)
    assert [told.time for told in line[2:]] == [2 * YEAR, (2 + AHEAD) * YEAR]
    truth = 100 * (1 - 0.04 * (2 + AHEAD))
    assert line[-1].low < truth < line[-1].high
    assert line[-1].high - line[-1].low > line[2].high - line[2].low
    none = pairs(0.0, 0.3)
    calm = trend(none, SIZES)
    assert calm is not None
    assert len(_line(calm, none, 2 * YEAR)) == 2
