"""Each check of Plan on three banks: one it fails, one that just passes, one with a needed value missing."""

import pytest

from bankwright.plan.checks import CHECKS
from bankwright.plan.context import plan_of
from support.plan_cases import CASES, edited

pytestmark = pytest.mark.quick

BY_CODE = {check.code: check for check in CHECKS}


def found(code, edits):
    return list(BY_CODE[code].function(plan_of(edited(edits))))


def test_every_check_has_its_three_banks():
    assert set(CASES) == set(BY_CODE)


@pytest.mark.parametrize("code", CASES)
def test_the_failing_bank_gets_the_worst_verdict_of_the_check(code):
    verdicts = {finding.verdict for finding in found(code, CASES[code].fails)}
    assert CASES[code].worst in verdicts


@pytest.mark.parametrize("code", CASES)
def test_the_bank_that_just_passes_is_passed(code):
    findings = found(code, CASES[code].just)
    assert findings
    assert {finding.verdict for finding in findings} == {"pass"}, [
        f.text.text() for f in findings if f.verdict != "pass"
    ]


@pytest.mark.parametrize("code", [code for code in CASES if CASES[code].key])
def test_a_missing_value_is_unknown_and_names_its_key(code):
    findings = [finding for finding in found(code, CASES[code].misses) if finding.verdict == "unknown"]
    assert findings
    assert CASES[code].key in {item.key for finding in findings for item in finding.missing}
    assert all(item.how for finding in findings for item in finding.missing)
