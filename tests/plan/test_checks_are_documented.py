"""The tuple of checks is complete, every check says what it tests, and findings name what exists."""

import importlib
import pkgutil
import re

import pytest

import bankwright.plan.checks as package
from bankwright.forms.checks import Check
from bankwright.forms.finding import worst_first
from bankwright.plan.checks import CHECKS
from bankwright.plan.context import plan_of
from bankwright.plan.lists.not_checked import NOT_CHECKED, not_checked
from bankwright.plan.results import findings_of
from support.banks import sample
from support.plan_cases import edited


def test_every_check_of_every_file_is_in_the_tuple():
    found = []
    for info in pkgutil.iter_modules(package.__path__):
        module = importlib.import_module(f"{package.__name__}.{info.name}")
        found += [value for value in vars(module).values() if isinstance(value, Check)]
    assert {check.code for check in found} == {check.code for check in CHECKS}


def test_codes_are_unique_and_of_one_shape():
    codes = [check.code for check in CHECKS]
    assert len(codes) == len(set(codes))
    assert all(re.fullmatch(r"P-[A-Z]+-[0-9]+", code) for code in codes)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.code)
def test_a_check_says_why_what_it_does_not_see_and_its_source(check):
    headings = [line.strip().partition(":")[0] for line in check.why.splitlines() if ":" in line]
    assert "Why" in headings
    assert "Not seen here" in headings
    assert "Source" in headings
    assert not re.search(r"\bsafe\b", check.why)


@pytest.mark.parametrize("name", ["two", "five", "sound"])
def test_findings_name_what_exists_and_carry_their_trace(name):
    bank = sample(name)
    findings = findings_of(plan_of(bank))
    assert findings == worst_first(findings)
    racks = {module.rack for module in bank.modules} | {instrument.name for instrument in bank.instruments}
    for finding in findings:
        assert {*finding.at, *finding.more} <= set(bank.names()) | racks
        assert finding.text is not None
        assert bool(finding.do.text()) == (finding.verdict != "pass")
        assert finding.verdict != "unknown" or finding.missing or finding.assumed
        if finding.code.startswith("P-JOINT"):
            continue
        assert finding.formula
        assert finding.inputs or finding.missing


def test_a_check_of_one_book_does_not_run_under_the_other():
    findings = findings_of(
        plan_of(edited({"rules": "iec-60364", "wiring.main.cable": "70 mm2", "wiring.link.cable": "70 mm2"}))
    )
    codes = {finding.code for finding in findings}
    assert "P-CABLE-2" in codes
    assert "P-CABLE-1" not in codes
    told = not_checked(CHECKS, edited({"rules": "iec-60364"}))
    assert told[: len(NOT_CHECKED)] == NOT_CHECKED
    assert any("P-CABLE-1" in line for line in told)


def test_the_sound_bank_fails_nothing_and_leaves_nothing_open():
    findings = findings_of(plan_of(sample("sound")))
    assert {finding.verdict for finding in findings} <= {"pass", "caution"}


def test_without_a_rule_book_its_checks_are_unknown_and_the_others_go_on():
    findings = findings_of(plan_of(edited({"rules": None})))
    unknown = [finding for finding in findings if finding.verdict == "unknown"]
    assert {item.key for finding in unknown for item in finding.missing} == {"rules"}
    assert any(finding.code == "P-SHARE-1" and finding.verdict == "pass" for finding in findings)
