"""Every limit that decides a verdict of Plan, pinned from both sides, and the limit itself."""

from __future__ import annotations

import pytest

from bankwright.forms.finding import Finding
from bankwright.plan.checks import CHECKS, joint_heat
from bankwright.plan.context import plan_of
from bankwright.plan.figures import air, derating, loops, opening
from bankwright.plan.zones import tails, taps
from support.plan_cases import CHAIN, K, edited
from support.plan_edges import EDGES, Edge, bank_at
from support.sheet_cases import ENDS

pytestmark = pytest.mark.quick

BY_CODE = {check.code: check for check in CHECKS}
RANK = ["pass", "unknown", "caution", "fail"]
# checks that compare words, places or whole numbers of things, or whose table steps from size to size: their two
# sides are a step apart, in tests/support/plan_cases.py and in the tests named beside them
BY_STEPS = {
    "P-CABLE-4", "P-DEVICE-5", "P-JOINT-5", "P-REACH-2", "P-JOINT-2", "P-JOINT-3", "P-PLACE-3", "P-NUMBER-1",
    "P-EARTH-1", "P-EARTH-2", "P-EARTH-3", "P-SHUNT-1", "P-SWITCH-1", "P-SWITCH-2", "P-SWITCH-3", "P-SWITCH-4",
    "P-DEVICE-6", "P-DEVICE-7", "P-PLACE-6", "P-NUMBER-2", "P-LINE-1", "P-CABLE-6", "P-SHEET-6",
}  # fmt: skip


def told(edge: Edge, value: float) -> Finding:
    """The worst finding of the check at a value, of those that the edge means."""
    found = list(BY_CODE[edge.code].function(plan_of(bank_at(edge, value))))
    meant = [f for f in found if any(edge.at in place for place in f.at) or edge.at in (f.case or "")]
    return max(meant, key=lambda finding: (RANK.index(finding.verdict), _nearness(finding, edge)))


def _nearness(finding: Finding, edge: Edge) -> float:
    margin = finding.margin
    return -margin if margin is not None and not edge.steps else 0.0


def _limits(finding: Finding, edge: Edge) -> list[float]:
    limits = finding.caution_limits if edge.steps else finding.limits
    return [limit for limit in limits or () if limit is not None]


@pytest.mark.parametrize("edge", EDGES, ids=str)
def test_a_limit_holds_from_both_sides(edge: Edge) -> None:
    for value, outside in ((edge.inside, False), (edge.outside, True)):
        finding = told(edge, value)
        assert finding.verdict == (edge.verdict_outside if outside else edge.verdict_inside), finding.text.text()
        limit = edge.limit_at(outside)
        if limit is not None:
            assert any(each == pytest.approx(limit, rel=1e-6, abs=1e-12) for each in _limits(finding, edge)), (
                finding.limits
            )
            assert finding.figure is not None
            assert finding.figure.quantity == edge.quantity
        if outside:
            assert f"{finding.source.document} {finding.source.edition}".strip() == edge.source


def test_every_check_that_compares_numbers_has_its_edge() -> None:
    edges = {edge.code for edge in EDGES} | {end.code for end in ENDS}  # ends: test_edges_of_sheets
    assert edges | BY_STEPS >= set(BY_CODE)
    assert not edges & BY_STEPS


def test_constants_behind_the_figures_stand_as_documented() -> None:
    """What has no bank of its own above: each with the source that stands beside it in the code."""
    assert (joint_heat.MOST_WATTS, joint_heat.MOST_KELVIN, joint_heat.KINDER) == (2.0, 15.0, 1.5)
    assert (joint_heat.COAT, joint_heat.CABLE, joint_heat.BAR) == (0.0022, 10.0, 6.0)
    assert (derating.PER_KELVIN, derating.EARLY, derating.LATE) == (0.005, 25.0, 40.0)
    assert (opening.SHORT, opening.INSTANT, loops.USUAL_SPACING, air.MILD_DEGC) == (0.1, 0.05, 0.05, 20.0)
    assert tails.MOST_BARE == 1.5
    assert [round(length, 4) for length in (taps.AT_ONCE, taps.SHORT, taps.LONG)] == [
        0.1778,
        3.048,
        7.62,
    ]  # 7 in, 10, 25 ft


def test_what_passes_a_post_is_not_what_its_own_module_gives() -> None:
    """Three in a row fed at opposite ends: the near posts pass the whole, their module away; the middle ones never."""
    found = BY_CODE["P-POST-1"].function(plan_of(edited({**CHAIN, f"{K}.posts.through": "200 A"})))
    passing = {finding.at[0]: finding.figure.value for finding in found if finding.figure is not None}
    whole = 5000.0 / 0.92 / 48.0  # P / (eta V)
    assert [passing["M1-"], passing["M3+"]] == pytest.approx([whole, whole], rel=1e-6)
    assert [passing["M2+"], passing["M2-"]] == pytest.approx([112.4675] * 2, rel=1e-5)  # own figure, below the whole
    assert set(passing) == {"M1-", "M2+", "M2-", "M3+"}  # at M1+ and M3- a main comes in: nothing passes
