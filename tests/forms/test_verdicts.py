"""One rule turns a figure, its band and its limits into a verdict. Rules: DESIGN of the house, section on verdicts."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bankwright.forms.finding import Finding, Input, Missing, summary, worst_first
from bankwright.forms.origin import Source
from bankwright.forms.wording import Figure, say

pytestmark = pytest.mark.quick

SOURCE = Source("Circuit laws", how_known="derived")
SHEET = Source("A data sheet", how_known="published range")


def found(value, limits, quantity="current", low=None, high=None, assumed=False, **more):
    inputs = (Input("R", "resistance", Figure(0.014, "resistance"), SHEET, assumed=True),) if assumed else ()
    figure = None if value is None else Figure(value, quantity, low, high)
    code = more.pop("code", "X-1")
    return Finding(code, "a title", ("M1",), figure, limits, SOURCE, say("Do it."), inputs=inputs, **more)


def verdict(*args, **more):
    return found(*args, **more).verdict


def test_a_code_test_passes_at_equality_and_has_no_caution_band():
    assert verdict(100.0, (None, 100.0), test="code") == "pass"
    assert verdict(100.1, (None, 100.0), test="code") == "fail"
    assert verdict(175.0, (169.8, None), test="code") == "pass"
    assert verdict(150.0, (169.8, None), test="code") == "fail"


@pytest.mark.parametrize(
    ("figure", "limit", "expected"),
    [(100.0, 100.0, "fail"), (96.9, 100.0, "caution"), (19.3, 20.0, "caution"), (95.2, 100.0, "pass")],
)
def test_a_physical_test_fails_at_one_and_cautions_below_five_per_cent(figure, limit, expected):
    assert verdict(figure, (None, limit)) == expected


def test_a_least_value_is_compared_the_other_way_round():
    assert verdict(49.8, (46.0, None), quantity="voltage") == "pass"
    assert verdict(47.0, (46.0, None), quantity="voltage") == "caution"
    assert verdict(46.0, (46.0, None), quantity="voltage") == "fail"


def test_temperatures_go_by_difference():
    hot = {"quantity": "temperature_degc"}
    assert verdict(67.0, (None, 75.0), **hot) == "pass"
    assert verdict(71.0, (None, 75.0), **hot) == "caution"
    assert verdict(75.0, (None, 75.0), **hot) == "fail"
    assert verdict(-5.0, (0.0, None), **hot) == "fail"
    assert verdict(5.0, (0.0, None), **hot) == "pass"


def test_the_worst_end_of_the_band_counts():
    assert verdict(90.0, (None, 100.0), low=80.0, high=99.0) == "caution"
    assert verdict(90.0, (None, 100.0), low=80.0, high=101.0) == "fail"


def test_a_check_that_ends_at_caution_never_fails():
    assert verdict(200.0, (None, 100.0), ends_at="caution") == "caution"


def test_missing_without_a_figure_is_unknown():
    missing = (Missing("kinds.module.M100.discharge.continuous", "Read it on the data sheet."),)
    assert verdict(None, (None, 100.0), missing=missing) == "unknown"
    assert verdict(104.0, (None, None), missing=missing) == "unknown"


# figure 90 A between two ends against a limit of 100 A: better end fails, worse end alone fails, worse end near, worse
# end well inside; the last column is what a check of the list says
ENDS = [
    (110.0, 130.0, "fail", "fail"),
    (80.0, 110.0, "unknown", "unknown"),
    (96.0, 110.0, "unknown", "unknown"),
    (80.0, 97.0, "caution", "caution"),
    (40.0, 60.0, "caution", "assumed"),
]


@pytest.mark.parametrize(("low", "high", "ordinary", "on_the_list"), ENDS)
def test_a_published_range_passes_only_where_the_check_is_on_the_list(low, high, ordinary, on_the_list):
    band = {"low": low, "high": high, "assumed": True}
    middle = (low + high) / 2
    assert verdict(middle, (None, 100.0), **band) == ordinary
    assert verdict(middle, (None, 100.0), code="P-SHARE-1", **band) == on_the_list
    assert verdict(middle, (None, 100.0), code="P-SHARE-1", ends_at="caution", **band) == {"fail": "caution"}.get(
        on_the_list, on_the_list
    )


def test_a_least_value_on_a_published_range():
    for low, high, expected in [(40.0, 45.0, "fail"), (45.0, 60.0, "unknown"), (47.0, 60.0, "caution")]:
        made = {"quantity": "voltage", "low": low, "high": high, "assumed": True, "code": "P-DROP-2"}
        assert verdict((low + high) / 2, (46.0, None), **made) == expected
    assert verdict(52.0, (46.0, None), "voltage", 49.0, 55.0, True, code="P-DROP-2") == "assumed"


def test_what_is_missing_beside_a_range_stays_unknown():
    missing = (Missing("kinds.module.M100.discharge.continuous", "Read it on the data sheet."),)
    assert (
        verdict(50.0, (None, 100.0), low=40.0, high=60.0, assumed=True, code="P-SHARE-1", missing=missing) == "unknown"
    )


def test_a_statement_on_a_published_range_is_no_firm_pass():
    assert verdict(50.0, (None, None), assumed=True) == "caution"
    assert verdict(50.0, (None, None), assumed=True, code="M-EVEN-1") == "assumed"
    assert verdict(50.0, (None, None), code="M-EVEN-1") == "pass"


def test_not_a_number_on_a_published_range_is_unknown():
    assert verdict(math.nan, (None, 100.0), assumed=True, code="P-SHARE-1") == "unknown"


def test_only_the_sure_end_is_said_where_the_worse_end_alone_fails():
    over = found(95.0, (None, 100.0), low=80.0, high=110.0, assumed=True)
    assert over.bound == ("at least", 80.0)
    under = found(50.0, (46.0, None), "voltage", 44.0, 56.0, True)
    assert under.bound == ("at most", 56.0)
    assert found(50.0, (None, 100.0), low=40.0, high=60.0, assumed=True).bound is None
    assert found(120.0, (None, 100.0), low=110.0, high=130.0, assumed=True).bound is None


def test_steps_of_its_own():
    steps = {"quantity": "current_density", "caution_limits": (None, 1.55e6)}
    assert verdict(0.90e6, (None, 3.5e6), **steps) == "pass"
    assert verdict(2.9e6, (None, 3.5e6), **steps) == "caution"
    assert verdict(4.17e6, (None, 3.5e6), **steps) == "fail"


def test_not_a_number_is_never_a_pass():
    assert verdict(math.nan, (None, 100.0)) == "unknown"


@given(st.floats(0.1, 1e6), st.floats(0.1, 1e6), st.floats(1.0, 2.0))
def test_a_higher_limit_never_makes_it_worse(value, limit, more):
    rank = {"pass": 0, "caution": 1, "fail": 2}
    assert rank[verdict(value, (None, limit * more))] <= rank[verdict(value, (None, limit))]


@given(st.lists(st.tuples(st.floats(1, 200), st.booleans()), min_size=1, max_size=12))
def test_lists_run_from_the_worst_and_lose_nothing(rows):
    items = tuple(found(value, (None, 100.0), assumed=assumed) for value, assumed in rows)
    ordered = worst_first(items)
    assert sorted(map(id, ordered)) == sorted(map(id, items))
    ranks = [{"fail": 0, "unknown": 1, "caution": 2, "pass": 4}[item.verdict] for item in ordered]
    assert ranks == sorted(ranks)
    assert sum(summary(items).values()) == len(items)
