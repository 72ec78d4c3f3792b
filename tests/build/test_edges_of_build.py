"""Limits of Build pinned from both sides, and the limits themselves."""

import pytest

from bankwright.build.joints import check as joint_check
from bankwright.build.joints.check import joint_checks, joint_findings
from bankwright.build.joints.torque import OUTLIER, torque_answers
from bankwright.build.rack import anchors, lifts, load
from bankwright.build.steps import earthing, end
from bankwright.physics.joint import ABOVE_LOWEST

pytestmark = pytest.mark.quick


def verdicts(drops, first=None):
    checks = joint_checks(drops, 100.0, 100.0, first)
    return {(f.code, f.at[0]): (f.verdict, f.limits[1]) for f in joint_findings(checks)}, checks


@pytest.mark.parametrize(("ratio", "told"), [(1.4985, "pass"), (1.5015, "caution")])
def test_a_joint_stands_out_above_one_and_a_half_times_the_lowest(ratio, told):
    # ANSI/NETA ATS-2009, 7.3.2 (read): lugs of 22, 24, 23, 35 micro-ohm: limit 33.
    found, checks = verdicts({"a": 2.2e-3, "b": 2.2e-3 * ratio})
    assert found["BLD-JOINT", "b"] == (told, 1.5)
    assert bool(next(c for c in checks if c.joint == "b").reasons) is (told == "caution")


@pytest.mark.parametrize(("ratio", "told"), [(1.1988, "pass"), (1.2012, "caution")])
def test_a_joint_has_grown_above_a_fifth_of_its_first_reading(ratio, told):
    # IEEE 450 and 1188 practice (read on a trade summary).
    found, checks = verdicts({"a": 2.2e-3 * ratio}, {"a": 22e-6})
    assert found["BLD-JOINT-GROWN", "a"] == (told, 1.2)
    assert bool(checks[0].reasons) is (told == "caution")


def test_the_next_look_comes_after_a_week_half_a_year_or_a_month():
    days = {
        name: joint_checks(drops, 100.0, 100.0, first)[0].next_check_days
        for name, drops, first in (
            ("new", {"a": 2e-3}, None), ("known", {"a": 2e-3}, {"a": 20e-6}), ("grown", {"a": 3e-3}, {"a": 20e-6}),
        )
    }  # fmt: skip
    assert days == {"new": 7, "known": 182, "grown": 30}


def test_the_heat_of_a_joint_is_that_of_its_resistance():
    # Joule's law by hand: 50 micro-ohm at 200 A make 2 W.
    check = joint_checks({"a": 50e-6 * 80.0}, 80.0, 200.0)[0]
    assert check.heat == pytest.approx(2.0, rel=1e-9)


def questioned(figure):
    return [bool(answer.questions) for answer in torque_answers(["10 N m", "10 N m", figure])][2]


@pytest.mark.parametrize(
    ("figure", "asked"), [("19.98 N m", False), ("20.02 N m", True), ("5.005 N m", False), ("4.995 N m", True)]
)
def test_a_torque_beyond_twice_or_half_of_the_others_is_questioned(figure, asked):
    assert questioned(figure) is asked


def test_limits_stand_as_documented():
    assert (ABOVE_LOWEST, joint_check.GROWTH, OUTLIER) == (1.5, 1.2, 2.0)
    assert anchors.EXEMPT == 1780.0  # N, ASCE 7 13.1.4
    assert (lifts.KNUCKLE, lifts.FEW_LIFTS, lifts.DEFAULT_DEPTH) == (0.75, 0.2, 0.6)
    assert pytest.approx(4000 / 3600) == load.WALKING  # 4 km/h
    assert (earthing.EARTHED, end.OHM_A_VOLT) == (0.1, 100.0)
