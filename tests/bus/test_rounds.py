"""What only time shows in a survey: values that stand still, modules that go away and come back."""

from __future__ import annotations

import pytest

from bankwright.bus.survey.ask import How, survey
from bankwright.bus.survey.facts import Expected
from support.pretend_racks import NAMES, rack, register_map, surveyed, targets

SECONDS = 12.0  # watched; the asking before it takes some seconds of the virtual clock


def begins() -> float:
    """When the rounds begin, on the clock of the line: as long as a survey without them takes."""
    wire = rack(moves=True)
    survey(wire, Expected(targets(), register_map()), How(watch=0))
    return wire.now()


@pytest.mark.parametrize("name", ["M1", "M4"])
def test_values_that_stand_still_while_others_move_are_told(name: str) -> None:
    _, told = surveyed(f"frozen:{name}@0", moves=True)
    found = told["BUS-FROZEN"]
    assert found.at == (name,)
    assert found.verdict == "caution"
    assert found.sure == "likely"
    assert "same to the last digit in 4 readings over 3" in found.observed.text()
    assert found.test is not None


def test_a_bank_at_rest_stands_still_and_nothing_is_told() -> None:
    _, told = surveyed()
    assert "BUS-FROZEN" not in told


def test_a_bank_that_moves_is_told_as_nothing() -> None:
    _, told = surveyed(moves=True)
    assert "BUS-FROZEN" not in told
    assert "BUS-AWAY" not in told


def test_all_frozen_is_not_told_apart_from_rest() -> None:
    _, told = surveyed(*(f"frozen:{name}@0" for name in NAMES), moves=True)
    assert "BUS-FROZEN" not in told


@pytest.mark.parametrize(("lasts", "words"), [("8 s", "then again"), ("60 s", "up to the end")])
def test_a_restart_while_it_is_watched_is_told(lasts: str, words: str) -> None:
    _, told = surveyed(f"reboot:M3={lasts}@{begins() + 2:.1f}", moves=True, how=How(watch=SECONDS))
    found = told["BUS-AWAY"]
    assert found.at == ("M3",)
    assert words in found.observed.text()
    assert ("came back" in found.title) == (lasts == "8 s")
    assert {each.code for each in told.values() if each.verdict == "fail"} == set()


def test_a_module_that_wakes_late_is_found_after_all() -> None:
    facts, told = surveyed(f"reboot:M3={begins() + 1:.1f} s@0", moves=True, how=How(watch=SECONDS, other_speeds=False))
    assert 3 in facts.found
    assert "BUS-SILENT" not in told


@pytest.mark.parametrize("trouble", ["drop=15 %", "damage=15 %", "noise=60 %", "late=0.8 s"])
def test_a_bad_line_is_not_taken_for_a_restart(trouble: str) -> None:
    _, told = surveyed(trouble, moves=True)
    assert "BUS-AWAY" not in told
    assert "BUS-FROZEN" not in told


def test_no_rounds_where_none_are_wanted() -> None:
    facts, _ = surveyed(how=How(watch=0))
    assert all(not asked.rounds for asked in facts.asked.values())
