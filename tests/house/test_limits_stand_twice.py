"""Every constant of the rooms that decide verdicts stands a second time in limits.toml, by room and name.

A limit that is changed has to be changed in both places, with its reason. New constants are added there as they come;
one that is listed and gone is refused too. What a limit does to a verdict is in the tests of edges of each stage.
"""

from __future__ import annotations

import importlib
import tomllib
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.quick

LIMITS: dict[str, dict[str, Any]] = tomllib.loads((Path(__file__).parent / "limits.toml").read_text("utf-8"))


def plain(value: Any) -> Any:
    """As TOML has it: lists for tuples, texts for keys."""
    if isinstance(value, tuple | list):
        return [plain(each) for each in value]
    if isinstance(value, dict):
        return {str(key): plain(each) for key, each in value.items()}
    return value


@pytest.mark.parametrize("room", sorted(LIMITS))
def test_a_limit_is_the_one_that_is_written_down(room: str) -> None:
    module = importlib.import_module("bankwright." + room.replace("/", "."))
    assert {name: plain(getattr(module, name, "gone")) for name in LIMITS[room]} == LIMITS[room]


def test_the_rooms_that_decide_are_listed() -> None:
    heads = {room.split("/")[0] for room in LIMITS}
    assert heads >= {"plan", "buy", "build", "match", "prove", "physics", "circuit", "forms", "bank"}
    assert sum(len(names) for names in LIMITS.values()) > 150
