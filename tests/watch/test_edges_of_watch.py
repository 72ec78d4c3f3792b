"""Limits of Watch from both sides, 0.1 % of the limit apart from it, and whole steps where hours or minutes count."""

from __future__ import annotations

import pytest

from bankwright.forms.codes import places
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


# pinned by tests of their own: resistance of joints (test_joints, test_joint_bench), time outside limits by whole
# minutes (running/test_limits), loss and weakness of cells (cells/test_senses, test_course)
ELSEWHERE = {
    "W-JOINT-1", "W-JOINT-2", "W-JOINT-3", "W-JOINT-4", "W-JOINT-5", "W-LIMIT-1", "W-LIMIT-2", "W-TRIP-4", "W-CELL-3",
    "W-CELL-4", "W-CHARGE-1",
}  # fmt: skip
WITHOUT_LIMIT = {"W-SECTION-1", "W-ALARM-2", "W-ALARM-3"}  # a part that could not be made; a count of none; keys given


def test_every_code_of_watch_has_its_edges_or_no_limit() -> None:
    made = {code for code, place in places().items() if code.startswith("W-") and not place.retired}
    named = {pin.code for pin in watch_edges.EDGES}
    assert made - named - ELSEWHERE - WITHOUT_LIMIT == set()
    assert named & (ELSEWHERE | WITHOUT_LIMIT) == set()
