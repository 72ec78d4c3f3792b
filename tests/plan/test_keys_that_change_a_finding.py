"""Keys of the bank file that change what a check finds: with them, without them, and at their limit."""

import pytest

from bankwright.plan.checks import CHECKS
from bankwright.plan.context import plan_of
from support.plan_cases import INV, K, edited

BY_CODE = {check.code: check for check in CHECKS}
CHARGER = f"{INV}.charger"


def found(code, bank):
    return list(BY_CODE[code].function(plan_of(bank)))


def charging(**edits):
    """Three modules charged with 120 A; two carry more than 50 A each where one is away."""
    return found("P-CHARGE-1", edited({f"{CHARGER}.current": "120 A", **edits}))


def test_without_a_word_on_the_message_the_largest_current_counts():
    for edits in ({}, {f"{CHARGER}.without_message": "60 A"}):
        findings = charging(**edits)
        assert {each.verdict for each in findings} == {"fail"}
        assert all("120 A" in each.text.text() for each in findings)


def test_a_lost_message_lets_the_chargers_give_their_own_setting():
    # 60 A over two modules of one resistance is 30 A each; what tolerances add stays under 50 A
    findings = charging(**{"site.control_message": True, f"{CHARGER}.without_message": "60 A"})
    assert {each.verdict for each in findings} == {"pass"}
    assert findings[0].figure.value == pytest.approx(30.0, abs=0.5)
    assert all("a limit that exists only as a message" in each.text.text() for each in findings)
    assert any(item.origin.path.endswith("without_message") for item in findings[0].inputs if item.symbol == "I")


def test_a_charger_that_says_nothing_of_the_lost_message_gives_its_largest_current():
    findings = charging(**{"site.control_message": True})
    assert {each.verdict for each in findings} == {"fail"}
    assert all("a limit that exists only as a message" in each.text.text() for each in findings)


def test_a_lost_message_that_lets_too_much_through_fails():
    findings = charging(**{"site.control_message": True, f"{CHARGER}.without_message": "110 A"})
    assert {each.verdict for each in findings} == {"fail"}


@pytest.mark.parametrize(
    ("reach", "verdict"),
    [("48 V to 58.3 V", "caution"), ("48 V to 58.4 V", "pass"), ("58.4 V to 60 V", "pass"), ("58.5 V to 60 V", "fail")],
)
def test_the_range_of_a_charger_holds_the_end_of_charge(reach, verdict):
    # 16 cells x 3.65 V = 58.4 V
    (finding,) = found("P-CHARGE-4", edited({f"{CHARGER}.voltage": reach}))
    assert finding.verdict == verdict


def test_an_end_of_charge_from_published_sheets_is_assumed():
    (finding,) = found("P-CHARGE-4", edited({f"{K}.charge.cell_full": None}))
    assert finding.verdict == "caution"
    assert finding.assumed


@pytest.mark.parametrize(("lowest", "verdict"), [("8 degC", "fail"), ("4 degC", "caution"), ("3 degC", "pass")])
def test_cells_too_cold_to_discharge(lowest, verdict):
    # the room falls to 8 degC; a physical test by difference: fails at 0 K, cautions below 5 K
    findings = found("P-CHARGE-2", edited({f"{K}.discharge.lowest": lowest}))
    (finding,) = [each for each in findings if "discharged" in each.text.text()]
    assert finding.verdict == verdict


def test_no_lowest_discharge_temperature_no_finding_of_it():
    assert not [each for each in found("P-CHARGE-2", edited({})) if "discharged" in each.text.text()]
    (finding,) = found("P-CHARGE-2", edited({f"{K}.discharge.lowest": "-20 degC", "site.ambient": None}))
    assert finding.verdict == "unknown"
    assert {item.key for item in finding.missing} == {"site.ambient"}
