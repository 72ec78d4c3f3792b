"""A listening computer is an earthing point where its adapter is not isolated: Plan counts it."""

from __future__ import annotations

from pathlib import Path

import pytest

from bankwright.bank.read import bank_from_text
from bankwright.plan.checks.earthing import earthing_is_consistent
from bankwright.plan.context import plan_of

BARN = Path(__file__).parents[2] / "demo" / "barn.toml"
TEXT = BARN.read_text("utf-8")


def verdicts(*changes: tuple[str, str]) -> list[tuple[str, str]]:
    text = TEXT
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    plan = plan_of(bank_from_text(text, BARN))
    return [
        (f.verdict, f.text.text() if f.text else "") for f in earthing_is_consistent.function(plan) if f.at == ("M5",)
    ]


MAINS = ('fed_from = "own battery"', 'fed_from = "mains"')


def test_not_isolated_and_on_the_mains_is_a_second_earthing_point() -> None:
    found = verdicts(MAINS, ("isolated = true\nfed_from", "isolated = false\nfed_from"))
    assert [verdict for verdict, _ in found] == ["fail"]
    assert "earths the bank too" in found[0][1]


@pytest.mark.parametrize("changes", [(MAINS,), (("isolated = true\nfed_from", "isolated = false\nfed_from"),)])
def test_isolated_or_on_its_own_battery_is_none(changes: tuple[tuple[str, str], ...]) -> None:
    assert verdicts(*changes) == []


@pytest.mark.parametrize("gone", ["isolated = true\nfed_from", 'isolated = true\nfed_from = "own battery"\n'])
def test_what_is_not_given_is_unknown_and_named(gone: str) -> None:
    left = "fed_from" if gone.endswith("fed_from") else ""
    found = verdicts(*((MAINS,) if left else ()), (gone, left))
    assert [verdict for verdict, _ in found] == ["unknown"]
    assert "bus.isolated" in found[0][1]
