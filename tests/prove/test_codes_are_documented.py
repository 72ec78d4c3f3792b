"""Every code that the load tests may say stands in the page of Prove, and each check says why and from where."""

import re
from pathlib import Path

from bankwright.prove import millivolt_test, share_test

ROOT = Path(__file__).parents[2]
CHECKS = (*share_test.CHECKS, *millivolt_test.CHECKS)


def test_codes_are_unique_and_in_the_page() -> None:
    page = (ROOT / "docs" / "prove.md").read_text("utf-8")
    codes = [check.code for check in CHECKS]
    assert len(codes) == len(set(codes))
    written = set()
    for file in (ROOT / "src" / "bankwright" / "prove").glob("*.py"):
        written |= set(re.findall(r'"(V-[A-Z]+-\d)"', file.read_text("utf-8")))
    said = set(re.findall(r"`(V-[A-Z]+-\d)`", page))
    assert written <= said, written - said
    assert set(codes) <= written


def test_each_check_says_why_what_it_does_not_see_and_its_source() -> None:
    for check in CHECKS:
        for heading in ("Why:", "Not seen here:", "Source:"):
            assert heading in check.why, (check.code, heading)


def test_only_limits_can_fail() -> None:
    # three kinds of reading: a limit fails, an expectation cautions, a closure makes unknown
    from bankwright.forms.card import Card
    from bankwright.prove import closures, millivolt_checks, module_checks, share_checks

    cards = [
        value
        for module in (closures, share_checks, module_checks, millivolt_checks, share_test)
        for value in vars(module).values()
        if isinstance(value, Card)
    ]
    may_fail = {card.code for card in cards if card.ends_at == "fail"}
    assert may_fail == {"V-LIMIT-1", "V-TERMINAL-1", "V-SUM-1"}  # a closure gets no limit: outside it is unknown
