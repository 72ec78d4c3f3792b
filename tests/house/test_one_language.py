"""One hand for one act: findings are made by cards, questions come from one table, and so on."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

import pytest

from bankwright.build.cards import CARDS as BUILD
from bankwright.buy.cards import CARDS as BUY
from bankwright.forms.csv_text import csv_cell
from bankwright.match import charge_checks, join_checks
from bankwright.match.cards import CARDS as MATCH
from bankwright.plan.checks import CHECKS
from support.source import parsed

pytestmark = [pytest.mark.xdist_group("source"), pytest.mark.quick]

SRC = Path(__file__).parents[2] / "src" / "bankwright"
ONLY = {  # a name that is called, and the files in which it may be
    "Finding": {"forms/card.py", "forms/checks.py"},
    "Missing": {"bank/asks.py", "cli/show/match.py"},  # the terminal puts several keys on one line
    "get_close_matches": {"forms/nearest.py"},
}
NAMED_ONCE = ("NeedsValue", "Finding", "Missing", "Card")


def calls(text: str) -> Iterator[str]:
    for node in ast.walk(parsed(text)):
        if isinstance(node, ast.Call):
            yield getattr(node.func, "id", getattr(node.func, "attr", ""))


@lru_cache(maxsize=1)
def files() -> dict[str, tuple[frozenset[str], tuple[str, ...]]]:
    """What each file calls, and the classes it makes; the source is read once for all tests here."""
    found = {}
    for path in sorted(SRC.rglob("*.py")):
        text = path.read_text("utf-8")
        classes = tuple(node.name for node in ast.walk(parsed(text)) if isinstance(node, ast.ClassDef))
        found[path.relative_to(SRC).as_posix()] = frozenset(calls(text)), classes
    return found


@pytest.mark.parametrize("name", ONLY)
def test_one_hand_makes_it(name: str) -> None:
    assert {file for file, (called, _) in files().items() if name in called} == ONLY[name]


@pytest.mark.parametrize("name", NAMED_ONCE)
def test_one_class_of_a_name(name: str) -> None:
    made = [file for file, (_, classes) in files().items() for each in classes if each == name]
    assert len(made) == 1, made


def test_the_guard_would_notice() -> None:
    assert set(calls("x = Finding(1)\ny = a.Missing(2)")) == {"Finding", "Missing"}


def test_a_check_and_its_card_have_one_title() -> None:
    titles = {check.code: check.title for check in (*join_checks.CHECKS, *charge_checks.CHECKS)}
    cards = {card.code: card.title for card in MATCH}
    assert titles == {code: cards[code] for code in titles}


def test_every_card_says_why_unless_its_check_does() -> None:
    said = {check.code for check in (*CHECKS, *join_checks.CHECKS, *charge_checks.CHECKS)}
    for card in (*BUY, *BUILD, *MATCH):
        assert card.code in said or "Why: " in card.why, card.code
        assert card.formula, card.code


@pytest.mark.parametrize("text", ["=1+1", "+49", "-L1", "@x", "\tx", "\rx"])
def test_a_cell_that_would_be_a_formula_is_text(text: str) -> None:
    assert csv_cell(text) == f"'{text}"


@pytest.mark.parametrize("text", ["", "L1+", "52.6 V", "'quoted"])
def test_another_cell_stays_as_it_is(text: str) -> None:
    assert csv_cell(text) == text
    assert csv_cell(None) is None
