"""Every fault that an independent look once found in the checks stays found, and what it found too strict stays mended.

Gives: tests over tests/cases/listed: one base bank and what each case changes in it (listed.toml says how to read it);
README.md there tells each fault with its verdict before and now. Only the checks that may find a fault are run.
"""

import tomllib
from fnmatch import fnmatchcase
from pathlib import Path

import pytest

from bankwright.bank.read import bank_from_text
from bankwright.plan.checks import CHECKS
from bankwright.plan.context import plan_of

ROOM = Path(__file__).parent / "listed"
TABLE = tomllib.loads((ROOM / "listed.toml").read_text(encoding="utf-8"))
BASE = (ROOM / "base.toml").read_text(encoding="utf-8").splitlines()
MET_BY = {"fail": {"fail"}, "caution": {"caution", "unknown", "fail"}, "unknown": {"unknown"}}
BY_CODE = {check.code: check for check in CHECKS}


def changed(lines: list[dict]) -> str:
    """The base with pieces of it replaced, from the end so that lines keep their numbers."""
    made = list(BASE)
    for each in sorted(lines, key=lambda one: -one["line"]):
        start = each["line"] - 1
        made[start : start + each["gone"]] = each["text"].splitlines()
    return "\n".join(made) + "\n"


def found(case: dict) -> list:
    plan = plan_of(bank_from_text(changed(case["lines"]), ROOM / "base.toml"))
    every = [finding for code in case["codes"] for finding in BY_CODE[code].function(plan)]
    return [each for each in every if any(fnmatchcase(p, at) for p in (*each.at, *each.more) for at in case["at"])]


@pytest.mark.parametrize("name", TABLE["bad"])
def test_a_listed_fault_is_found_where_it_is(name):
    case = TABLE["bad"][name]
    told = found(case)
    assert any(each.verdict in MET_BY[case["due"]] for each in told), [case["what"], *map(str, told)]


@pytest.mark.parametrize("name", TABLE["sound"])
def test_what_was_found_too_strict_does_not_fail(name):
    told = found(TABLE["sound"][name])
    assert told
    assert "fail" not in {each.verdict for each in told}, list(map(str, told))


def test_the_base_has_none_of_the_faults():
    """Except for its own surge, which comes near the cut-out: otherwise a check that always fails would pass here."""
    plan = plan_of(bank_from_text("\n".join(BASE) + "\n", ROOM / "base.toml"))
    codes = {code for name, case in TABLE["bad"].items() if name != "good2" for code in case["codes"]}
    failing = [str(each) for code in sorted(codes) for each in BY_CODE[code].function(plan) if each.verdict == "fail"]
    assert not failing
