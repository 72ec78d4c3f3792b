"""Every code that Match may say stands in its page, once, and each check says why and from where."""

import re
from pathlib import Path

from bankwright.match import charge_checks, join_checks

ROOT = Path(__file__).parents[2]


def test_codes_are_unique_and_in_the_page():
    page = (ROOT / "docs" / "match.md").read_text(encoding="utf-8")
    checks = (*join_checks.CHECKS, *charge_checks.CHECKS)
    codes = [check.code for check in checks]
    assert len(codes) == len(set(codes))
    said = {
        f"{family}-{number}"
        for family, first, more in re.findall(r"(M-[A-Z]+)-(\d)((?:, -\d)*)", page)
        for number in (first, *re.findall(r"\d", more))
    }
    written = set()
    for file in (ROOT / "src" / "bankwright" / "match").glob("*.py"):
        written |= set(re.findall(r'"(M-[A-Z]+-\d)"', file.read_text(encoding="utf-8")))
    assert written <= said, written - said
    assert set(codes) <= written


def test_each_check_says_why_and_its_source():
    for check in (*join_checks.CHECKS, *charge_checks.CHECKS):
        assert "Why:" in check.why or check.code == "M-MOST-1", check.code
        assert "Source:" in check.why, check.code
