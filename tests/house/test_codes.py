"""Every code that a stage can make stands once in the registry, with a place that is never given again."""

from __future__ import annotations

import ast
import re
import tomllib
from functools import cache
from pathlib import Path

import pytest

from bankwright.forms.codes import code_of, in_places, near_codes, place_text, places
from support.source import parsed

pytestmark = [pytest.mark.xdist_group("source"), pytest.mark.quick]

ROOT = Path(__file__).parents[2]
SRC = ROOT / "src" / "bankwright"
CODE = re.compile(r"(S|P|B|BLD|M|V|W|BUS)-[A-Z]+(-[A-Z]+)*(-[0-9]+)?")
REGISTRY = tomllib.loads((SRC / "forms" / "codes.toml").read_text("utf-8"))


def codes_in(text: str) -> set[str]:
    """Codes that stand as a string of their own in a module."""
    strings = (node.value for node in ast.walk(parsed(text)) if isinstance(node, ast.Constant))
    return {value for value in strings if isinstance(value, str) and CODE.fullmatch(value)}


@cache
def made() -> frozenset[str]:
    """Codes that stand in the source, which is read once for all tests here."""
    return frozenset(code for path in SRC.rglob("*.py") for code in codes_in(path.read_text("utf-8")))


SO_FAR = dict(
    line.rsplit(" = ", 1) for line in (ROOT / "tests" / "house" / "codes_so_far.txt").read_text("utf-8").splitlines()
)


def test_every_code_that_is_made_is_registered() -> None:
    assert made() - set(places()) == set(), "give it the next free number of its chapter in forms/codes.toml"


def test_every_registered_code_is_made_or_retired() -> None:
    retired = {code for code, place in places().items() if place.retired}
    assert {code for code, place in places().items() if not place.retired} == made()
    assert not retired & made()


def test_a_place_is_given_once() -> None:
    given = [str(place) for place in places().values()]
    assert len(given) == len(set(given))
    listed = [
        code
        for stage in REGISTRY["prefix"].values()
        for body in REGISTRY.get(stage, {}).values()
        for code in body["codes"]
    ]
    assert len(listed) == len(set(listed)) == len(places())


def test_the_prefix_is_that_of_the_stage() -> None:
    for code, place in places().items():
        assert REGISTRY["prefix"][code.partition("-")[0]] == place.stage
    assert set(REGISTRY) - {"prefix", "retired"} <= set(REGISTRY["prefix"].values())


@pytest.mark.parametrize("code", SO_FAR)
def test_what_was_given_stays(code: str) -> None:
    assert place_text(code) == SO_FAR[code]


@pytest.mark.parametrize(
    "text", ["P-CABLE-1", "p-cable-1", "Plan 3.1", "plan 3.1", "PLAN-3.1", "plan3.1", " Plan 3.1 "]
)
def test_a_code_and_a_place_mean_the_same(text: str) -> None:
    assert code_of(text) == "P-CABLE-1"


def test_a_bare_place_belongs_to_the_stage_that_is_asked() -> None:
    assert code_of("3.1", "Plan") == "P-CABLE-1"
    assert code_of("3.1", "Match") == "M-JOIN-1"
    assert code_of("3.1") is None
    assert code_of("Plan 3.99") is None
    assert code_of("") is None


def test_what_is_near_is_told() -> None:
    assert near_codes("P-CABEL-1") == "Did you mean P-CABLE-1 (Plan 3.1)?"
    assert near_codes("m-most-2") == "Did you mean M-MOST-1 (Match 3.8)?"
    assert "Buy 1.1" in near_codes("zzz-zzz", "Buy")


def test_codes_in_a_sentence_become_places() -> None:
    assert in_places("See P-SHARE-2, BLD-JOINT-GROWN and IEC-60364.") == "See Plan 1.2, Build 6.7 and IEC-60364."


def test_the_search_finds_codes() -> None:
    assert codes_in('x("P-NEW-1", "P-NEW", "not P-OLD-1 here")') == {"P-NEW-1", "P-NEW"}
