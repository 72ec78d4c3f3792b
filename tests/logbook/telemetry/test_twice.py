"""Stretches that a source's clock passed twice, told from the order of rows; what only looks like it."""

from __future__ import annotations

import numpy as np
import pytest

from bankwright.logbook.telemetry.twice import passed_twice

TIME = np.arange(0, 3_600_000, 60_000)
VALUE = np.arange(60.0)


def test_an_hour_that_was_passed_twice() -> None:
    put_back = np.concatenate([TIME, TIME[20:] + 7_000])
    assert passed_twice(put_back, np.concatenate([VALUE, VALUE[20:]])) == [(1_207_000, 3_540_000)]
    same_times = np.concatenate([TIME, TIME])
    assert passed_twice(same_times, np.concatenate([VALUE, VALUE + 1.0])) == [(0, 3_540_000)]


@pytest.mark.parametrize("what", ["in order", "copied", "scrambled", "a little back", "few", "after"])
def test_what_only_looks_like_it(what: str) -> None:
    draw = np.random.default_rng(4)
    place = np.argsort(np.arange(60) + np.where(draw.random(60) < 0.1, draw.uniform(-20, 20, 60), 0.0), kind="stable")
    rows = {
        "in order": np.arange(60),
        "copied": np.r_[0:60, 0:60],
        "scrambled": place,
        "a little back": np.r_[0:40, 31:60],
        "few": np.r_[0:60, 10:15],
        "after": np.r_[30:60, 0:30],
    }[what]
    value = VALUE[rows] + (1.0 if what != "copied" else 0.0) * (np.arange(len(rows)) >= 60)
    assert passed_twice(TIME[rows], value) == []
