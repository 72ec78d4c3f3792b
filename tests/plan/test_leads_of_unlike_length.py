"""What the lengths of leads alone do to the shares: said with figures where it matters, passed where it does not.

Against a closed form worked by hand: sources of one voltage on one bar share as one over resistance of module and
leads; NEC chapter 9 table 8 gives 2/0 AWG uncoated 0.0967 ohm a thousand feet at 75 degC.
"""

import re

import pytest

from bankwright.plan.checks.leads import leads_are_alike
from bankwright.plan.context import plan_of
from support.plan_cases import CHAIN, K, edited

FEET_1000 = 304.8  # m


def leads(plus: str, minus: str | None = None, **edits):
    both = {f"+links#{s}": {"name": f"L3{s}", "length": n} for s, n in zip("+-", (plus, minus or plus), strict=True)}
    return edited({**both, **edits})


def only(bank):
    (finding,) = leads_are_alike.function(plan_of(bank))
    return finding


@pytest.mark.parametrize("length", [1.0, 2.0, 3.0, 4.0])
def test_the_spread_is_that_of_one_over_resistance(length):
    warm = 0.0967 / FEET_1000 * (1 + 0.00323 * (45 - 75))  # at 45 degC, NEC table 8 note 2
    ohm = [14e-3 + 2 * n * warm + 80e-6 for n in (0.5, 0.5, length)]
    shares = [3 / r / sum(1 / each for each in ohm) for r in ohm]
    finding = only(leads(f"{length} m"))
    assert finding.figure.value == pytest.approx(max(shares) - min(shares), rel=0.05)
    assert finding.verdict == ("caution" if max(shares) - min(shares) > 0.10 else "pass")


def test_the_odd_one_and_its_leads_are_named_with_both_figures():
    finding = only(leads("5 m"))
    assert (finding.at, finding.more) == (("M3",), ("L3+", "L3-"))
    assert re.match(r"Leads of 500\Wmm to 5\.00\Wm: .* M2 carries 10\d\W%.*, M3 8\d\.\d\W%", finding.text.text())
    assert {i.symbol for i in finding.inputs} >= {"L1+", "L3-"}


def test_small_differences_pass_and_equal_ones_are_not_solved():
    assert only(leads("700 mm", "650 mm")).verdict == "pass"
    assert only(edited({})).figure is None


def test_what_all_modules_have_alike_sets_none_apart():
    far = {f"+links#{n}": {"name": f"L{n}-", "length": "6 m"} for n in (1, 2, 3)}
    assert only(edited(far)).figure.value == pytest.approx(0.0, abs=1e-6)


def test_a_measured_lead_goes_with_its_length():
    odd = {"+links": {"name": "L3+", "length": "5 m", "resistance": "6 mohm"}}
    plain = {"+links": {"name": "L3+", "length": "5 m"}}
    assert only(edited(odd)).figure.value > 2 * only(edited(plain)).figure.value


def test_a_range_for_the_modules_gives_a_range():
    silent = {f"{K}.resistance.dc": None, f"{K}.resistance.surge": None, f"{K}.resistance.ohmic": None}
    finding = only(leads("3 m", **silent))
    assert finding.assumed
    assert finding.figure.low < finding.figure.value
    assert finding.verdict == "caution"


def test_a_row_has_no_leads():
    assert list(leads_are_alike.function(plan_of(edited(CHAIN)))) == []
