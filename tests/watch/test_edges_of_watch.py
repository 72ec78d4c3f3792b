"""Limits of Watch from both sides, 0.1 % of the limit apart from it, and whole steps where hours or minutes count."""

from __future__ import annotations

import pytest

from support import watch_edges
from support.watch_edges import Pin

pytestmark = pytest.mark.quick


@pytest.mark.parametrize("pin", watch_edges.EDGES, ids=str)
def test_a_limit_holds_from_both_sides(pin: Pin) -> None:
    out = (1.0 if pin.side == "most" else -1.0) * 1e-3 * abs(pin.limit)
    assert [pin.says(pin.limit - out), pin.says(pin.limit + out)] == [pin.inside, pin.outside]
    if pin.at_it is not None:
        assert pin.says(pin.limit) == pin.at_it


@pytest.mark.parametrize(("minutes", "is_gone"), [(2, False), (3, True)])
def test_a_module_is_gone_after_three_minutes_at_nothing(minutes: int, is_gone: bool) -> None:
    assert watch_edges.gone(minutes=minutes) is is_gone


@pytest.mark.parametrize(("hours", "is_stale"), [(1, False), (2, True)])
def test_a_value_is_stale_after_two_hours(hours: int, is_stale: bool) -> None:
    assert watch_edges.stands_still(hours) is is_stale
