"""Starter files plan: no fail when answered sensibly, at most one when nothing but the obvious is known."""

from __future__ import annotations

from pathlib import Path

import pytest

from bankwright.bank.texts.starter import Start, starter
from bankwright.job import Job

SIZES = [(2, 1, "3 kW"), (4, 1, "6.5 kW"), (6, 2, "5 kW")]  # modules, inverters, power of one; invented


def fails(start: Start) -> list[str]:
    return [f.code for f in Job(Path("x.toml"), starter(start)).findings if f.verdict == "fail"]


@pytest.mark.parametrize("rules", ["nec-2023", "iec-60364"])
@pytest.mark.parametrize(("modules", "inverters", "power"), SIZES)
def test_a_bar_plans_without_a_fail(rules: str, modules: int, inverters: int, power: str) -> None:
    start = Start(modules=modules, inverters=inverters, power=power, lowest_voltage="44 V", rules=rules)  # type: ignore[arg-type]
    assert fails(start) == []


@pytest.mark.parametrize("rules", ["nec-2023", "iec-60364"])
@pytest.mark.parametrize(("modules", "inverters", "power"), SIZES)
def test_a_chain_fails_once_at_most_and_not_at_all_with_proper_breakers(
    rules: str, modules: int, inverters: int, power: str
) -> None:
    start = Start(
        modules=modules, inverters=inverters, power=power, lowest_voltage="44 V", pattern="chain", rules=rules,  # type: ignore[arg-type]
    )  # fmt: skip
    assert set(fails(start)) <= {"P-REACH-1"}
    given = {name: getattr(start, name) for name in start.__slots__}
    answered = Start(**{**given, "breaker": "125 A", "interrupts": "100 kA"})
    assert fails(answered) == []
