"""The rule of verdicts itself, pinned: 1.0501 passes and 1.0499 cautions, 5.001 K pass and 4.999 K caution."""

import pytest

from bankwright.forms.finding import CAUTION_KELVIN, CAUTION_RATIO, Finding
from bankwright.forms.finding_text import against
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say

pytestmark = pytest.mark.quick

SOURCE = Source("Circuit laws", how_known="derived")


def verdict(value, limits, quantity="current", **more):
    figure = Figure(value, quantity, more.pop("low", None), more.pop("high", None))
    return Finding("X-1", "a title", ("M1",), figure, limits, SOURCE, say("Do it."), **more).verdict


def test_the_limits_stand_as_documented():
    assert (CAUTION_RATIO, CAUTION_KELVIN) == (1.05, 5.0)


@pytest.mark.parametrize(
    ("ratio", "told"),
    [(1.0501, "pass"), (1.0499, "caution"), (1.0001, "caution"), (1.0, "fail"), (0.9999, "fail")],
)
def test_a_most_and_a_least_are_graded_by_their_ratio(ratio, told):
    assert verdict(100.0, (None, 100.0 * ratio)) == told
    assert verdict(100.0 * ratio, (100.0, None)) == told
    assert verdict(90.0, (None, 100.0 * ratio), low=80.0, high=100.0) == told  # the worst end counts
    assert verdict(120.0, (100.0, None), low=100.0 * ratio, high=130.0) == told


@pytest.mark.parametrize(("kelvin", "told"), [(5.001, "pass"), (4.999, "caution"), (1e-3, "caution"), (-1e-3, "fail")])
def test_temperatures_are_graded_by_their_difference(kelvin, told):
    assert verdict(75.0 - kelvin, (None, 75.0), quantity="temperature_degc") == told
    assert verdict(kelvin, (0.0, None), quantity="temperature_degc") == told


@pytest.mark.parametrize(("ratio", "told"), [(1.0001, "pass"), (1.0, "pass"), (0.9999, "fail")])
def test_a_code_test_passes_at_equality_and_no_further(ratio, told):
    assert verdict(100.0, (None, 100.0 * ratio), test="code") == told
    assert verdict(100.0 * ratio, (100.0, None), test="code") == told


def test_rounding_in_the_last_digits_turns_no_verdict():
    assert verdict(0.1 + 0.2, (None, 0.3), test="code") == "pass"
    assert verdict(100.0, (None, 100.0 * (1 + 1e-10))) == "fail"


@pytest.mark.parametrize(("value", "told"), [(0.9999, "pass"), (1.0001, "caution")])
def test_steps_of_caution_of_its_own(value, told):
    assert verdict(value, (None, 2.0), test="code", caution_limits=(None, 1.0)) == told
    assert verdict(3.0 - value, (None, None), test="code", caution_limits=(2.0, None)) == told


def test_many_times_a_limit_is_said_as_times_and_not_in_thousands_of_percent():
    def said(value, limits):
        figure = Figure(value, "current")
        return against(Finding("X-1", "a title", ("M1",), figure, limits, SOURCE, say("Do it."))).margin

    assert said(15_000.0, (None, 100.0)) == "14.9 kA over (150 times the limit)"
    assert said(300.0, (None, 100.0)) == "200 A over (3.0 times the limit)"
    assert said(299.0, (None, 100.0)) == "199 A over (199 %)"
    assert said(1000.0, (100.0, None)) == "900 A left (10 times the least)"
    assert said(90.0, (100.0, None)) == "10.0 A short (10 %)"
