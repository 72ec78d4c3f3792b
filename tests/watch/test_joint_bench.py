"""Months of the bench of joint growth, out of its list: what is promised of the common case holds for them.

The whole list is run by bench/watch_joints.py; docs/watch-joints.md has its table.
"""

from __future__ import annotations

import pytest

from support.joints.trial import Plan, trial

COMMON = "2 s, 10 mV"


@pytest.mark.soak
def test_a_growth_of_three_tenths_is_found_within_a_day_in_its_group() -> None:
    """Twelve months of 4, 8 and 16 modules with +0.3 mohm: all found within a day, eleven in their group."""
    named = []
    for modules in (4, 8, 16):
        for wiring in ("bars", "chain opposite ends"):
            for seed in (5001, 5002):
                ((size, _, hours, right, seen),) = trial(Plan(modules, wiring, COMMON, seed, 3e-4)).grown
                assert hours <= 24
                assert seen == pytest.approx(size, rel=0.35)
                named.append(right)
    assert sum(named) >= 11  # of 12: a neighbour on a bar may be named at first; the table counts 98 %


@pytest.mark.soak
@pytest.mark.parametrize("modules", [4, 8])
def test_a_healthy_month_rings_no_alarm_and_stays_near_its_bound(modules: int) -> None:
    """A healthy month each of 4 and 8 modules: no alarm, and the variance of a day against its bound."""
    told = trial(Plan(modules, "bars", COMMON, 5003))
    assert told.alarms == 0
    ratio = next(total / count for name, total, _, count in told.ratio if name == "branch")
    assert 0.4 < ratio < 1.7


@pytest.mark.slow
def test_a_month_of_four_modules_at_slow_polls() -> None:
    told = trial(Plan(4, "bars", "30 s, 10 mV", 5004, 1e-3))
    ((_, _, hours, right, _),) = told.grown
    assert hours <= 24
    assert right
    assert told.alarms == 0
